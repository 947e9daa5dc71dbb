package fit

import (
	"math"

	"gonum.org/v1/gonum/diff/fd"
	"gonum.org/v1/gonum/mat"

	"sagitta/internal/least"
	"sagitta/internal/surface"
)

// frame holds points about their middle, in units of their half width, so
// that the parameters of forms are of order one.
type frame struct {
	cx, cy, cz, unit float64
	x, y, z          []float64
}

func newFrame(p []surface.Point) *frame {
	f := &frame{x: make([]float64, len(p)), y: make([]float64, len(p)), z: make([]float64, len(p))}
	n := float64(len(p))
	for k := range p {
		f.cx, f.cy, f.cz = f.cx+p[k].X/n, f.cy+p[k].Y/n, f.cz+p[k].Z/n
	}
	for k := range p {
		f.unit = max(f.unit, math.Abs(p[k].X-f.cx), math.Abs(p[k].Y-f.cy))
	}
	if f.unit == 0 {
		f.unit = 1
	}
	for k := range p {
		f.x[k], f.y[k] = f.in(p[k].X, p[k].Y)
		f.z[k] = (p[k].Z - f.cz) / f.unit
	}
	return f
}

func (f *frame) in(x, y float64) (u, v float64) { return (x - f.cx) / f.unit, (y - f.cy) / f.unit }

// quadratic gives the terms of a quadric z = q0 + q1 x + q2 y + q3 x² + q4 xy +
// q5 y²; the first three are a plane.
func quadratic(x, y float64) [6]float64 { return [6]float64{1, x, y, x * x, x * y, y * y} }

// quadric fits a quadric, or a plane where the points settle no more.
func (f *frame) quadric() (q [6]float64, terms int, err error) {
	for _, terms := range []int{6, 3} {
		a := mat.NewDense(len(f.x), terms, nil)
		for k := range f.x {
			row := quadratic(f.x[k], f.y[k])
			a.SetRow(k, row[:terms])
		}
		if fitted, err := least.Linear(a, f.z); err == nil {
			copy(q[:], fitted.Beta)
			return q, terms, nil
		}
	}
	return q, 0, least.ErrOpen
}

// gainSmall ends the descent of a form: the sum of squares then falls by
// less than shows in any digit that is reported.
const gainSmall = 1e-9

// model is a form as a model of the points, with weights w or nil.
func (f *frame) model(fm *form, w []float64) least.Residuals {
	residuals := func(r, p []float64) {
		heights := fm.surface(p)
		for k, x := range f.x {
			z, _ := heights(x, f.y[k])
			r[k] = f.z[k] - z
			if w != nil {
				r[k] *= math.Sqrt(w[k])
			}
		}
	}
	return func(p, r []float64, j *mat.Dense) {
		residuals(r, p)
		if j != nil {
			fd.Jacobian(j, residuals, p, &fd.JacobianSettings{Formula: fd.Central})
			j.Scale(-1, j)
		}
	}
}

// descend fits a form from p, with weights w or nil, and returns the sum of
// weighted squares.
func (f *frame) descend(fm *form, p, w []float64) (best []float64, squares float64) {
	return least.Descend(f.model(fm, w), len(f.x), p, gainSmall)
}
