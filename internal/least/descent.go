package least

import (
	"math"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"
)

const (
	// maxSteps bounds the descent: a fit that converges takes ten or so.
	maxSteps = 60
	// mostTried bounds how often a step is tried, shorter each time.
	mostTried = 30
	// stepSmall ends the descent: a step by that part of the greatest
	// parameter is rounding. Parameters are to be of like size.
	stepSmall = 1e-12
	// leastDamp keeps the damping from running out of the numbers.
	leastDamp = 1e-12
)

// Residuals gives the residuals r of parameters p, measured less modelled, each
// times the square root of its weight; and where j is not nil, the derivatives
// of the modelled with the same weights: a row for each residual. A residual
// that is not finite keeps the descent out of there.
type Residuals func(p, r []float64, j *mat.Dense)

// Descend finds the parameters that make the sum of n squared residuals least,
// from the start p, by the method of Levenberg and Marquardt (D. Marquardt,
// SIAM J. Appl. Math. 11 (1963) 431). It ends where the sum no longer falls by
// the part gain.
func Descend(model Residuals, n int, p []float64, gain float64) (best []float64, squares float64) {
	best, next := append([]float64(nil), p...), make([]float64, len(p))
	r, tried := make([]float64, n), make([]float64, n)
	j := mat.NewDense(n, len(p), nil)
	damp := 1e-3
	for range maxSteps {
		model(best, r, j)
		squares = sumOf(r)
		var normal, damped mat.SymDense
		var right, step mat.VecDense
		normal.SymOuterK(1, j.T())
		right.MulVec(j.T(), mat.NewVecDense(n, r))
		done := true
		for range mostTried {
			damped.ScaleSym(1, &normal)
			for i := range p {
				damped.SetSym(i, i, normal.At(i, i)*(1+damp)+1e-30)
			}
			var chol mat.Cholesky
			if chol.Factorize(&damped) && chol.SolveVecTo(&step, &right) == nil {
				floats.AddTo(next, best, step.RawVector().Data)
				model(next, tried, nil)
				if s := sumOf(tried); s <= squares {
					done = !(s < squares*(1-gain)) || mat.Norm(&step, math.Inf(1)) < stepSmall*mat.Norm(mat.NewVecDense(len(p), next), math.Inf(1))
					squares = s
					copy(best, next)
					damp = max(damp/10, leastDamp)
					break
				}
			}
			damp *= 10
		}
		if done {
			break
		}
	}
	return best, squares
}

// sumOf is the sum of squares, +Inf where one of them is no number.
func sumOf(r []float64) float64 {
	s := 0.0
	for _, v := range r {
		s += v * v
	}
	if s != s {
		return math.Inf(1)
	}
	return s
}

// At gives the solution at parameters that are least already, with the
// derivatives there as the design matrix. The error is ErrOpen: Unit is then nil.
func At(model Residuals, n int, p []float64) (Solution, error) {
	r, j := make([]float64, n), mat.NewDense(n, len(p), nil)
	model(p, r, j)
	s, err := Linear(j, r)
	s.Beta, s.Squares, s.Free = append([]float64(nil), p...), sumOf(r), n-len(p)
	return s, err
}
