package fit

import (
	"cmp"
	"slices"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/clip"

	"sagitta/internal/surface"
)

// hull is the convex hull of points, counter-clockwise.
type hull orb.Ring

func newHull(points []surface.Point) (h hull) {
	for _, k := range hullIndex(points) {
		h = append(h, orb.Point{points[k].X, points[k].Y})
	}
	return h
}

// hullIndex finds the corners by the monotone chain (A. M. Andrew,
// Information Processing Letters 9 (1979) 216).
func hullIndex(points []surface.Point) []int {
	order := make([]int, len(points))
	for k := range order {
		order[k] = k
	}
	slices.SortFunc(order, func(a, b int) int {
		return cmp.Or(cmp.Compare(points[a].X, points[b].X), cmp.Compare(points[a].Y, points[b].Y))
	})
	left := func(a, b, c int) bool {
		p, q, r := &points[a], &points[b], &points[c]
		return (q.X-p.X)*(r.Y-p.Y)-(q.Y-p.Y)*(r.X-p.X) > 0
	}
	chain := func(order []int) (c []int) {
		for _, k := range order {
			for len(c) > 1 && !left(c[len(c)-2], c[len(c)-1], k) {
				c = c[:len(c)-1]
			}
			c = append(c, k)
		}
		return c[:len(c)-1]
	}
	if len(order) < 2 {
		return order
	}
	lower := chain(order)
	slices.Reverse(order)
	return append(lower, chain(order)...)
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
