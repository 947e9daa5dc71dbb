package fit

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"

	"sagitta/internal/least"
)

// Fitted is a form that was fitted to points.
type Fitted struct {
	Name       string
	SD         float64 // residual standard deviation, mm; 0 without redundancy
	Parameters int
	Points     int

	form form
	f    *frame
	p    []float64
	// spread says how far the parameters are known, nil where the points
	// leave that open.
	spread *least.Solution
}

// forms by name.
func formOf(name string) form {
	switch name {
	case "plane":
		return plane{}
	case "cylinder":
		return cylinder{}
	case "cone":
		return cone{}
	case "sphere":
		return sphere{}
	}
	return nil
}

// FitForm fits the plane, cylinder, cone or sphere that is named, in the
// least squares of heights.
func FitForm(name string, points []Point) (*Fitted, error) { return fitForm(name, points, nil, nil) }

// fitForm fits with weights w, from the parameters that another fit to the
// same places found; either may be nil.
func fitForm(name string, points []Point, w []float64, from *Fitted) (*Fitted, error) {
	fm := formOf(name)
	if fm == nil {
		return nil, fmt.Errorf("no form is called %s", name)
	}
	n := fm.count()
	if len(points) < n {
		return nil, fmt.Errorf("a %s needs at least %d points, there are %d", name, n, len(points))
	}
	f := newFrame(points)
	r := &Fitted{Name: name, Parameters: n, Points: len(points), form: fm, f: f}
	var starts [][]float64
	if from != nil {
		starts = [][]float64{from.p}
	} else {
		q, terms, err := f.quadric()
		if err != nil {
			return nil, fmt.Errorf("all points are on a line; a %s needs some beside it", name)
		}
		if terms == 3 && name != "plane" {
			// Places on two lines settle no quadric, but may settle a round.
			q[3], q[5] = -1e-3, -1e-3
		}
		starts = fm.starts(f, q)
	}
	best := math.Inf(1)
	for _, start := range starts {
		p, sum := descend(fm, f, start, w)
		if sum < best {
			best, r.p = sum, p
		}
	}
	if r.p == nil {
		return nil, fmt.Errorf("no %s fits these points", name)
	}
	if len(points) > n {
		// Of all points alike: weights are there to find the form.
		spread, err := least.At(modelOf(fm, f, nil), len(points), r.p)
		if r.SD = math.Sqrt(spread.Variance()) * f.unit; err == nil {
			r.spread = &spread
		}
	}
	return r, nil
}

// At returns the height at x, y, NaN beyond the edge of a round.
func (r *Fitted) At(x, y float64) float64 {
	u, v, _ := r.f.in(x, y, 0)
	if r.beyond(u, v) {
		return math.NaN()
	}
	return r.f.cz + r.f.unit*r.form.at(r.p, u, v)
}

// reach returns the height, also beyond the edge, where it is some height
// far below.
func (r *Fitted) reach(x, y float64) float64 {
	u, v, _ := r.f.in(x, y, 0)
	return r.f.cz + r.f.unit*r.form.at(r.p, u, v)
}

func (r *Fitted) beyond(u, v float64) bool {
	switch r.form.(type) {
	case sphere:
		return math.Hypot(u-r.p[1], v-r.p[2]) > edgeOf(r.p[3])
	case cylinder:
		_, w := axisAngle(r.p[3], u, v)
		return math.Abs(w-r.p[2]) > edgeOf(r.p[4])
	case cone:
		along, w := axisAngle(r.p[3], u, v)
		return math.Abs(w-r.p[2]) > math.Abs(1/r.p[4]+r.p[5]*along)
	}
	return false
}

// curvature is the index of the curvature among the parameters, -1 without.
func (r *Fitted) curvature() int {
	switch r.form.(type) {
	case sphere:
		return 3
	case cylinder, cone:
		return 4
	}
	return -1
}

// deviation is the standard uncertainty of a parameter.
func (r *Fitted) deviation(parameter int) float64 {
	g := make([]float64, len(r.p))
	g[parameter] = 1
	return r.spread.Deviation(g...)
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
	c := r.curvature()
	if c < 0 {
		return nil
	}
	k := r.p[c]
	u := r.f.unit
	o := &Round{RadiusMM: u / math.Abs(k), Hollow: k < 0, RadiusU95MM: math.Inf(1), TaperU95: math.Inf(1)}
	if r.spread != nil {
		factor := distuv.StudentsT{Mu: 0, Sigma: 1, Nu: float64(r.Points - r.Parameters)}.Quantile(0.975)
		o.RadiusU95MM = factor * r.deviation(c) / (k * k) * u
		if c == 4 && len(r.p) == 6 {
			o.TaperU95 = factor * r.deviation(5)
		}
	}
	if c == 3 {
		o.Top = [3]float64{r.f.cx + u*r.p[1], r.f.cy + u*r.p[2], r.f.cz + u*r.p[0]}
		return o
	}
	sin, cos := math.Sincos(r.p[3])
	o.Top = [3]float64{r.f.cx - u*r.p[2]*sin, r.f.cy + u*r.p[2]*cos, r.f.cz + u*r.p[0]}
	deg := math.Remainder(r.p[3]*180/math.Pi, 360)
	sign := 1.0
	const onY = 1e-6 // rounding, in degrees
	if deg > 90+onY || deg <= -90+onY {
		deg -= math.Copysign(180, deg)
		sign = -1
	}
	o.AxisDeg, o.TopSlope = deg, sign*r.p[1]
	if len(r.p) == 6 {
		o.Taper = sign * r.p[5]
		if k < 0 {
			o.Taper = -o.Taper // the radius is below zero in a hollow
		}
	}
	return o
}

// residuals returns the points' heights over the form.
func (r *Fitted) residuals(points []Point) []float64 {
	d := make([]float64, len(points))
	for k := range points {
		d[k] = points[k].Z - r.reach(points[k].X, points[k].Y)
	}
	return d
}

// robustForm fits a form while points far off it count less and less, and
// returns its residuals and their robust standard deviation. The weights are
// Tukey's (Beaton and Tukey, Technometrics 16 (1974) 147).
func robustForm(name string, points []Point) (*Fitted, []float64, float64, error) {
	var w []float64
	var r *Fitted
	for round := 0; ; round++ {
		var err error
		r, err = fitForm(name, points, w, r)
		if err != nil {
			return nil, nil, 0, err
		}
		d := r.residuals(points)
		// Points spent on the parameters are not there to scatter.
		free := float64(len(points)) / float64(max(len(points)-r.Parameters, 1))
		sd := madFactor * medianAbs(d) * math.Sqrt(free)
		if round == 6 || sd == 0 {
			return r, d, sd, nil
		}
		w = make([]float64, len(d))
		for k := range d {
			if t := d[k] / (tukeyCut * sd); t > -1 && t < 1 {
				w[k] = (1 - t*t) * (1 - t*t)
			}
		}
	}
}

const (
	// madFactor turns the median of absolute deviations into the standard
	// deviation of a normal distribution.
	madFactor = 1.4826
	// tukeyCut gives 95 % efficiency on normal scatter.
	tukeyCut = 4.685
)

func medianAbs(d []float64) float64 {
	a := make([]float64, len(d))
	for k := range d {
		a[k] = math.Abs(d[k])
	}
	slices.Sort(a)
	n := len(a)
	if n == 0 {
		return 0
	}
	return a[n/2]/2 + a[(n-1)/2]/2
}
