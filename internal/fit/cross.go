package fit

import (
	"math"

	"sagitta/internal/least"
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
	// The orders with which errors fall as the spacing does, at most: four
	// for cubics, two for bilinear, and two for the smooth surface, whose
	// sides end without bending (C. de Boor, A Practical Guide to Splines).
	cubicOrder, linearOrder, smoothOrder = 4, 2, 2
)

// crossValidate tells how far a candidate is off.
//
// Forms: parts are left out in turn (S. Geisser, JASA 70 (1975) 320), and
// the error is that of predicting them; it does not depend on the spacing.
//
// Interpolations and the smooth surface: heights are predicted from every
// second node along each axis, every third, fourth and eighth; or from a half, a third and
// a quarter of the points. How the error grows with the spacing tells what it
// is with all points (see atSpacing).
func crossValidate(points []Point, grid *Grid, name string, wanted bool) Candidate {
	c := Candidate{Name: name}
	switch name {
	case "bicubic":
		if grid != nil {
			grid = grid.closed(points)
		}
		c.grid(grid)
	case "bilinear":
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

// sensible reports whether a round's curvature stands out from its own
// uncertainty.
func (r *Fitted) sensible() bool {
	c := r.curvature()
	if c < 0 {
		return true
	}
	return r.spread != nil && math.Abs(r.p[c]) > 3*r.deviation(c)
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
			c.Why = "heights are missing at the rim"
			return
		}
	}
	levels, err := g.levels(c.Name)
	if err != nil {
		c.Why = err.Error()
		return
	}
	c.RawMM = math.Sqrt(levels[0].square)
	known := 0.0
	if c.Name == "bicubic" {
		// How rough a surface is, is its own: where it keeps bilinear
		// reading from its order, it keeps bicubic from it as well, whose
		// overshoot at wide spacings would promise more.
		if flat, err := g.levels("bilinear"); err == nil {
			if _, p := atSpacing(flat, linearOrder, 0); p > 0 && p < linearOrder-powerStep {
				known = p
			}
		}
	}
	square, _ := atSpacing(levels, order, known)
	c.ErrorMM = math.Sqrt(square)
}

// levels reads the grid from every second, third, fourth and eighth node.
func (g *Grid) levels(method string) ([]level, error) {
	var levels []level
	for _, step := range []int{2, 3, 4, 8} {
		e, _, err := g.leaveOut(step, method)
		if err != nil && step == 2 {
			return nil, err
		}
		// Two cells along each axis, or it is a plane by another name.
		if err == nil && (step == 2 || len(g.X) > 2*step && len(g.Y) > 2*step) {
			levels = append(levels, level{float64(step), e})
		}
	}
	return levels, nil
}

func (c *Candidate) smooth(points []Point) {
	if len(points) < leastSplit {
		c.leaveEach(points)
		return
	}
	known := 0.0
	if len(points) > largeN {
		// The penalty that serves many points serves a part of them.
		known = choosePenalty(points)
	}
	var levels []level
	for parts := 2; parts <= 4; parts++ {
		e, err := splitError(points, parts, known)
		if err != nil && parts == 2 {
			c.Why = err.Error()
			return
		}
		if err == nil {
			// Of every n-th point the spacing is wider by √n.
			levels = append(levels, level{math.Sqrt(float64(parts)), e})
		}
	}
	c.RawMM = math.Sqrt(levels[0].square)
	square, _ := atSpacing(levels, smoothOrder, 0)
	c.ErrorMM = math.Sqrt(square)
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
	if onLine(points) {
		c.Why = least.ErrOpen.Error()
		return
	}
	penalty := choosePenalty(points)
	for k := range points {
		if corner[k] {
			continue
		}
		rest = append(append(rest[:0], points[:k]...), points[k+1:]...)
		if onLine(rest) {
			continue
		}
		s, err := fitSmooth(rest, penalty)
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

// splitError fits one part in parts of the points and returns the mean square
// by which it misses the others, within the hull of the part.
func splitError(points []Point, parts int, known float64) (float64, error) {
	turns := parts
	if len(points) > largeN {
		turns = 1 // one part of many points tells
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
		penalty := known
		if onLine(in) {
			return 0, least.ErrOpen
		}
		if penalty == 0 {
			penalty = choosePenalty(in)
		}
		s, err := fitSmooth(in, penalty)
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
		return 0, least.ErrOpen
	}
	return sum / float64(n), nil
}
