package fit

import (
	"fmt"
	"math"
	"slices"

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
	// Why says why the candidate could not be tried; "" otherwise.
	Why string
}

// Choice is the surface that was chosen, and what spoke for it.
type Choice struct {
	Name       string
	Shape      Shape
	Fitted     *Fitted // of a form, nil otherwise
	Grid       *Grid   // of bilinear and bicubic, nil otherwise
	ErrorMM    float64 // of the choice; 0 where it cannot be known
	ErrorKnown bool
	Candidates []Candidate

	turn float64
}

// order of candidates, from the simplest on. Of candidates that are equally
// good, the first is taken.
var candidateOrder = []string{"plane", "cylinder", "sphere", "cone", "bilinear", "bicubic", "smooth"}

// equallyGood is how much larger the error of a simpler candidate may be. An
// error seen at n points is itself known to about 1/√(2n) (as the standard
// deviation of a normal distribution); two are compared.
func equallyGood(n int) float64 { return 1 + 1/math.Sqrt(float64(n)) }

// formPoints are enough for a form: more make its parameters no better than
// the touches' own systematic errors.
const formPoints = 20000

// spare is how many points more than parameters a form needs to be tried.
const spare = 2

// Choose fits the method that is named, or with "auto" the one that
// cross-validation finds best. grid is the grid that the points are nodes
// of, nil for scattered points; noise the standard deviation of a touch, 0
// where it is not known. With turn above zero the surface repeats after that
// distance in y: forms do not, and are not tried.
// step is the last decimal of the heights: nothing is known better than its
// standard uncertainty, step/√12 (JCGM 100, F.2.2.1).
func Choose(points []Point, grid *Grid, method string, noise, turn, step float64) (*Choice, error) {
	if len(points) < 3 {
		return nil, fmt.Errorf("%d usable points are too few for a surface; touch at three places or more that are not on a line", len(points))
	}
	if onLine(points) {
		return nil, fmt.Errorf("all %d points are on a line; touch some places beside it", len(points))
	}
	if turn > 0 {
		y := make([]float64, len(points))
		for k := range points {
			y[k] = points[k].Y
		}
		slices.Sort(y)
		if err := surface.GoesRound(y, turn); err != nil {
			return nil, err
		}
	}
	c := &Choice{turn: turn}
	names := candidateOrder
	if turn > 0 {
		names = []string{"bilinear", "bicubic", "smooth"}
	}
	if method != "auto" {
		if !slices.Contains(names, method) {
			return nil, fmt.Errorf("a surface that repeats cannot be a %s; use auto, bilinear, bicubic or smooth", method)
		}
		names = []string{method}
	}
	best := math.Inf(1)
	for _, name := range names {
		cand := crossValidate(points, grid, name, method != "auto")
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
		if c.Name != "" || cand.Why != "" || !(cand.ErrorMM <= limit) {
			continue
		}
		if err := c.fit(points, grid, cand.Name); err != nil {
			cand.Why = err.Error()
			continue
		}
		c.ErrorMM, c.ErrorKnown = cand.ErrorMM, true
	}
	if c.Name == "" {
		if err := c.none(points, grid, method); err != nil {
			return nil, err
		}
		return c, nil
	}
	if c.ErrorKnown && noise > 0 {
		// What cross-validation sees holds the noise of the touches left
		// out, which is budgeted on its own.
		c.ErrorMM = math.Sqrt(max(c.ErrorMM*c.ErrorMM-noise*noise, 0))
	}
	c.ErrorMM = max(c.ErrorMM, step/math.Sqrt(12))
	return c, nil
}

// idleMM is an error below which candidates are equally good: a thousandth
// of the depth of a short lens.
const idleMM = 0.001

// none fits what was asked for although its error cannot be known, or else
// the simplest that the points settle.
func (c *Choice) none(points []Point, grid *Grid, method string) error {
	if method != "auto" {
		return c.fit(points, grid, method)
	}
	for _, name := range []string{"bilinear", "plane", "smooth"} {
		if name == "bilinear" && grid == nil {
			continue
		}
		if c.fit(points, grid, name) == nil {
			return nil
		}
	}
	return least.ErrOpen
}

func (c *Choice) fit(points []Point, grid *Grid, name string) error {
	switch name {
	case "bilinear", "bicubic":
		if grid == nil {
			return fmt.Errorf("the points are on no grid")
		}
		s, err := grid.closed(points).shape(name)
		if err != nil {
			return err
		}
		c.Shape, c.Grid = s, grid
	case "smooth":
		s, err := FitSmooth(repeated(points, c.turn))
		if err != nil {
			return err
		}
		c.Shape = s
	default:
		f, err := FitForm(name, thinOut(points, formPoints))
		if err != nil {
			return err
		}
		c.Shape, c.Fitted = f, f
	}
	c.Name = name
	return nil
}

// repeated adds the points of half a turn on either side, for a surface that
// repeats in y.
func repeated(points []Point, turn float64) []Point {
	if turn == 0 {
		return points
	}
	lo, _ := box(points)
	out := slices.Clone(points)
	for _, p := range points {
		q := p
		if p.Y < lo[1]+turn/2 {
			q.Y += turn
		} else {
			q.Y -= turn
		}
		out = append(out, q)
	}
	return out
}
