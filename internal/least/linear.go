// Package least finds the parameters whose model misses what was measured by
// the least sum of squares, and the uncertainties that the residuals show.
package least

import (
	"errors"
	"math"

	"gonum.org/v1/gonum/mat"
)

// ErrOpen tells that the measurements leave the parameters open: there are
// fewer of them, or some parameters do the same to all of them.
var ErrOpen = errors.New("the points do not settle the fit")

// worstCondition is the greatest condition number of a design matrix, its
// columns of one length, whose solution is taken: beyond it fewer than six of
// a float64's sixteen digits are left, and three of heights that are known to a
// millionth.
const worstCondition = 1e10

// Solution is the parameters of a model, and what the residuals say of them.
type Solution struct {
	Beta []float64
	// Unit is (XᵀX)⁻¹; times the variance of a row it is the covariance.
	Unit *mat.SymDense
	// Squares is the sum of the squared residuals, Free how many rows there
	// are beyond the parameters.
	Squares float64
	Free    int
}

// Linear finds the β that makes Σ (y − Xβ)² least, by the QR decomposition: the
// normal equations would lose half of the digits. The columns are first scaled
// to unit length, so that units do not decide what counts as dependent. The
// error is ErrOpen.
func Linear(x *mat.Dense, y []float64) (Solution, error) {
	n, p := x.Dims()
	if n < p {
		return Solution{}, ErrOpen
	}
	unit := make([]float64, p) // 1 over the length of a column
	for j := range unit {
		unit[j] = 1 / mat.Norm(x.ColView(j), 2)
	}
	scale := mat.NewDiagDense(p, unit)
	var scaled, beta, fitted, r, root mat.Dense
	scaled.Mul(x, scale)
	var qr mat.QR
	qr.Factorize(&scaled)
	if !(qr.Cond() < worstCondition) || qr.SolveTo(&beta, false, mat.NewDense(n, 1, y)) != nil {
		return Solution{}, ErrOpen
	}
	fitted.Mul(&scaled, &beta)
	qr.RTo(&r)
	if root.Inverse(r.Slice(0, p, 0, p)) != nil {
		return Solution{}, ErrOpen
	}
	root.Mul(scale, &root)
	beta.Mul(scale, &beta)
	s := Solution{Beta: make([]float64, p), Unit: mat.NewSymDense(p, nil), Free: n - p}
	s.Unit.SymOuterK(1, &root)
	mat.Col(s.Beta, 0, &beta)
	for i, v := range y {
		d := v - fitted.At(i, 0)
		s.Squares += d * d
	}
	return s, nil
}

// Variance is the variance of a row as the residuals show it: 0 where nothing
// is left over to show it.
func (s Solution) Variance() float64 {
	if s.Free == 0 {
		return 0
	}
	return s.Squares / float64(s.Free)
}

// Deviation is the standard uncertainty of a function of the parameters whose
// gradient is g, to first order; parameters beyond g do not count. Source: JCGM
// 100 (the GUM), equation 13.
func (s Solution) Deviation(g ...float64) float64 {
	v := mat.NewVecDense(len(s.Beta), nil)
	for j, x := range g {
		v.SetVec(j, x)
	}
	return math.Sqrt(max(0, mat.Inner(v, s.Unit, v)*s.Variance()))
}
