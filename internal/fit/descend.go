package fit

import (
	"math"

	"gonum.org/v1/gonum/mat"

	"sagitta/internal/least"
)

const (
	// gainSmall ends the descent of a form: the sum of squares then falls by
	// less than shows in any digit that is reported.
	gainSmall = 1e-9
	// parameterStep is for central differences: about the cube root of the
	// spacing of float64.
	parameterStep = 6e-6
)

// form is a family of surfaces in the coordinates of a frame, with parameters
// p of order one.
type form interface {
	count() int
	at(p []float64, x, y float64) float64
	starts(f *frame, q [6]float64) [][]float64
}

// modelOf is a form as a model of the points in a frame, with weights w or nil.
func modelOf(fm form, f *frame, w []float64) least.Model {
	return func(p, r []float64, j *mat.Dense) {
		for k, x := range f.x {
			y, root := f.y[k], 1.0
			if w != nil {
				root = math.Sqrt(w[k])
			}
			r[k] = root * (f.z[k] - fm.at(p, x, y))
			for i := 0; j != nil && i < len(p); i++ {
				was, h := p[i], parameterStep*max(1, math.Abs(p[i]))
				p[i] = was + h
				up := fm.at(p, x, y)
				p[i] = was - h
				j.Set(k, i, root*(up-fm.at(p, x, y))/(2*h))
				p[i] = was
			}
		}
	}
}

// descend fits a form from p, with weights w or nil, and returns the sum of
// weighted squares.
func descend(fm form, f *frame, p, w []float64) (best []float64, squares float64) {
	return least.Descend(modelOf(fm, f, w), len(f.x), p, gainSmall)
}
