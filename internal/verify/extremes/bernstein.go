package extremes

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// maxHalvings ends the halving of a polynomial: 2^-40 of a stretch of a
// hundred metres is a ten-thousandth of a micrometre.
const maxHalvings = 40

// polynomial holds the Bernstein coefficients of a polynomial of degree six
// over 0 to 1. Its values are nowhere outside the range of the coefficients;
// the first and the last are its values at the ends. (R. T. Farouki, The
// Bernstein polynomial basis: a centennial retrospective, Computer Aided
// Geometric Design 29 (2012) 379.)
type polynomial [sextic + 1]float64

// sexticAt are the places, 0 to 1, at which a sextic is read: the roots of a
// Chebyshev polynomial, which keep the rounding of the coefficients small.
var sexticAt = func() (t [sextic + 1]float64) {
	for i := range t {
		t[i] = (1 - math.Cos(float64(2*i+1)*math.Pi/(2*float64(len(t))))) / 2
	}
	return t
}()

// cubicAt are the places at which a cubic is read: well inside a cell, so
// that its neighbours do not matter.
var cubicAt = [4]float64{1. / 8, 3. / 8, 5. / 8, 7. / 8}

// sexticFrom and cubicFrom turn values at these places into coefficients.
var (
	sexticFrom = inverse(sexticAt[:])
	cubicFrom  = inverse(cubicAt[:])
)

// inverse gives the inverse of the collocation matrix of the Bernstein basis at
// places t, as many functions as places: row i turns values there into
// coefficient i.
func inverse(t []float64) [][]float64 {
	n := len(t)
	m := mat.NewDense(n, n, nil)
	for i := range n {
		for k, c := 0, 1.0; k < n; k++ {
			m.Set(i, k, c*math.Pow(t[i], float64(k))*math.Pow(1-t[i], float64(n-1-k)))
			c *= float64(n-1-k) / float64(k+1)
		}
	}
	var inv mat.Dense
	if err := inv.Inverse(m); err != nil {
		panic(err) // the places are fixed, and far from each other
	}
	rows := make([][]float64, n)
	for i := range rows {
		rows[i] = mat.Row(nil, i, &inv)
	}
	return rows
}

// through gives the sextic with these values at sexticAt.
func through(v *polynomial) (b polynomial) {
	for i := range b {
		row := sexticFrom[i]
		for k := range v {
			b[i] += row[k] * v[k]
		}
	}
	return b
}

// bounds gives the range of the coefficients.
func (b *polynomial) bounds() (lo, hi float64) {
	lo, hi = b[0], b[0]
	for _, v := range b[1:] {
		lo, hi = min(lo, v), max(hi, v)
	}
	return lo, hi
}

// halve splits at the middle (de Casteljau).
func (b *polynomial) halve() (left, right polynomial) {
	right = *b
	for k := range right {
		left[k] = right[0]
		for i := range len(right) - 1 - k {
			right[i] = (right[i] + right[i+1]) / 2
		}
	}
	return left, right
}

// extremes puts the extremes of b, which stands for the fractions s0 to s1 of
// the move, into t.
func (t *Range) extremes(b *polynomial, s0, s1 float64, depth int) {
	lo, hi := b.bounds()
	if t.settled(lo, hi) {
		return
	}
	t.see(b[0], s0)
	t.see(b[sextic], s1)
	if t.settled(lo, hi) {
		return
	}
	if depth == 0 {
		t.giveUp(lo, hi)
		return
	}
	left, right := b.halve()
	mid := (s0 + s1) / 2
	t.extremes(&left, s0, mid, depth-1)
	t.extremes(&right, mid, s1, depth-1)
}

// parabola puts the extremes of a quadratic with Bernstein coefficients b0,
// b1 and b2, which stands for s0 to s1, into t. They are exact.
func (t *Range) parabola(b0, b1, b2, s0, s1 float64) {
	lo, hi := min(b0, b1, b2), max(b0, b1, b2)
	if t.settled(lo, hi) {
		return
	}
	t.see(b0, s0)
	t.see(b2, s1)
	if b1 == lo && b1 < min(b0, b2) || b1 == hi && b1 > max(b0, b2) {
		curve := b0 - 2*b1 + b2 // not 0: b1 is beyond both others
		at := (b0 - b1) / curve
		// b0 + 2(b1-b0)t + curve t², at its turning point.
		t.see(b0+(b1-b0)*at, s0+(s1-s0)*at)
	}
}
