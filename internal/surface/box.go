package surface

import (
	"math"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"
)

// Box is something that stands on the bench higher than the stock, such as a
// clamp: an upright box over the rectangle from X0, Y0 to X1, Y1 (program XY,
// mm; X0 < X1, Y0 < Y1), up to Height over the datum, in mm.
type Box struct{ X0, Y0, X1, Y1, Height float64 }

// Within reports whether the box is within r mm of the rectangle.
func (b *Box) Within(x0, y0, x1, y1, r float64) bool {
	dx, dy := max(b.X0-x1, x0-b.X1, 0), max(b.Y0-y1, y0-b.Y1, 0)
	return dx*dx+dy*dy <= r*r
}

// distance is from the box to the straight stretch from ax, ay to bx, by.
func (b *Box) distance(ax, ay, bx, by float64) float64 {
	if b.meets(ax, ay, bx, by) {
		return 0
	}
	// Apart, two convex shapes are nearest at a corner of one of them.
	d := min(b.from(ax, ay), b.from(bx, by))
	for _, c := range [4]orb.Point{{b.X0, b.Y0}, {b.X1, b.Y0}, {b.X0, b.Y1}, {b.X1, b.Y1}} {
		d = min(d, planar.DistanceFromSegment(orb.Point{ax, ay}, orb.Point{bx, by}, c))
	}
	return d
}

// from is the distance of a point.
func (b *Box) from(x, y float64) float64 {
	return math.Hypot(max(b.X0-x, x-b.X1, 0), max(b.Y0-y, y-b.Y1, 0))
}

// meets reports whether the stretch passes through the box: the parts of it
// between the box's sides overlap.
func (b *Box) meets(ax, ay, bx, by float64) bool {
	lo, hi := 0.0, 1.0
	for _, k := range [2][4]float64{{ax, bx, b.X0, b.X1}, {ay, by, b.Y0, b.Y1}} {
		from, d := k[0], k[1]-k[0]
		if d == 0 {
			if from < k[2] || from > k[3] {
				return false
			}
			continue
		}
		s, t := (k[2]-from)/d, (k[3]-from)/d
		lo, hi = max(lo, min(s, t)), min(hi, max(s, t))
	}
	return lo <= hi
}
