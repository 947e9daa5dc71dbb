package form

import (
	"cmp"
	"fmt"
	"math"

	"gonum.org/v1/gonum/diff/fd"
	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"

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
	f.unit = cmp.Or(f.unit, 1)
	for k := range p {
		f.x[k], f.y[k] = f.in(p[k].X, p[k].Y)
		f.z[k] = (p[k].Z - f.cz) / f.unit
	}
	return f
}

func (f *frame) in(x, y float64) (u, v float64) { return (x - f.cx) / f.unit, (y - f.cy) / f.unit }

// Quadratic gives the terms of a quadric z = q0 + q1 x + q2 y + q3 x² + q4 xy +
// q5 y²; the first three are a plane.
func Quadratic(x, y float64) [6]float64 { return [6]float64{1, x, y, x * x, x * y, y * y} }

// quadric fits a quadric, or a plane where the points settle no more.
func (f *frame) quadric() (q [6]float64, terms int, err error) {
	for _, terms := range []int{6, 3} {
		a := mat.NewDense(len(f.x), terms, nil)
		for k := range f.x {
			row := Quadratic(f.x[k], f.y[k])
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

// Fitted is a form that was fitted to points.
type Fitted struct {
	form    *form
	f       *frame
	p       []float64
	heights heights // of the form, in the frame
	// spread says how far the parameters are known, nil where the points
	// leave that open.
	spread *least.Solution
}

// Fit fits the plane, cylinder, cone or sphere that is named, in the
// least squares of heights.
func Fit(name string, points []surface.Point) (*Fitted, error) {
	return fit(name, points, nil, nil)
}

// fit fits with weights w, from the parameters that another fit to the
// same places found; either may be nil.
func fit(name string, points []surface.Point, w []float64, from *Fitted) (*Fitted, error) {
	fm := of(name)
	if fm == nil {
		return nil, fmt.Errorf("no form is called %s", name)
	}
	if len(points) < fm.parameters {
		return nil, fmt.Errorf("a %s needs at least %d points, there are %d", name, fm.parameters, len(points))
	}
	r := &Fitted{form: fm, f: newFrame(points)}
	var starts [][]float64
	if from != nil {
		starts = [][]float64{from.p}
	} else {
		q, terms, err := r.f.quadric()
		if err != nil {
			return nil, fmt.Errorf("all points are on a line; a %s needs some beside it", name)
		}
		if terms == 3 && fm != &plane {
			// Places on two lines settle no quadric, but may settle a round.
			q[3], q[5] = -1e-3, -1e-3
		}
		starts = fm.starts(r.f, q)
	}
	best := math.Inf(1)
	for _, start := range starts {
		p, sum := r.f.descend(fm, start, w)
		if sum < best {
			best, r.p = sum, p
		}
	}
	if r.p == nil {
		return nil, fmt.Errorf("no %s fits these points", name)
	}
	r.heights = fm.surface(r.p)
	if len(points) > fm.parameters {
		// Of all points alike: weights are there to find the form.
		spread, err := least.At(r.f.model(fm, nil), len(points), r.p)
		if err == nil {
			r.spread = &spread
		}
	}
	return r, nil
}

// Parameters is how many were fitted.
func (r *Fitted) Parameters() int { return len(r.p) }

// Settled reports whether the points settle the parameters, and are more than those.
func (r *Fitted) Settled() bool { return r.spread != nil }

// At returns the height at x, y, NaN beyond the edge of a round.
func (r *Fitted) At(x, y float64) float64 {
	if _, within := r.heights(r.f.in(x, y)); !within {
		return math.NaN()
	}
	return r.Reach(x, y)
}

// Reach returns the height, also beyond the edge, where it is some height
// far below.
func (r *Fitted) Reach(x, y float64) float64 {
	z, _ := r.heights(r.f.in(x, y))
	return r.f.cz + r.f.unit*z
}

// deviation is the standard uncertainty of a parameter.
func (r *Fitted) deviation(parameter int) float64 {
	return math.Sqrt(r.spread.Unit.At(parameter, parameter) * r.spread.Variance())
}

// Sensible reports whether a round's curvature stands out from its own
// uncertainty.
func (r *Fitted) Sensible() bool {
	c := r.form.curvature
	return c == 0 || r.spread != nil && math.Abs(r.p[c]) > 3*r.deviation(c)
}

// Round is what a round form is like, in the coordinates of the points.
type Round struct {
	RadiusMM float64 // at the middle of the points
	// RadiusU95MM is the expanded uncertainty of the radius, 95 % by
	// Student's distribution (JCGM 100, annex G); +Inf without redundancy.
	RadiusU95MM float64
	Hollow      bool
	// Top is a point of the top line, or the top of a sphere; for a hollow
	// its deepest.
	Top [3]float64
	// AxisDeg is the direction of the axis over x, from -90 up to 90, and
	// TopSlope the slope of the top line along it.
	AxisDeg, TopSlope float64
	// Taper is the change of radius in each unit of the axis, along AxisDeg.
	Taper, TaperU95 float64
}

// Round returns nil for a plane.
func (r *Fitted) Round() *Round {
	c := r.form.curvature
	if c == 0 {
		return nil
	}
	f, p, k := r.f, r.p, r.p[c]
	o := &Round{RadiusMM: f.unit / math.Abs(k), Hollow: k < 0, RadiusU95MM: math.Inf(1), TaperU95: math.Inf(1)}
	if r.spread != nil {
		factor := distuv.StudentsT{Mu: 0, Sigma: 1, Nu: float64(r.spread.Free)}.Quantile(0.975)
		o.RadiusU95MM = factor * r.deviation(c) / (k * k) * f.unit
		if r.form == &cone {
			o.TaperU95 = factor * r.deviation(5)
		}
	}
	if r.form == &sphere {
		o.Top = [3]float64{f.cx + f.unit*p[1], f.cy + f.unit*p[2], f.cz + f.unit*p[0]}
		return o
	}
	sin, cos := math.Sincos(p[3])
	o.Top = [3]float64{f.cx - f.unit*p[2]*sin, f.cy + f.unit*p[2]*cos, f.cz + f.unit*p[0]}
	deg := math.Remainder(p[3]*180/math.Pi, 360)
	sign := 1.0
	const onY = 1e-6 // rounding, in degrees
	if deg > 90+onY || deg <= -90+onY {
		deg -= math.Copysign(180, deg)
		sign = -1
	}
	o.AxisDeg, o.TopSlope = deg, sign*p[1]
	if r.form == &cone {
		o.Taper = sign * p[5]
		if k < 0 {
			o.Taper = -o.Taper // the radius is below zero in a hollow
		}
	}
	return o
}

// Residuals returns the points' heights over the form.
func (r *Fitted) Residuals(points []surface.Point) []float64 {
	d := make([]float64, len(points))
	for k := range points {
		d[k] = points[k].Z - r.Reach(points[k].X, points[k].Y)
	}
	return d
}

// Spans reports whether a form has heights all over a rectangle.
func (r *Fitted) Spans(lo, hi [2]float64) bool {
	const n = 8
	for k := range (n + 1) * (n + 1) {
		x, y := lo[0]+(hi[0]-lo[0])*float64(k%(n+1))/n, lo[1]+(hi[1]-lo[1])*float64(k/(n+1))/n
		if z := r.At(x, y); z != z {
			return false
		}
	}
	return true
}

// gradient is that of the height at x, y by the parameters, in the frame.
func (r *Fitted) gradient(x, y float64) []float64 {
	u, v := r.f.in(x, y)
	return fd.Gradient(nil, func(p []float64) float64 {
		z, _ := r.form.surface(p)(u, v)
		return z
	}, r.p, &fd.Settings{Formula: fd.Central})
}

// Hat is how much each of the points fitted moves the form at each of them.
func (r *Fitted) Hat(points []surface.Point) *mat.Dense {
	g := mat.NewDense(len(points), len(r.p), nil)
	for k, p := range points {
		g.SetRow(k, r.gradient(p.X, p.Y))
	}
	var part, hat mat.Dense
	part.Mul(g, r.spread.Unit)
	hat.Mul(&part, g.T())
	return &hat
}

// Leverage is the variance of the height at x, y for points of unit variance.
func (r *Fitted) Leverage(x, y float64) float64 {
	g := r.gradient(x, y)
	w := mat.NewVecDense(len(g), g)
	return max(mat.Inner(w, r.spread.Unit, w), 0)
}
