package fit

import (
	"math"
	"slices"

	"github.com/paulmach/orb"

	"sagitta/internal/surface"
)

// foldOf spreads points over folds: evenly, but out of step with rows, by
// multiplying with the golden ratio (D. Knuth, TAOCP 3, 6.4).
func foldOf(k, folds int) int {
	if folds <= 1 {
		return 0
	}
	return int((uint64(k) * 11400714819323198485 >> 33) % uint64(folds))
}

// thinOut takes about n of the points, from all over.
func thinOut(points []surface.Point, n int) []surface.Point {
	parts := (len(points) + n - 1) / n
	thin, _ := parted(points, func(k int) bool { return foldOf(k, parts) == 0 })
	return thin
}

// parted parts points, or what was left out of them, into those that are kept and the
// others.
func parted[T any](points []T, kept func(k int) bool) (in, out []T) {
	for k, p := range points {
		if kept(k) {
			in = append(in, p)
		} else {
			out = append(out, p)
		}
	}
	return in, out
}

// linePart is the part of its length that a line is wide at most: a surface
// of 300 mm by 0.15 mm says nothing of the slope across.
const linePart = 5e-4

// onLine reports whether points are on one line.
func onLine(points []surface.Point) bool {
	if len(points) < 3 {
		return true
	}
	from := func(k int) (x, y float64) { return points[k].X - points[0].X, points[k].Y - points[0].Y }
	var ux, uy float64 // to the point furthest from the first
	for k := range points {
		if x, y := from(k); x*x+y*y > ux*ux+uy*uy {
			ux, uy = x, y
		}
	}
	for k := range points {
		if x, y := from(k); math.Abs(ux*y-uy*x) > linePart*(ux*ux+uy*uy) {
			return false
		}
	}
	return true
}

// box gives the corners of the rectangle around points.
func box(points []surface.Point) (lo, hi [2]float64) {
	lo, hi = [2]float64{math.Inf(1), math.Inf(1)}, [2]float64{math.Inf(-1), math.Inf(-1)}
	for k := range points {
		lo[0], hi[0] = min(lo[0], points[k].X), max(hi[0], points[k].X)
		lo[1], hi[1] = min(lo[1], points[k].Y), max(hi[1], points[k].Y)
	}
	return lo, hi
}

// hull is the convex hull of points, counter-clockwise.
type hull orb.Ring

// newHull finds the corners by the monotone chain (A. M. Andrew, Information
// Processing Letters 9 (1979) 216).
func newHull(points []surface.Point) hull {
	places := make(hull, len(points))
	for k, p := range points {
		places[k] = orb.Point{p.X, p.Y}
	}
	if len(places) < 2 {
		return places
	}
	slices.SortFunc(places, func(a, b orb.Point) int { return slices.Compare(a[:], b[:]) })
	left := func(a, b, c orb.Point) bool { return (b[0]-a[0])*(c[1]-a[1])-(b[1]-a[1])*(c[0]-a[0]) > 0 }
	chain := func() (c hull) {
		for _, p := range places {
			for len(c) > 1 && !left(c[len(c)-2], c[len(c)-1], p) {
				c = c[:len(c)-1]
			}
			c = append(c, p)
		}
		return c[:len(c)-1]
	}
	lower := chain()
	slices.Reverse(places)
	return append(lower, chain()...)
}

// hullSlack is how far outside its border a place still is in the hull, as a
// part of the border's length: the rounding of places.
const hullSlack = 1e-9

// holds reports whether x, y is in the hull or on its border.
func (h hull) holds(x, y float64) bool { return h.inside(x, y, -hullSlack) }

// inside reports whether x, y is inside all sides of the hull by a part of their
// length.
func (h hull) inside(x, y, part float64) bool {
	for k, a := range h {
		b := h[(k+1)%len(h)]
		dx, dy := b[0]-a[0], b[1]-a[1]
		if dx*(y-a[1])-dy*(x-a[0]) < part*(dx*dx+dy*dy) {
			return false
		}
	}
	return true
}

// meets reports whether a rectangle and the hull have a place in common, or touch: two
// convex figures do where no side of either has all of the other beyond it.
func (h hull) meets(x0, y0, x1, y1 float64) bool {
	lo, hi := h[0], h[0]
	for k, a := range h {
		lo[0], lo[1], hi[0], hi[1] = min(lo[0], a[0]), min(lo[1], a[1]), max(hi[0], a[0]), max(hi[1], a[1])
		b := h[(k+1)%len(h)]
		dx, dy := b[0]-a[0], b[1]-a[1]
		x, y := x0, y0 // the corner furthest inside
		if dy < 0 {
			x = x1
		}
		if dx > 0 {
			y = y1
		}
		if dx*(y-a[1])-dy*(x-a[0]) < -hullSlack*(dx*dx+dy*dy) {
			return false
		}
	}
	return x0 <= hi[0] && x1 >= lo[0] && y0 <= hi[1] && y1 >= lo[1]
}

// Around is the convex outline of what lines lead through, closed; nil without any.
func Around(lines orb.MultiLineString) orb.Ring {
	var points []surface.Point
	for _, line := range lines {
		for _, q := range line {
			points = append(points, surface.Point{X: q[0], Y: q[1]})
		}
	}
	if len(points) == 0 {
		return nil
	}
	ring := orb.Ring(newHull(points))
	return append(ring, ring[0])
}
