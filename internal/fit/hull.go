package fit

import (
	"cmp"
	"slices"

	"sagitta/internal/surface"
)

// hull is the convex hull of points, counter-clockwise.
type hull struct{ corner [][2]float64 }

func newHull(points []surface.Point) *hull {
	h := &hull{}
	for _, k := range hullIndex(points) {
		h.corner = append(h.corner, [2]float64{points[k].X, points[k].Y})
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
func (h *hull) holds(x, y float64) bool {
	for k, a := range h.corner {
		b := h.corner[(k+1)%len(h.corner)]
		dx, dy := b[0]-a[0], b[1]-a[1]
		if dx*(y-a[1])-dy*(x-a[0]) < -hullSlack*(dx*dx+dy*dy) {
			return false
		}
	}
	return true
}

// meets reports whether a rectangle and the hull have a place in common, or
// touch. Two convex figures are apart only if a side of one of them has the
// other wholly beyond it.
func (h *hull) meets(x0, y0, x1, y1 float64) bool {
	left, right, below, above := true, true, true, true
	for k, a := range h.corner {
		left, right = left && a[0] < x0, right && a[0] > x1
		below, above = below && a[1] < y0, above && a[1] > y1
		b := h.corner[(k+1)%len(h.corner)]
		dx, dy := b[0]-a[0], b[1]-a[1]
		// The corner of the rectangle that is furthest inside.
		x, y := x0, y0
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
	return !left && !right && !below && !above
}
