package fit

import (
	"errors"
	"math"

	"gonum.org/v1/gonum/mat"
)

// errSingular tells of points that leave the form open.
var errSingular = errors.New("the points do not settle the fit")

// leastSquares solves a*coef = b in the least squares sense by QR
// decomposition, its columns scaled to unit length first. It returns the
// coefficients, their covariance and the residual standard deviation. a is
// m x n with m >= n; with m = n there is no residual and no covariance.
func leastSquares(a *mat.Dense, b []float64) (coef []float64, cov *mat.SymDense, sd float64, err error) {
	m, n := a.Dims()
	if m < n {
		return nil, nil, 0, errSingular
	}
	scale := make([]float64, n)
	s := mat.NewDense(m, n, nil)
	for j := range n {
		sum := 0.0
		for i := range m {
			sum += a.At(i, j) * a.At(i, j)
		}
		scale[j] = math.Sqrt(sum)
		if scale[j] == 0 {
			return nil, nil, 0, errSingular
		}
		for i := range m {
			s.Set(i, j, a.At(i, j)/scale[j])
		}
	}
	var qr mat.QR
	qr.Factorize(s)
	// Beyond this condition number fewer than three digits are left of
	// heights known to a millionth.
	if c := qr.Cond(); !(c < 1e10) {
		return nil, nil, 0, errSingular
	}
	var x mat.VecDense
	if err := qr.SolveVecTo(&x, false, mat.NewVecDense(m, b)); err != nil {
		return nil, nil, 0, errSingular
	}
	coef = make([]float64, n)
	sum := 0.0
	var r mat.VecDense
	r.MulVec(s, &x)
	for i := range m {
		d := b[i] - r.AtVec(i)
		sum += d * d
	}
	for j := range n {
		coef[j] = x.AtVec(j) / scale[j]
	}
	if m == n {
		return coef, nil, 0, nil
	}
	sd = math.Sqrt(sum / float64(m-n))
	var normal mat.SymDense
	normal.SymOuterK(1, s.T())
	var chol mat.Cholesky
	if !chol.Factorize(&normal) {
		return nil, nil, 0, errSingular
	}
	var inv mat.SymDense
	if err := chol.InverseTo(&inv); err != nil {
		return nil, nil, 0, errSingular
	}
	cov = mat.NewSymDense(n, nil)
	for i := range n {
		for j := i; j < n; j++ {
			cov.SetSym(i, j, sd*sd*inv.At(i, j)/scale[i]/scale[j])
		}
	}
	return coef, cov, sd, nil
}
