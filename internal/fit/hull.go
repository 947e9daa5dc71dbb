package fit

import (
	"slices"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/clip"

	"sagitta/internal/surface"
)

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
func (h hull) holds(x, y float64) bool {
	for k, a := range h {
		b := h[(k+1)%len(h)]
		dx, dy := b[0]-a[0], b[1]-a[1]
		if dx*(y-a[1])-dy*(x-a[0]) < -hullSlack*(dx*dx+dy*dy) {
			return false
		}
	}
	return true
}

// meets reports whether a rectangle and the hull have a place in common, or
// touch.
func (h hull) meets(x0, y0, x1, y1 float64) bool {
	rectangle := orb.Bound{Min: orb.Point{x0, y0}, Max: orb.Point{x1, y1}}
	closed := append(slices.Clone(h), h[0])
	return len(clip.Ring(rectangle, orb.Ring(closed))) > 0
}
