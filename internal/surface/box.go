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

// mostTurns bounds the turns of a surface that repeats on which a box is looked at:
// past it the box counts as if it were everywhere.
const mostTurns = 64

// turnsBy gives the first and the last turn on which a box may stand within r mm of
// a rectangle: on a surface that repeats it stands on every turn.
func (b *Box) turnsBy(p *Placed, x0, y0, x1, y1, r float64) (first, last float64) {
	// How far along the turns both reach, in turns; that leads along the surface's y.
	x, y := -p.sin/p.turn, p.cos/p.turn
	along := func(x0, y0, x1, y1 float64) (from, to float64) {
		return min(x*x0, x*x1) + min(y*y0, y*y1), max(x*x0, x*x1) + max(y*y0, y*y1)
	}
	from, to := along(x0, y0, x1, y1)
	own, end := along(b.X0, b.Y0, b.X1, b.Y1)
	r = (r + PlaceToleranceMM) / p.turn
	return math.Ceil(from - r - end), math.Floor(to + r - own)
}

// turned is the box as it stands so many turns on.
func (b *Box) turned(p *Placed, turns float64) Box {
	dx, dy := -p.sin*p.turn*turns, p.cos*p.turn*turns
	return Box{b.X0 + dx, b.Y0 + dy, b.X1 + dx, b.Y1 + dy, b.Height}
}

// Stands reports whether the box may stand within r mm of a rectangle over a placed
// surface, on whatever turn of one that repeats.
func (b *Box) Stands(p *Placed, x0, y0, x1, y1, r float64) bool {
	if p.turn == 0 {
		return b.Within(x0, y0, x1, y1, r)
	}
	first, last := b.turnsBy(p, x0, y0, x1, y1, r)
	if last-first > mostTurns {
		return true
	}
	for k := first; k <= last; k++ {
		if c := b.turned(p, k); c.Within(x0, y0, x1, y1, r) {
			return true
		}
	}
	return false
}

// span is a straight stretch from ax, ay to bx, by in program XY, the rectangle about it,
// and the radius that counts; reach is that and by how much a move leaves the stretch.
type span struct{ ax, ay, bx, by, x0, y0, x1, y1, r, reach float64 }

// beside reports whether the box may be within the reach of a stretch, on whatever turn,
// and whether it is within the radius all along.
func (b *Box) beside(p *Placed, g *span) (near, allAlong bool) {
	if p.turn == 0 {
		return b.besideHere(g)
	}
	first, last := b.turnsBy(p, g.x0, g.y0, g.x1, g.y1, g.reach)
	if last-first > mostTurns {
		return true, false
	}
	for k := first; k <= last && !allAlong; k++ {
		c := b.turned(p, k)
		n, all := c.besideHere(g)
		near, allAlong = near || n, all
	}
	return near, allAlong
}

// besideHere is beside of the box where it stands. What is near a box at both ends is
// near it all the way: the places near a convex shape are convex.
func (b *Box) besideHere(g *span) (near, allAlong bool) {
	if !b.Within(g.x0, g.y0, g.x1, g.y1, g.reach) || b.distance(g.ax, g.ay, g.bx, g.by) > g.reach {
		return false, false
	}
	return true, b.from(g.ax, g.ay) <= g.r && b.from(g.bx, g.by) <= g.r
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
