package optics

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// worstCondition is the greatest condition number of a design matrix whose
// solution is taken: beyond it fewer than four of a float64's sixteen digits
// are left, and the columns cannot be told apart by any measurement.
const worstCondition = 1e12

// solution is what linear least squares gives for p parameters.
type solution struct {
	beta []float64
	// unit is (XᵀX)⁻¹; times the variance of a row it is the covariance.
	unit *mat.Dense
	// squares is the sum of the squared residuals, free how many rows there
	// are beyond the parameters.
	squares float64
	free    int
}

// leastSquares finds the β that makes Σ (y − Xβ)² least, by the QR
// decomposition: the normal equations would lose half of the digits. It gives
// false where X has fewer rows than columns or columns that depend on each
// other.
func leastSquares(x *mat.Dense, y []float64) (solution, bool) {
	n, p := x.Dims()
	if n < p {
		return solution{}, false
	}
	var qr mat.QR
	qr.Factorize(x)
	if !(qr.Cond() < worstCondition) {
		return solution{}, false
	}
	var beta mat.Dense
	if qr.SolveTo(&beta, false, mat.NewDense(n, 1, y)) != nil {
		return solution{}, false
	}
	var fitted, r, inv mat.Dense
	fitted.Mul(x, &beta)
	qr.RTo(&r)
	if inv.Inverse(r.Slice(0, p, 0, p)) != nil {
		return solution{}, false
	}
	s := solution{beta: make([]float64, p), unit: mat.NewDense(p, p, nil), free: n - p}
	s.unit.Mul(&inv, inv.T())
	for j := range s.beta {
		s.beta[j] = beta.At(j, 0)
	}
	for i, v := range y {
		d := v - fitted.At(i, 0)
		s.squares += d * d
	}
	return s, true
}

// variance is the variance of a row as the residuals show it: 0 where nothing
// is left over to show it.
func (s solution) variance() float64 {
	if s.free == 0 {
		return 0
	}
	return s.squares / float64(s.free)
}

// deviation is the standard uncertainty of a function of the parameters whose
// gradient is g, to first order. Source: JCGM 100 (the GUM), equation 13.
func (s solution) deviation(g ...float64) float64 {
	v := mat.NewVecDense(len(s.beta), nil)
	for j, x := range g {
		v.SetVec(j, x)
	}
	return math.Sqrt(math.Max(0, mat.Inner(v, s.unit, v)*s.variance()))
}

// scale maps places on an axis to about -1 to 1, so that the columns 1, u, u²
// of a quadratic are far from dependent however far from zero the places lie.
type scale struct{ mid, half float64 }

func scaleOf(x []float64) scale {
	lo, hi := x[0], x[0]
	for _, v := range x {
		lo, hi = math.Min(lo, v), math.Max(hi, v)
	}
	s := scale{mid: lo + (hi-lo)/2, half: (hi - lo) / 2}
	if s.half == 0 {
		s.half = 1
	}
	return s
}

func (s scale) to(x float64) float64 { return (x - s.mid) / s.half }

// fitQuadratic fits y = a + b u + c u², u being x on the scale, with each row
// multiplied by its weight (one over the standard deviation of its y; nil: all
// alike).
func fitQuadratic(s scale, x, y, weight []float64) (solution, bool) {
	rows, rhs := mat.NewDense(len(x), 3, nil), make([]float64, len(x))
	for i := range x {
		w := 1.0
		if weight != nil {
			w = weight[i]
		}
		u := s.to(x[i])
		rows.SetRow(i, []float64{w, w * u, w * u * u})
		rhs[i] = w * y[i]
	}
	return leastSquares(rows, rhs)
}

// newCovariance gives f·a + g·b.
func newCovariance(a mat.Matrix, f float64, b mat.Matrix, g float64) *mat.Dense {
	var x, y mat.Dense
	x.Scale(f, a)
	y.Scale(g, b)
	x.Add(&x, &y)
	return &x
}
