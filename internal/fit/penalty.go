package fit

import (
	"math"
	"slices"

	"sagitta/internal/fit/form"
	"sagitta/internal/fit/layout"
	"sagitta/internal/least"
	"sagitta/internal/surface"

	"gonum.org/v1/gonum/blas/blas64"
)

// penalties are tried in this order: from a surface through every point to
// one that is all but a plane.
var penalties = []float64{1e-8, 1e-6, 1e-4, 1e-3, 1e-2, 1e-1, 1, 10, 100, 1e3, 1e4, 1e5, 1e6}

// throughAll is the penalty of points too few to tell which serves: it goes through them.
const throughAll = 2

// largeN is where choosing the penalty takes to a part of the points and to
// wider cells: what serves there serves all.
const (
	largeN     = 300
	largeTried = 2000
	coarser    = 0.5
)

// FitSmooth fits a smooth surface through scattered points, three or more
// that are not on a line, with the penalty that cross-validation finds best.
func FitSmooth(points []surface.Point) (*Smooth, error) {
	if len(points) < 3 || layout.OnLine(points) {
		return nil, least.ErrOpen
	}
	return fitSmooth(points, choosePenalty(points))
}

func fitSmooth(points []surface.Point, penalty float64) (*Smooth, error) {
	s := newSmooth(points, 1)
	q := s.system(points)
	for ; penalty < 1e9; penalty *= 10 {
		if q.solve(penalty) {
			return s, nil
		}
	}
	return nil, least.ErrOpen
}

// choosePenalty takes the penalty by which the points are foretold best, each by all
// others.
func choosePenalty(points []surface.Point) float64 {
	finer := 1.0
	if len(points) > largeN {
		points = layout.Thin(points, largeTried)
		finer = coarser
	}
	best, most := penalties[throughAll], math.Inf(-1)
	t := newTrials(points, points, finer, 0)
	t.all()
	for _, t := range t.trials {
		if t.density > most {
			best, most = t.penalty, t.density
		}
	}
	return best
}

// trial is a smooth surface of one penalty, and how it foretells the points.
type trial struct {
	*Smooth
	penalty float64
	foretold
	inverse *inverse
}

// trials fit to points with penalties, and see how each of those heard is foretold.
type trials struct {
	q       *system
	heard   []surface.Point
	floor   float64
	h, miss []float64 // room
	trials  []trial
	over    *over // nil for none
}

// over is a form that smooth surfaces are laid over, which follow what the points leave of
// it: waves on a cylinder that it says nothing of itself, and that a smooth surface, which
// has the cylinder to follow as well, foretells badly.
type over struct {
	form, plane *form.Fitted
	part        float64   // of the variance that the points heard settle the form to
	right       []float64 // what all points leave of it
	left        []float64 // and those heard
	leaves      []float64 // what the form's leverage, beyond that of a plane, leaves of those
	trials      []trial

	at   [2]float64 // where beyond was asked for last: by one trial after the other
	last float64
}

// layOver has smooth surfaces laid over a form.
func (t *trials) layOver(points []surface.Point, f, plane *form.Fitted, part float64) {
	o := &over{form: f, plane: plane, part: part, left: f.Residuals(t.heard), at: [2]float64{math.NaN()}}
	o.right = t.q.towards(points, func(p surface.Point) float64 { return p.Z - f.Reach(p.X, p.Y) })
	for _, p := range t.heard {
		o.leaves = append(o.leaves, 1-o.beyond(p.X, p.Y)/max(1-plane.Leverage(p.X, p.Y), leastLeft))
	}
	t.over = o
}

// beyond is the variance of the height of the form at x, y beyond that of a plane, which
// the smooth surface over it has in it as well, for points of unit variance.
func (o *over) beyond(x, y float64) float64 {
	if at := [2]float64{x, y}; o.at != at {
		o.at, o.last = at, max(o.form.Leverage(x, y)-o.plane.Leverage(x, y), 0)
	}
	return o.last
}

// leverage is the variance of the height at x, y of a smooth surface over the form: as far
// as that follows the points, what the form is there does not matter.
func (o *over) leverage(t trial, x, y float64) float64 {
	s := t.inverse.at(x, y)
	return s + o.part*o.beyond(x, y)*max(1-s, 0)
}

func newTrials(points, heard []surface.Point, finer, floor float64) *trials {
	n := len(heard)
	return &trials{q: newSmooth(points, finer).system(points), heard: heard, floor: floor, h: make([]float64, n), miss: make([]float64, n)}
}

// all tries all penalties.
func (t *trials) all() {
	for _, penalty := range penalties {
		t.try(penalty)
	}
}

// around tries the penalty that is said to be best and those on either side of it, until
// they foretell worse than the best by more than a mean logarithm of the density: of many
// points hardly two penalties count. What that costs in truth: a penalty far away is
// never heard that foretells better than those between, of which none was seen.
func (t *trials) around(best, worse float64) {
	at := slices.Index(penalties, best)
	most, ok := t.try(best)
	for _, step := range []int{-1, 1} {
		for k := at + step; k >= 0 && k < len(penalties); k += step {
			density, tried := t.try(penalties[k])
			if ok && tried && density < most-worse {
				break
			}
			if tried {
				most, ok = max(most, density), true
			}
		}
	}
}

// try tries a penalty, and gives the density of the points.
func (t *trials) try(penalty float64) (density float64, ok bool) {
	factor, ok := t.q.factor(penalty)
	if !ok {
		return 0, false
	}
	c, ok := t.q.solveBy(factor, t.q.right)
	if !ok {
		return 0, false
	}
	s, z := t.q.s.by(c, t.q.s.mean), t.q.invert(factor)
	for k, p := range t.heard {
		t.h[k], t.miss[k] = z.at(p.X, p.Y), p.Z-s.At(p.X, p.Y)
	}
	free := freeOfHat(len(t.heard), form.Parameters("plane"), t.hat(factor))
	told, ok := foretelling(t.miss, t.h, free, t.floor)
	if ok {
		t.trials = append(t.trials, trial{s, penalty, told, z})
	}
	density = told.density
	if t.over != nil {
		density = max(density, t.tryOver(factor, penalty, z, free))
	}
	return density, ok
}

// hat is how much one of few points moves the surface at another, nil of many.
func (t *trials) hat(factor blas64.TriangularBand) func(i, j int) float64 {
	if len(t.heard) > fewPoints {
		return nil
	}
	by := make([]*Smooth, len(t.heard))
	for j := range by {
		right := t.q.towards(t.heard[j:j+1], func(surface.Point) float64 { return 1 })
		c, _ := t.q.solveBy(factor, right)
		by[j] = t.q.s.by(c, 0)
	}
	return func(i, j int) float64 { return by[j].At(t.heard[i].X, t.heard[i].Y) }
}

// tryOver tries a penalty over the form, and gives the density of the points.
func (t *trials) tryOver(factor blas64.TriangularBand, penalty float64, z *inverse, free float64) float64 {
	o := t.over
	c, ok := t.q.solveBy(factor, o.right)
	if !ok {
		return math.Inf(-1)
	}
	s := t.q.s.by(c, 0)
	for k, p := range t.heard {
		t.miss[k] = o.left[k] - s.At(p.X, p.Y)
		t.h[k] = 1 - (1-t.h[k])*o.leaves[k]
	}
	free -= float64(o.form.Parameters() - o.plane.Parameters())
	told, ok := foretelling(t.miss, t.h, free, t.floor)
	if !ok {
		return math.Inf(-1)
	}
	o.trials = append(o.trials, trial{s, penalty, told, z})
	return told.density
}
