package layout

import (
	"math"
	"slices"

	"github.com/paulmach/orb"

	"sagitta/internal/surface"
)

// Hull is the convex hull of points, counter-clockwise.
type Hull orb.Ring

// NewHull finds the corners by the monotone chain (A. M. Andrew, Information
// Processing Letters 9 (1979) 216).
func NewHull(points []surface.Point) Hull {
	places := outer(points)
	if len(places) < 2 {
		return places
	}
	slices.SortFunc(places, func(a, b orb.Point) int { return slices.Compare(a[:], b[:]) })
	chain := func() (c Hull) {
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

// left reports whether c is to the left of the way from a to b.
func left(a, b, c orb.Point) bool { return (b[0]-a[0])*(c[1]-a[1])-(b[1]-a[1])*(c[0]-a[0]) > 0 }

// outer are the places of points but for those inside the octagon of the outermost ones,
// which are no corners of the hull (S. Akl and G. Toussaint, Information Processing
// Letters 7 (1978) 219).
func outer(points []surface.Point) (places Hull) {
	ways := [...][2]float64{{1, 0}, {1, 1}, {0, 1}, {-1, 1}, {-1, 0}, {-1, -1}, {0, -1}, {1, -1}}
	var most [len(ways)]orb.Point
	for w, d := range ways {
		best := math.Inf(-1)
		for _, p := range points {
			if far := d[0]*p.X + d[1]*p.Y; far > best {
				best, most[w] = far, orb.Point{p.X, p.Y}
			}
		}
	}
	for _, p := range points {
		place, inside, sides := orb.Point{p.X, p.Y}, true, 0
		for w, a := range most {
			if b := most[(w+1)%len(most)]; a != b {
				inside = inside && left(a, b, place)
				sides++
			}
		}
		if !inside || sides == 0 {
			places = append(places, place)
		}
	}
	return places
}

// hullSlack is how far outside its border a place still is in the hull, as a
// part of the border's length: the rounding of places.
const hullSlack = 1e-9

// Holds reports whether x, y is in the hull or on its border.
func (h Hull) Holds(x, y float64) bool { return h.Inside(x, y, -hullSlack) }

// Inside reports whether x, y is inside all sides of the hull by a part of their
// length.
func (h Hull) Inside(x, y, part float64) bool {
	for k, a := range h {
		b := h[(k+1)%len(h)]
		dx, dy := b[0]-a[0], b[1]-a[1]
		if dx*(y-a[1])-dy*(x-a[0]) < part*(dx*dx+dy*dy) {
			return false
		}
	}
	return true
}

// Meets reports whether a rectangle and the hull have a place in common, or touch: two
// convex figures do where no side of either has all of the other beyond it.
func (h Hull) Meets(x0, y0, x1, y1 float64) bool {
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
	ring := orb.Ring(NewHull(points))
	return append(ring, ring[0])
}
