package fit

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"sagitta/internal/fit/form"
	"sagitta/internal/fit/layout"
	"sagitta/internal/fit/sift"
	"sagitta/internal/least"
	"sagitta/internal/surface"
)

// Candidate is one way to make a surface of the points, and how far it is
// off by cross-validation.
type Candidate struct {
	Name string
	// ErrorMM is the standard error of a height, corrected for the points
	// that were left out; RawMM without the correction.
	ErrorMM, RawMM float64
	// Why says why the candidate was not taken; "" otherwise. Unborne is that it leaves
	// out what touches side by side say.
	Why     string
	Unborne bool

	penalty float64 // of a smooth surface, 0 where it was not looked for
}

// Choice is the surface that was chosen, and what spoke for it.
type Choice struct {
	Name  string
	Shape Shape
	Round *form.Round      // what a round form is like, nil of another
	Grid  *surface.Surface // of bilinear and bicubic, nil otherwise
	// ErrorMM is the standard uncertainty of a height: of a form or a smooth surface the
	// root mean square over their hull, of a grid all over; 0 where it cannot be known.
	ErrorMM    float64
	ErrorKnown bool
	Candidates []Candidate

	Given
	forms  *forms
	floor  float64 // nothing is known better
	spread spread  // nil where the points are too few
	more   float64 // standard uncertainty of all heights besides
}

// allow adds a standard uncertainty of all heights.
func (c *Choice) allow(mm float64) {
	c.more = math.Hypot(c.more, mm)
	if c.ErrorKnown {
		c.ErrorMM = math.Hypot(c.ErrorMM, mm)
	}
}

// sureAt is the standard uncertainty of the surface at x, y, where it has height z.
func (c *Choice) sureAt(x, y, z float64) float64 {
	return max(math.Hypot(c.spread.at(x, y, z), c.more), c.floor)
}

// order of candidates, from the simplest on. Of candidates that are equally
// good, the first is taken.
var candidateOrder = []string{"plane", "cylinder", "sphere", "cone", "bilinear", "bicubic", "smooth"}

// equallyGood is how much larger the error of a simpler candidate may be. An
// error seen at n points is itself known to about 1/√(2n) (as the standard
// deviation of a normal distribution); two are compared.
func equallyGood(n int) float64 { return 1 + 1/math.Sqrt(float64(n)) }

// smoothBorne is the most points of which a smooth surface is held to bear them.
const smoothBorne = 2000

// spare is how many points more than parameters a form needs to be tried.
const spare = 2

// idleMM is an error below which candidates are equally good: a thousandth
// of the depth of a short lens.
const idleMM = 0.001

// Given is what is known of heights besides.
type Given struct {
	// TurnMM above zero is after how far in y the surface repeats, as no form does.
	TurnMM float64
	// StepMM is the last decimal of the heights: nothing is known better than its
	// standard uncertainty, step/√12 (JCGM 100, F.2.2.1).
	StepMM float64
	// NoiseMM is the standard deviation of a touch, known by NoiseFree degrees of freedom;
	// 0 where it is not known.
	NoiseMM, NoiseFree float64
}

// Choose fits the method that is named, or with "auto" the one that
// cross-validation finds best. The points are nodes of grid, nil for scattered
// ones.
func Choose(points []surface.Point, grid *surface.Surface, method string, given Given) (*Choice, error) {
	names, err := toTry(points, method, given.TurnMM)
	if err != nil {
		return nil, err
	}
	c := &Choice{Given: given, floor: given.StepMM / math.Sqrt(12), forms: newForms(points)}
	bearing := sift.NewBearing(points)
	best := math.Inf(1)
	for _, name := range names {
		cand := crossValidate(c.forms, grid, name, method != "auto")
		if method == "auto" && cand.Why == "" {
			cand.Why = c.unborne(points, grid, name, bearing)
			cand.Unborne = cand.Why != ""
		}
		c.Candidates = append(c.Candidates, cand)
		if cand.Why == "" {
			best = min(best, cand.ErrorMM)
		}
	}
	// Below the noise of a touch, and below what anybody can use, being
	// better means nothing.
	limit := max(best*equallyGood(len(points)), idleMM)
	for k := range c.Candidates {
		cand := &c.Candidates[k]
		if c.Shape != nil || cand.Why != "" || !(cand.ErrorMM <= limit) {
			continue
		}
		if err := c.fit(points, grid, cand.Name); err != nil {
			cand.Why = err.Error()
			continue
		}
		c.ErrorMM, c.ErrorKnown = cand.ErrorMM, true
	}
	if c.Shape == nil {
		if err := c.unproved(points, grid, method); err != nil {
			return c, err
		}
	}
	c.know(points)
	return c, nil
}

