package fit

import (
	"errors"
	"math"
	"slices"

	"sagitta/internal/least"
	"sagitta/internal/surface"
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
func crossValidate(points []surface.Point, grid *surface.Surface, name string, wanted bool) Candidate {
	c := Candidate{Name: name}
	var err error
	switch {
	case formOf(name) != nil:
		err = c.form(points, wanted)
	case name == "smooth" && len(points) < leastSplit:
		err = c.smoothEach(points)
	case name == "smooth":
		err = c.smooth(points)
	case grid == nil:
		err = errNoGrid
	case name == "bicubic":
		err = c.grid(closed(grid, points), cubicOrder)
	default:
		err = c.grid(grid, linearOrder)
	}
	if err == nil && (math.IsInf(c.ErrorMM, 0) || math.IsNaN(c.ErrorMM)) {
		err = errors.New("it does not converge")
	}
	if err != nil {
		c.Why = err.Error()
	}
	return c
}

var (
	errNoGrid = errors.New("the points are on no grid")
	errFew    = errors.New("too few points to leave one out")
)

// form leaves out parts of the points in turn.
func (c *Candidate) form(points []surface.Point, wanted bool) error {
	if len(points) < max(formOf(c.Name).parameters+spare, 4) {
		return errFew
	}
	points = thinOut(points, formTried)
	whole, err := FitForm(c.Name, points)
	if err != nil {
		return err
	}
	if !wanted && !whole.sensible() {
		return errors.New("the points are too flat for one")
	}
	folds := min(formFolds, len(points))
	var m misses
	for f := range folds {
		in, out := parted(points, func(k int) bool { return k%folds != f })
		if r, err := FitForm(c.Name, in); err == nil {
			m.add(r.reach, out)
		}
	}
	return c.missed(m, len(points)/2)
}

// missed takes the error from predictions, of which there must be enough.
func (c *Candidate) missed(m misses, enough int) error {
	if m.n < enough {
		return errFew
	}
	c.RawMM = math.Sqrt(m.mean())
	c.ErrorMM = c.RawMM
	return nil
}

// grid reads the grid from every second, third, fourth and eighth node.
func (c *Candidate) grid(g *surface.Surface, order float64) error {
	if c.Name == "bicubic" && g.Missing() > 0 {
		return errors.New("heights are missing at the rim")
	}
	levels, err := levelsOf(g, c.Name)
	if err != nil {
		return err
	}
	known := 0.0
	if c.Name == "bicubic" {
		// How rough a surface is, is its own: where it keeps bilinear
		// reading from its order, it keeps bicubic from it as well, whose
		// overshoot at wide spacings would promise more.
		if flat, err := levelsOf(g, "bilinear"); err == nil {
			if _, p := atSpacing(flat, linearOrder, 0); p > 0 && p < linearOrder-powerStep {
				known = p
			}
		}
	}
	c.foresee(levels, order, known)
	return nil
}

// foresee takes the error from those at wider spacings.
func (c *Candidate) foresee(levels []spacingError, order, known float64) {
	c.RawMM = math.Sqrt(levels[0].square)
	square, _ := atSpacing(levels, order, known)
	c.ErrorMM = math.Sqrt(square)
}

func levelsOf(g *surface.Surface, method string) ([]spacingError, error) {
	var levels []spacingError
	for _, step := range []int{2, 3, 4, 8} {
		m, err := leaveOut(g, step, method)
		if err != nil && step == 2 {
			return nil, err
		}
		// Two cells along each axis, or it is a plane by another name.
		if err == nil && (step == 2 || len(g.X()) > 2*step && len(g.Y()) > 2*step) {
			levels = append(levels, spacingError{float64(step), m.mean()})
		}
	}
	return levels, nil
}

// smooth fits a half, a third and a quarter of the points.
func (c *Candidate) smooth(points []surface.Point) error {
	known := 0.0
	if len(points) > largeN {
		// The penalty that serves many points serves a part of them.
		known = choosePenalty(points)
	}
	var levels []spacingError
	for parts := 2; parts <= 4; parts++ {
		m, err := splitError(points, parts, known)
		if err != nil && parts == 2 {
			return err
		}
		if err == nil {
			// Of every n-th point the spacing is wider by √n.
			levels = append(levels, spacingError{math.Sqrt(float64(parts)), m.mean()})
		}
	}
	c.foresee(levels, smoothOrder, 0)
	return nil
}

// misses sums up how far heights that were predicted are off points.
type misses struct {
	squares float64
	n       int
}

func (m *misses) add(height func(x, y float64) float64, points []surface.Point) {
	for _, p := range points {
		d := p.Z - height(p.X, p.Y)
		m.squares += d * d
	}
	m.n += len(points)
}

// mean is the mean square.
func (m *misses) mean() float64 { return m.squares / float64(m.n) }

// splitError fits one part in parts of the points, each in turn, and sums up by how
// much it misses the others, within the hull of the part.
func splitError(points []surface.Point, parts int, known float64) (m misses, err error) {
	turns := parts
	if len(points) > largeN {
		turns = 1 // one part of many points tells
	}
	for t := range turns {
		in, out := parted(points, func(k int) bool { return foldOf(k, parts) == t })
		if onLine(in) {
			return m, least.ErrOpen
		}
		penalty := known
		if penalty == 0 {
			penalty = choosePenalty(in)
		}
		s, err := fitSmooth(in, penalty)
		if err != nil {
			return m, err
		}
		h := newHull(in)
		m.add(s.At, slices.DeleteFunc(out, func(p surface.Point) bool { return !h.holds(p.X, p.Y) }))
	}
	if m.n == 0 {
		return m, least.ErrOpen
	}
	return m, nil
}

// smoothEach leaves each of few points out in turn, but for the corners of
// their hull: beyond those nothing is claimed.
func (c *Candidate) smoothEach(points []surface.Point) error {
	if onLine(points) {
		return least.ErrOpen
	}
	penalty := choosePenalty(points)
	corners := hullIndex(points)
	var m misses
	for k := range points {
		in, out := parted(points, func(i int) bool { return i != k })
		if slices.Contains(corners, k) || onLine(in) {
			continue
		}
		if s, err := fitSmooth(in, penalty); err == nil {
			m.add(s.At, out)
		}
	}
	return c.missed(m, 2)
}
