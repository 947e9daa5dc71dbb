package fit

import (
	"fmt"
	"math"
	"math/cmplx"

	"sagitta/internal/touch"
)

// Alignment is a rigid placement: place in the program = R(Deg) place on the
// surface + Shift.
type Alignment struct {
	Shift      [2]float64
	Deg        float64
	ResidualMM float64 // root mean square of what is left, per pair
	WorstMM    float64 // the largest
	Worst      int     // its pair
	Scale      float64 // what a free scale would be: far from 1, units are mixed
	Mirrored   bool    // mirrored points would fit far better
}

// Align finds the rigid placement that fits three or more pairs best, in
// the least squares of distances (P. Schönemann, Psychometrika 31 (1966) 1;
// in the plane, whose places are complex numbers here, it has a closed form).
func Align(pairs []touch.Pair) (*Alignment, error) {
	n := float64(len(pairs))
	if len(pairs) < 3 {
		return nil, fmt.Errorf("%d pairs of points are too few to place a surface and see how well; three or more are needed", len(pairs))
	}
	place := func(p [2]float64) complex128 { return complex(p[0], p[1]) }
	square := func(c complex128) float64 { return real(c)*real(c) + imag(c)*imag(c) }
	var from, to complex128 // the middles
	for _, p := range pairs {
		from += place(p.From) / complex(n, 0)
		to += place(p.To) / complex(n, 0)
	}
	var turned, mirrored complex128
	var ofFrom, ofTo float64
	for _, p := range pairs {
		a, b := place(p.From)-from, place(p.To)-to
		turned += cmplx.Conj(a) * b
		mirrored += a * b
		ofFrom += square(a)
		ofTo += square(b)
	}
	if ofFrom == 0 || ofTo == 0 {
		return nil, fmt.Errorf("all pairs are at one place; choose points far apart")
	}
	angle := cmplx.Phase(turned)
	turn := cmplx.Rect(1, angle)
	shift := to - turn*from
	m := &Alignment{Shift: [2]float64{real(shift), imag(shift)}, Deg: angle * 180 / math.Pi, Scale: cmplx.Abs(turned) / ofFrom}
	sum := 0.0
	for k, p := range pairs {
		d := cmplx.Abs(turn*place(p.From) + shift - place(p.To))
		sum += d * d
		if d > m.WorstMM {
			m.WorstMM, m.Worst = d, k
		}
	}
	m.ResidualMM = math.Sqrt(sum / n)
	m.Mirrored = sum > 1e-6*ofTo && ofFrom+ofTo-2*cmplx.Abs(mirrored) < sum/100
	return m, nil
}
