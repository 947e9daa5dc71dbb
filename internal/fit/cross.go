package fit

import (
	"errors"
	"math"
	"slices"

	"sagitta/internal/fit/form"
	"sagitta/internal/fit/layout"
	"sagitta/internal/least"
	"sagitta/internal/surface"
)

const (
	// leastSplit is the least number of points of which half and then three
	// quarters can be left out.
	leastSplit = 24
	// The orders with which errors fall as the spacing does, at most: four for
	// cubics, two for bilinear, and two for the smooth surface, whose sides end
	// without bending (C. de Boor, A Practical Guide to Splines).
	cubicOrder, linearOrder = 4., 2.
)

// crossValidate tells how far a candidate is off. Of a form each point is left
// out in turn (S. Geisser, JASA 70 (1975) 320), and the error is that of predicting it. Of interpolations and the smooth surface, which are the better
// the closer the points, how the error grows with the spacing of fewer points
// tells what it is with all (see atSpacing).
func crossValidate(forms *forms, grid *surface.Surface, name string, wanted bool) Candidate {
	points := forms.points
	var levels []spacingError
	var err error
	order, known, penalty := linearOrder, 0.0, 0.0
	switch {
	case form.Is(name):
		levels, err = forms.error(name, wanted)
	case name == "smooth":
		levels, penalty, err = smoothErrors(points)
	case grid == nil:
		err = errNoGrid
	case name == "bicubic":
		order = cubicOrder
		levels, known, err = bicubicErrors(closed(grid, points))
	default:
		levels, err = gridErrors(grid, name)
	}
	c := Candidate{Name: name, penalty: penalty}
	if err == nil {
		square, _ := atSpacing(levels, order, known)
		c.ErrorMM, c.RawMM = math.Sqrt(square), math.Sqrt(levels[0].square)
		if math.IsInf(c.ErrorMM, 0) || math.IsNaN(c.ErrorMM) {
			err = errors.New("it does not converge")
		}
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

// error leaves out each point in turn: without it a form misses that by its residual
// over what its leverage leaves (R. Cook and S. Weisberg, Residuals and Influence in
// Regression, 1982).
func (f *forms) error(name string, wanted bool) ([]spacingError, error) {
	if len(f.points) < max(form.Parameters(name)+spare, 4) {
		return nil, errFew
	}
	whole, err := f.fit(name)
	switch {
	case err != nil:
		return nil, err
	case !whole.Settled():
		return nil, least.ErrOpen
	case !wanted && !whole.Sensible():
		return nil, errors.New("the points are too flat for one")
	}
	var m misses
	for k, r := range whole.Residuals(f.heard) {
		r /= max(1-whole.Leverage(f.heard[k].X, f.heard[k].Y), leastLeft)
		m.squares += r * r
		m.n++
	}
	return m.alone(len(f.heard) / 2)
}

// bicubicErrors gives those of bicubic reading, and their order where it is known.
func bicubicErrors(g *surface.Surface) (levels []spacingError, known float64, err error) {
	if g.Missing() > 0 {
		return nil, 0, errors.New("heights are missing at the rim")
	}
	if levels, err = gridErrors(g, "bicubic"); err != nil {
		return nil, 0, err
	}
	// A surface too rough for the order of bilinear reading is so for bicubic
	// as well, whose overshoot at wide spacings would promise more.
	if flat, err := gridErrors(g, "bilinear"); err == nil {
		if _, p := atSpacing(flat, linearOrder, 0); p > 0 && p < linearOrder-powerStep {
			known = p
		}
	}
	return levels, known, nil
}

// gridErrors reads the grid from every second, third, fourth and eighth node.
func gridErrors(g *surface.Surface, method string) ([]spacingError, error) {
	return atWider([]int{2, 3, 4, 8}, func(step int) (spacingError, error) {
		m, err := leaveOut(g, step, method)
		return spacingError{float64(step), m.mean()}, err
	})
}

// smoothErrors leaves each of few points out in turn. Of more it fits a half, a
// third and a quarter. It gives the penalty that serves all points as well, 0 where it
// was not looked for.
func smoothErrors(points []surface.Point) (levels []spacingError, penalty float64, err error) {
	if n := len(points); n < leastSplit {
		penalty = choosePenalty(points)
		m, err := smoothMisses(points, n, penalty, func(k, turn int) bool { return k != turn })
		if err != nil {
			return nil, 0, err
		}
		levels, err = m.alone(2)
		return levels, penalty, err
	}
	many := len(points) > largeN
	if many {
		// The penalty that serves many points serves a part of them.
		penalty = choosePenalty(points)
	}
	levels, err = atWider([]int{2, 3, 4}, func(parts int) (spacingError, error) {
		turns := parts
		if many {
			turns = 1 // one part of many points tells
		}
		m, err := smoothMisses(points, turns, penalty, func(k, turn int) bool { return layout.Fold(k, parts) == turn })
		if m.n == 0 {
			err = least.ErrOpen
		}
		// Of every n-th point the spacing is wider by √n.
		return spacingError{math.Sqrt(float64(parts)), m.mean()}, err
	})
	return levels, penalty, err
}

// smoothMisses fits, in each turn, the points that are in, with a penalty, or the
// one that serves them best where it is 0; and sums up by how much it misses those
// of the others that are within their hull: beyond that nothing is claimed.
func smoothMisses(points []surface.Point, turns int, penalty float64, in func(k, turn int) bool) (m misses, err error) {
	for t := range turns {
		fitted, out := layout.Part(points, func(k int) bool { return in(k, t) })
		h := layout.NewHull(fitted)
		out = slices.DeleteFunc(out, func(p surface.Point) bool { return !h.Holds(p.X, p.Y) })
		switch {
		case len(out) == 0:
			continue
		case layout.OnLine(fitted):
			return m, least.ErrOpen
		}
		best := penalty
		if best == 0 {
			best = choosePenalty(fitted)
		}
		s, err := fitSmooth(fitted, best)
		if err != nil {
			return m, err
		}
		m.add(s.At, out)
	}
	return m, nil
}

// atWider gathers errors, of which the first must be known.
func atWider(steps []int, at func(step int) (spacingError, error)) (levels []spacingError, err error) {
	for k, step := range steps {
		switch l, err := at(step); {
		case err == nil:
			levels = append(levels, l)
		case k == 0:
			return nil, err
		}
	}
	return levels, nil
}

// misses sums up how far heights that were predicted are off points.
type misses struct {
	squares float64
	n       int
	most    float64 // the greatest, of leaveOut alone
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

// alone is an error that no spacing changes, of predictions of which there must
// be enough.
func (m *misses) alone(enough int) ([]spacingError, error) {
	if m.n < enough {
		return nil, errFew
	}
	return []spacingError{{1, m.mean()}}, nil
}
