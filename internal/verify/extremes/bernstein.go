package extremes

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// maxHalvings ends the halving of a polynomial: 2^-40 of a stretch of a
// hundred metres is a ten-thousandth of a micrometre.
const maxHalvings = 40

// maxDegree is the greatest degree of a polynomial.
const maxDegree = 6

// basis turns values of a polynomial into Bernstein coefficients.
type basis struct {
	degree int
	// at are the places, 0 to 1, at which it is read: the roots of a Chebyshev
	// polynomial, which keep the rounding of the coefficients small, and are
	// well inside, so that what is beside does not matter.
	at []float64
	// from has a row for each coefficient: what each value counts in it.
	from [][]float64
}

// The degrees of the height within a cell: along either axis of a bicubic one (at
// most), along a straight line in a bilinear one (u and v each once), and in a
// bicubic one (u and v each to the third).
var cubic, quadratic, sextic = newBasis(3), newBasis(2), newBasis(maxDegree)

// newBasis inverts the collocation matrix of the Bernstein basis.
func newBasis(degree int) *basis {
	n := degree + 1
	b := &basis{degree: degree}
	m := mat.NewDense(n, n, nil)
	for i := range n {
		t := (1 - math.Cos(float64(2*i+1)*math.Pi/float64(2*n))) / 2
		b.at = append(b.at, t)
		for k, c := 0, 1.0; k < n; k++ {
			m.Set(i, k, c*math.Pow(t, float64(k))*math.Pow(1-t, float64(degree-k)))
			c *= float64(degree-k) / float64(k+1)
		}
	}
	var inv mat.Dense
	if err := inv.Inverse(m); err != nil {
		panic(err) // the places are fixed, and far from each other
	}
	for i := range n {
		b.from = append(b.from, mat.Row(nil, i, &inv))
	}
	return b
}

// polynomial holds the Bernstein coefficients of a polynomial over 0 to 1, as many
// as its degree says. Its values are nowhere outside the range of the coefficients;
// the first and the last are its values at the ends. (R. T. Farouki, The
// Bernstein polynomial basis: a centennial retrospective, Computer Aided
// Geometric Design 29 (2012) 379.)
type polynomial struct {
	degree int
	c      [maxDegree + 1]float64
}

// through gives the polynomial with these values at the places of the basis.
func (s *basis) through(v *[maxDegree + 1]float64) polynomial {
	b := polynomial{degree: s.degree}
	for i, row := range s.from {
		for k, w := range row {
			b.c[i] += w * v[k]
		}
	}
	return b
}

// bounds gives the range of the coefficients.
func (b *polynomial) bounds() (lo, hi float64) {
	lo, hi = b.c[0], b.c[0]
	for _, v := range b.c[1 : b.degree+1] {
		lo, hi = min(lo, v), max(hi, v)
	}
	return lo, hi
}

// halve splits at the middle (de Casteljau).
func (b *polynomial) halve() (left, right polynomial) {
	left, right = *b, *b
	for k := range b.degree + 1 {
		left.c[k] = right.c[0]
		for i := range b.degree - k {
			right.c[i] = (right.c[i] + right.c[i+1]) / 2
		}
	}
	return left, right
}

// extremes puts the extremes of b, which stands for the fractions s0 to s1 of
// the move, into t.
func (t *Range) extremes(b *polynomial, s0, s1 float64, halvings int) {
	lo, hi := b.bounds()
	if t.settled(lo, hi) {
		return
	}
	t.see(b.c[0], s0)
	t.see(b.c[b.degree], s1)
	if t.settled(lo, hi) {
		return
	}
	if halvings == 0 {
		t.OpenLo, t.OpenHi = min(t.OpenLo, lo-t.less), max(t.OpenHi, hi+t.less)
		return
	}
	left, right := b.halve()
	mid := (s0 + s1) / 2
	t.extremes(&left, s0, mid, halvings-1)
	t.extremes(&right, mid, s1, halvings-1)
}

// open reports whether b, off by slack at most, may add something to t.
func (t *Range) open(b *polynomial, slack float64) bool {
	lo, hi := b.bounds()
	return !t.settled(lo-slack, hi+slack)
}
