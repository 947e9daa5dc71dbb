package fit

import (
	"math"
)

const (
	// formFolds is in how many parts the points are left out of a form's
	// fit: its error hardly depends on a tenth of them.
	formFolds = 10
	// formTried is how many points a form is tried on: enough to know a
	// standard deviation to three per cent.
	formTried = 1000
	// leastSplit is the least number of points of which half and then three
	// quarters can be left out.
	leastSplit = 24
	// greatestGain bounds the correction: halving the spacing makes no
	// interpolation here better than by its order, four for cubics, two for
	// bilinear.
	cubicOrder, linearOrder = 4, 2
)

// crossValidate tells how far a candidate is off.
//
// Forms: parts are left out in turn (S. Geisser, JASA 70 (1975) 320), and
// the error is that of predicting them; it does not depend on the spacing.
//
// Interpolations and the smooth surface: heights are predicted from every
// second node, and from every fourth; or from half the points and a quarter
// of them. The error goes with a power of the spacing, which these two tell;
// so that of all points is e2²/e4, as Richardson extrapolates (Phil. Trans. A
// 226 (1927) 299). The power is held between none (pure noise) and the
// interpolation's order.
func crossValidate(points []Point, grid *Grid, name string, wanted bool) Candidate {
	c := Candidate{Name: name}
	switch name {
	case "bilinear", "bicubic":
		c.grid(grid)
	case "smooth":
		c.smooth(points)
	default:
		c.form(points, wanted)
	}
	if c.Why == "" && math.IsInf(c.ErrorMM, 0) || math.IsNaN(c.ErrorMM) {
		c.Why = "it does not converge"
	}
	return c
}

func (c *Candidate) form(points []Point, wanted bool) {
	fm := formOf(c.Name)
	if fm == nil {
		c.Why = "unknown"
		return
	}
	if len(points) < fm.count()+spare || len(points) < 4 {
		c.Why = "too few points to leave one out"
		return
	}
	points = thinOut(points, formTried)
	whole, err := fitForm(c.Name, points, nil, nil)
	if err != nil {
		c.Why = err.Error()
		return
	}
	if !wanted && !whole.sensible() {
		c.Why = "the points are too flat for one"
		return
	}
	folds := min(formFolds, len(points))
	sum, n := 0.0, 0
	rest := make([]Point, 0, len(points))
	for f := range folds {
		rest = rest[:0]
		for k := range points {
			if k%folds != f {
				rest = append(rest, points[k])
			}
		}
		if len(rest) < fm.count() {
			c.Why = "too few points to leave one out"
			return
		}
		r, err := fitForm(c.Name, rest, nil, nil)
		if err != nil {
			continue
		}
		for k := range points {
			if k%folds == f {
				d := points[k].Z - r.reach(points[k].X, points[k].Y)
				sum += d * d
				n++
			}
		}
	}
	if n < len(points)/2 {
		c.Why = "too few points to leave one out"
		return
	}
	c.RawMM = math.Sqrt(sum / float64(n))
	c.ErrorMM = c.RawMM
}

// sensible tells whether a round's curvature stands out from its own
// uncertainty.
func (r *Fitted) sensible() bool {
	c := r.curvature()
	if c < 0 {
		return true
	}
	return r.cov != nil && math.Abs(r.p[c]) > 3*math.Sqrt(r.cov.At(c, c))
}

func (c *Candidate) grid(g *Grid) {
	if g == nil {
		c.Why = "the points are on no grid"
		return
	}
	order := float64(linearOrder)
	if c.Name == "bicubic" {
		order = cubicOrder
		if g.missing() > 0 {
			c.Why = "heights are missing"
			return
		}
	}
	e2, _, err := g.leaveOut(2, c.Name)
	if err != nil {
		c.Why = err.Error()
		return
	}
	c.RawMM = math.Sqrt(e2)
	c.ErrorMM = c.RawMM
	if e4, _, err := g.leaveOut(4, c.Name); err == nil && len(g.X) > 4 && len(g.Y) > 4 {
		c.ErrorMM = extrapolate(c.RawMM, math.Sqrt(e4), order)
	}
}

// extrapolate returns e/2^p for the power p that e and the error at twice its
// spacing show, between 0 and order.
func extrapolate(e, wider, order float64) float64 {
	if e == 0 {
		return 0
	}
	return e / min(max(wider/e, 1), math.Pow(2, order))
}

func (c *Candidate) smooth(points []Point) {
	if len(points) < leastSplit {
		c.leaveEach(points)
		return
	}
	e2, err := splitError(points, 2)
	if err != nil {
		c.Why = err.Error()
		return
	}
	e4, err := splitError(points, 4)
	c.RawMM, c.ErrorMM = e2, e2
	if err == nil {
		// Half the points are spaced wider by √2, a quarter by 2.
		c.ErrorMM = extrapolate(e2, e4, cubicOrder/2)
	}
}

// leaveEach leaves each of few points out in turn, but for the corners of
// their hull: beyond those nothing is claimed.
func (c *Candidate) leaveEach(points []Point) {
	corner := map[int]bool{}
	for _, k := range hullIndex(points) {
		corner[k] = true
	}
	sum, n := 0.0, 0
	rest := make([]Point, 0, len(points))
	for k := range points {
		if corner[k] {
			continue
		}
		rest = append(append(rest[:0], points[:k]...), points[k+1:]...)
		if onLine(rest) {
			continue
		}
		s, err := FitSmooth(rest)
		if err != nil {
			continue
		}
		d := points[k].Z - s.At(points[k].X, points[k].Y)
		sum += d * d
		n++
	}
	if n < 2 {
		c.Why = "too few points to leave one out"
		return
	}
	c.RawMM = math.Sqrt(sum / float64(n))
	c.ErrorMM = c.RawMM
}

// splitError fits one part in parts of the points and returns the root mean
// square by which it misses the others, within the hull of the part.
func splitError(points []Point, parts int) (float64, error) {
	turns := parts
	if len(points) > largeN {
		turns = 1
	}
	sum, n := 0.0, 0
	for t := range turns {
		var in, out []Point
		for k := range points {
			if foldOf(k, parts) == t {
				in = append(in, points[k])
			} else {
				out = append(out, points[k])
			}
		}
		s, err := FitSmooth(in)
		if err != nil {
			return 0, err
		}
		h := newHull(in)
		for k := range out {
			if h.holds(out[k].X, out[k].Y) {
				d := out[k].Z - s.At(out[k].X, out[k].Y)
				sum += d * d
				n++
			}
		}
	}
	if n == 0 {
		return 0, errSingular
	}
	return math.Sqrt(sum / float64(n)), nil
}
