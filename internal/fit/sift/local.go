package sift

import (
	"math"

	"sagitta/internal/fit/form"
	"sagitta/internal/fit/layout"
	"sagitta/internal/least"
	"sagitta/internal/nearby"
	"sagitta/internal/surface"
	"sagitta/internal/touch"
)

const (
	// localCount is how many neighbours a height is predicted from: enough for a
	// quadric and something to spare.
	localCount = 16
	// localQuadric is the least number of neighbours that a quadric is laid
	// through; fewer give a plane, and fewer than localLeast nothing.
	localQuadric = 8
	localLeast   = 4
	// localRidge keeps terms out that the neighbours do not settle, such as
	// slopes across a single line of touches.
	localRidge = 1e-7
	// trimmedQuadric is the least number of neighbours of which the better half
	// settles a quadric, and trimmedPlane a plane; trimmedStarts find it where up
	// to a third is bad.
	trimmedQuadric, trimmedPlane = 18, 8
	trimmedStarts                = 30
)

// local predicts heights from the points around.
type local struct {
	*nearby.Places
	points []surface.Point
	gone   []bool // points that are left out

	plane, quadric *least.Normal
	planes         *least.Trimmer
	quadrics       *least.Trimmer
	found          []int32
}

func newLocal(points []surface.Point) *local {
	return &local{Places: placesOf(points), points: points, gone: make([]bool, len(points)), plane: least.NewNormal(3), quadric: least.NewNormal(6),
		planes: least.NewTrimmer(3), quadrics: least.NewTrimmer(6)}
}

// placesOf knows what is around points, by their spacing along each axis.
func placesOf(points []surface.Point) *nearby.Places {
	perX, perY := layout.PerSpacing(points, touch.SamePlaceMM)
	at := make([][2]float64, len(points))
	for k := range points {
		at[k] = [2]float64{points[k].X * perX, points[k].Y * perY}
	}
	return nearby.New(at)
}

// around returns up to count of the points nearest to point k, nearest first, but for k
// itself, those that are gone and the point other (-1 for none). It holds until the
// next call.
func (l *local) around(k, other, count int) []int32 {
	l.found = l.found[:0]
	for _, m := range l.Nearest(k) {
		if len(l.found) == count {
			break
		}
		if int(m) != other && !l.gone[m] {
			l.found = append(l.found, m)
		}
	}
	return l.found
}

// rows are neighbours about a point, in units of the furthest.
type rows struct {
	row [nearby.Count][6]float64
	h   [nearby.Count]float64
	n   int
}

func (l *local) rows(k int, found []int32) (r rows, ok bool) {
	if len(found) == 0 {
		return r, false
	}
	here, scale := l.At(k), math.Sqrt(l.Apart(k, int(found[len(found)-1])))
	if scale == 0 {
		return r, false
	}
	for m, f := range found {
		at := l.At(int(f))
		r.row[m] = form.Quadratic((at[0]-here[0])/scale, (at[1]-here[1])/scale)
		r.h[m] = l.points[f].Z - l.points[k].Z
	}
	r.n = len(found)
	return r, true
}

// predict returns the height that the points around point k lead to, but for
// those that around leaves out, and how much wider than one height's a residual
// scatters there: the square root of one and the prediction's variance factor. ok
// is false with too few points.
func (l *local) predict(k, other int) (z, wide float64, ok bool) {
	found := l.around(k, other, localCount)
	if len(found) < localLeast {
		return 0, 0, false
	}
	r, ok := l.rows(k, found)
	if !ok {
		return 0, 0, false
	}
	n, terms, eq := r.n, 3, l.plane
	if n >= localQuadric {
		terms, eq = 6, l.quadric
	}
	var c, g [6]float64
	var w, d [localCount]float64
	for m := range n {
		w[m] = 1
	}
	fitted := func(m int, c *[6]float64) (sum float64) {
		for j := range terms {
			sum += c[j] * r.row[m][j]
		}
		return sum
	}
	// Twice, neighbours that are far off the others count less.
	for round := 0; ; round++ {
		eq.Clear()
		for m := range n {
			eq.Add(w[m], r.h[m], r.row[m][:])
		}
		eq.Keep(localRidge)
		if !eq.Solve(c[:terms]) {
			return 0, 0, false
		}
		if round == 2 {
			break
		}
		for m := range n {
			d[m] = r.h[m] - fitted(m, &c)
		}
		// Some of the scatter of heights went into the terms.
		sd := max(least.Scatter(d[:n]), 1e-12) * math.Sqrt(float64(n)/float64(n-terms))
		least.Tukey(w[:n], d[:n], sd)
	}
	// The prediction is g·b with A g = e0; its variance factor for
	// equal scatter of all heights is the sum of its weights squared.
	g[0] = 1
	eq.Back(g[:terms])
	sum := 1.0
	for m := range n {
		e := w[m] * fitted(m, &g)
		sum += e * e
	}
	return l.points[k].Z + c[0], math.Sqrt(sum), true
}

// Foretell gives the height that the points around one lead to, but for those that are
// gone; ok is false where they are too few.
func Foretell(points []surface.Point, gone []bool) func(k int) (z float64, ok bool) {
	l := newLocal(points)
	l.gone = gone
	return func(k int) (z float64, ok bool) {
		z, _, ok = l.predict(k, -1)
		return z, ok
	}
}

// agreed predicts point k by what the better half of those around it agree on, with
// their scatter about it; a third of them may be bad.
func (l *local) agreed(k int) (z, wide, scatter float64, ok bool) {
	found := l.around(k, -1, nearby.Count)
	r, ok := l.rows(k, found)
	t := l.quadrics
	switch {
	case !ok || r.n < trimmedPlane:
		return 0, 0, 0, false
	case r.n < trimmedQuadric:
		t = l.planes
	}
	t.Clear()
	for m := range r.n {
		t.Add(r.h[m], r.row[m][:]...)
	}
	s, err := t.Fit(trimmedStarts)
	if err != nil {
		return 0, 0, 0, false
	}
	return l.points[k].Z + s.Beta[0], math.Sqrt(1 + s.Unit.At(0, 0)), s.Scatter, true
}

// rimPart is how deep in the hull of its neighbours a point is that has some on
// every side, as a part of each side's length.
const rimPart = 1e-3 / 4

// rim reports whether all neighbours of point k are on one side of it.
func (l *local) rim(k int, around []int32) bool {
	neighbours := make([]surface.Point, 0, nearby.Count)
	for _, m := range around {
		neighbours = append(neighbours, l.points[m])
	}
	h := layout.NewHull(neighbours)
	return len(h) < 3 || !h.Inside(l.points[k].X, l.points[k].Y, rimPart)
}
