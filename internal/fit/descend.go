package fit

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

const (
	// maxSteps bounds the descent: a fit that converges takes ten or so.
	maxSteps = 60
	// stepSmall ends it: parameters are of order one (see frame), and a
	// change of 1e-11 of them moves no height by a nanometre.
	stepSmall = 1e-11
	// gainSmall ends it as well: the sum of squares then falls by less than
	// shows in any digit that is reported.
	gainSmall = 1e-9
	// parameterStep is for central differences: about the cube root of the
	// spacing of float64.
	parameterStep = 6e-6
)

// form is a family of surfaces in the coordinates of a frame, with parameters
// p of order one.
type form interface {
	name() string
	count() int
	at(p []float64, x, y float64) float64
	starts(f *frame, q [6]float64) [][]float64
}

// descend fits a form by the Levenberg-Marquardt method (D. Marquardt, SIAM
// J. Appl. Math. 11 (1963) 431) from p, with weights w or nil, and returns
// the sum of weighted squares.
func descend(fm form, f *frame, p, w []float64) (best []float64, sum float64) {
	n := fm.count()
	p = append([]float64(nil), p...)
	residual := func(p []float64) float64 {
		s := 0.0
		for k := range f.x {
			d := f.z[k] - fm.at(p, f.x[k], f.y[k])
			if w != nil {
				d *= math.Sqrt(w[k])
			}
			s += d * d
		}
		if s != s {
			return math.Inf(1)
		}
		return s
	}
	sum = residual(p)
	damp := 1e-3
	q := make([]float64, n)
	for range maxSteps {
		normal, right := normalEquations(fm, f, p, w)
		improved := false
		for range 12 {
			a := mat.NewSymDense(n, nil)
			a.CopySym(normal)
			for i := range n {
				a.SetSym(i, i, normal.At(i, i)*(1+damp)+1e-30)
			}
			var chol mat.Cholesky
			var step mat.VecDense
			if !chol.Factorize(a) || chol.SolveVecTo(&step, right) != nil {
				damp *= 10
				continue
			}
			for i := range q {
				q[i] = p[i] + step.AtVec(i)
			}
			if s := residual(q); s <= sum {
				change := mat.Norm(&step, math.Inf(1))
				improved = s < sum*(1-gainSmall)
				copy(p, q)
				sum = s
				damp = max(damp/10, 1e-12)
				if change < stepSmall {
					improved = false
				}
				break
			}
			damp *= 10
		}
		if !improved {
			break
		}
	}
	return p, sum
}

// normalEquations returns JᵀWJ and JᵀWr at p.
func normalEquations(fm form, f *frame, p, w []float64) (*mat.SymDense, *mat.VecDense) {
	n := fm.count()
	normal := make([]float64, n*n)
	right := make([]float64, n)
	row := make([]float64, n)
	q := append([]float64(nil), p...)
	for k := range f.x {
		x, y := f.x[k], f.y[k]
		r := f.z[k] - fm.at(p, x, y)
		for i := range n {
			h := parameterStep * max(1, math.Abs(p[i]))
			q[i] = p[i] + h
			up := fm.at(q, x, y)
			q[i] = p[i] - h
			row[i] = (up - fm.at(q, x, y)) / (2 * h)
			q[i] = p[i]
		}
		weight := 1.0
		if w != nil {
			weight = w[k]
		}
		for i := range n {
			right[i] += weight * row[i] * r
			for j := i; j < n; j++ {
				normal[i*n+j] += weight * row[i] * row[j]
			}
		}
	}
	return mat.NewSymDense(n, normal), mat.NewVecDense(n, right)
}

// covariance returns the covariance of the parameters for residuals of
// standard deviation sd, nil where the points leave them open.
func covariance(fm form, f *frame, p []float64, sd float64) *mat.SymDense {
	normal, _ := normalEquations(fm, f, p, nil)
	var chol mat.Cholesky
	if !chol.Factorize(normal) {
		return nil
	}
	var inv mat.SymDense
	if chol.InverseTo(&inv) != nil {
		return nil
	}
	inv.ScaleSym(sd*sd, &inv)
	return &inv
}
