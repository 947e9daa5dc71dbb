package fit

import (
	"math"

	"gonum.org/v1/gonum/mat"

	"sagitta/internal/least"
)

// frame holds points about their middle, in units of their half width, so
// that the parameters of forms are of order one.
type frame struct {
	cx, cy, cz, unit float64
	x, y, z          []float64
}

func newFrame(p []Point) *frame {
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
		f.x[k], f.y[k], f.z[k] = f.in(p[k].X, p[k].Y, p[k].Z)
	}
	return f
}

func (f *frame) in(x, y, z float64) (float64, float64, float64) {
	return (x - f.cx) / f.unit, (y - f.cy) / f.unit, (z - f.cz) / f.unit
}

// quadric fits z = q0 + q1 x + q2 y + q3 x² + q4 xy + q5 y², or as many of
// the terms as the points settle.
func (f *frame) quadric() (q [6]float64, terms int, err error) {
	for _, terms := range []int{6, 3} {
		a := mat.NewDense(len(f.x), terms, nil)
		for k := range f.x {
			x, y := f.x[k], f.y[k]
			row := [6]float64{1, x, y, x * x, x * y, y * y}
			for j := range terms {
				a.Set(k, j, row[j])
			}
		}
		if fitted, err := least.Linear(a, f.z); err == nil {
			copy(q[:], fitted.Beta)
			return q, terms, nil
		}
	}
	return q, 0, least.ErrOpen
}