// know settles how far the surface is known: as all accounts of the points have it. What
// a grid misses between its nodes, cross-validation sees with the scatter of a touch on
// top of it, and so says too much.
func (c *Choice) know(points []surface.Point) {
	c.spread = spreadOf(c.forms, c.Given, c.floor, c.penalty())
	if c.spread != nil {
		c.ErrorMM, c.ErrorKnown = c.spread.overHull(points, c.Shape.At), true
	}
	if c.ErrorKnown {
		c.ErrorMM = max(c.ErrorMM, c.floor)
	}
}

// unborneForm says why a form does not bear the points, "" where it does, and of what is no
// form.
func unborneForm(points []surface.Point, name string) string {
	if !form.Is(name) {
		return ""
	}
	return sift.NewBearing(points).Form(name)
}

// unborne says why a form does not bear the points, "" where it does. So is a smooth
// surface looked at that passes over them, where a form before it does not bear them
// either, and there is a grid that does, as grids do.
func (c *Choice) unborne(points []surface.Point, grid *surface.Surface, name string, bearing *sift.Bearing) string {
	switch {
	case form.Is(name):
		return bearing.Form(name)
	case name == "smooth" && grid != nil && len(points) <= smoothBorne && slices.ContainsFunc(c.Candidates, func(c Candidate) bool { return c.Unborne }):
		s, err := FitSmooth(points)
		if err != nil {
			return ""
		}
		off := make([]float64, len(points))
		for k, p := range points {
			off[k] = p.Z - s.At(p.X, p.Y)
		}
		return bearing.Surface(off, least.Scatter(off))
	}
	return ""
}

// toTry names the candidates, or says why there can be none.
func toTry(points []surface.Point, method string, turn float64) ([]string, error) {
	if len(points) < 3 {
		return nil, fmt.Errorf("%d usable points are too few for a surface; touch at three places or more that are not on a line", len(points))
	}
	if layout.OnLine(points) {
		return nil, fmt.Errorf("all %d points are on a line; touch some places beside it", len(points))
	}
	names := candidateOrder
	if turn > 0 {
		y := make([]float64, len(points))
		for k := range points {
			y[k] = points[k].Y
		}
		slices.Sort(y)
		if err := surface.GoesRound(y, turn); err != nil {
			return nil, err
		}
		names = []string{"bilinear", "bicubic", "smooth"}
	}
	if method == "auto" {
		return names, nil
	}
	if !slices.Contains(names, method) {
		return nil, fmt.Errorf("a surface that repeats cannot be a %s; use auto, bilinear, bicubic or smooth", method)
	}
	return []string{method}, nil
}

// unproved fits what was asked for, or else the simplest that the points settle.
func (c *Choice) unproved(points []surface.Point, grid *surface.Surface, method string) error {
	if method != "auto" {
		return c.fit(points, grid, method)
	}
	for _, name := range []string{"bilinear", "plane", "smooth"} {
		if c.fit(points, grid, name) == nil {
			return nil
		}
	}
	return least.ErrOpen
}

func (c *Choice) fit(points []surface.Point, grid *surface.Surface, name string) error {
	var shape Shape
	var round *form.Round
	var err error
	switch {
	case form.Is(name):
		grid = nil
		var f *form.Fitted
		if f, err = c.forms.closely(name); err == nil {
			shape, round = f, f.Round()
		}
	case name == "smooth":
		grid = nil
		if best := c.penalty(); best > 0 {
			shape, err = fitSmooth(points, best)
		} else {
			shape, err = FitSmooth(repeated(points, c.TurnMM))
		}
	case grid == nil:
		err = errNoGrid
	default:
		whole := closed(grid, points)
		if shape, err = interpolated(whole, name); err == nil && !holdsAll(whole, points) {
			err = errors.New("a touch has a hole around")
		}
	}
	if err == nil {
		c.Name, c.Shape, c.Round, c.Grid = name, shape, round, grid
	}
	return err
}

// penalty is that which serves the smooth surface best, 0 where it is not known yet.
func (c *Choice) penalty() float64 {
	for _, cand := range c.Candidates {
		if cand.Name == "smooth" && c.TurnMM == 0 {
			return cand.penalty
		}
	}
	return 0
}

// repeated adds the points of half a turn in y on either side.
func repeated(points []surface.Point, turn float64) []surface.Point {
	if turn == 0 {
		return points
	}
	lo, _ := layout.Box(points)
	out := slices.Clone(points)
	for _, p := range points {
		if p.Y < lo[1]+turn/2 {
			p.Y += turn
		} else {
			p.Y -= turn
		}
		out = append(out, p)
	}
	return out
}
