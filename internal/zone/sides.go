package zone

import (
	"math"

	"sagitta/internal/machine"
	"sagitta/internal/zone/order"
)

// ordering says what the order of the pieces depends on.
func ordering(p *Plan, rec *recorder) order.Options {
	opt := order.Options{
		MarksFirst: p.opt.Cuts != nil,
		Clear: func(zone int, from, to [2]float64) bool {
			return newOut(p, zone).goesLow(machine.Point{X: from[0], Y: from[1]}, to)
		},
		From: func(zone int) (at [2]float64, known bool) {
			if from := newOut(p, zone).stand(); from != nil {
				return *from, true
			}
			return [2]float64{p.Zones[zone].Point.X, p.Zones[zone].Point.Y}, p.opt.Pause
		},
	}
	sides := make([]*sides, len(p.Zones))
	opt.Side = func(zone int, x, y float64) int {
		if sides[zone] == nil {
			sides[zone] = newSides(newOut(p, zone), rec.extent)
		}
		return sides[zone].at(x, y)
	}
	opt.MarksFirst = p.opt.Cuts != nil
	for i := range p.Zones {
		opt.Rank, opt.Lens = append(opt.Rank, p.Zones[i].Order-1), append(opt.Lens, p.Zones[i].Lens)
	}
	return opt
}

// goesLow reports whether a travel between burns of the zone need not be lifted for: it
// is clear at the Z of the burns, or as high as the program itself travels between them.
func (o *out) goesLow(from machine.Point, to [2]float64) bool {
	level := o.p.topBurn
	if !o.opt.byHand() {
		level = max(level, o.p.clearZ)
	}
	return o.need(o.opt.travel(from, true, to[0], to[1]), o.p.topBurn) <= level+o.c+rounding
}

// sides are the connected regions of the job over which the head travels in a zone
// without being lifted, on a grid.
type sides struct {
	x0, y0, dx, dy float64
	of             []int16 // by cell, -1 where it has to be lifted
}

// sideCells is how many cells there are on a side: enough to tell the two sides of a
// crown from each other.
const sideCells = 128

func newSides(o *out, extent box) *sides {
	s := &sides{x0: extent.x0, y0: extent.y0, of: make([]int16, sideCells*sideCells)}
	s.dx, s.dy = (extent.x1-extent.x0)/sideCells, (extent.y1-extent.y0)/sideCells
	const unset = math.MaxInt16
	for c := range s.of {
		at := machine.Point{X: s.x0 + (float64(c%sideCells)+0.5)*s.dx, Y: s.y0 + (float64(c/sideCells)+0.5)*s.dy}
		if s.of[c] = -1; o.goesLow(at, [2]float64{at.X, at.Y}) {
			s.of[c] = unset
		}
	}
	var queue []int
	next := int16(0)
	for c := range s.of {
		if s.of[c] != unset || next == unset-1 {
			continue
		}
		queue = append(queue[:0], c)
		for s.of[c] = next; len(queue) > 0; {
			c := queue[len(queue)-1]
			queue = queue[:len(queue)-1]
			for _, step := range [4][2]int{{1, 0}, {-1, 0}, {0, 1}, {0, -1}} {
				i, j := c%sideCells+step[0], c/sideCells+step[1]
				if n := j*sideCells + i; i >= 0 && j >= 0 && i < sideCells && j < sideCells && s.of[n] == unset {
					s.of[n] = next
					queue = append(queue, n)
				}
			}
		}
		next++
	}
	return s
}

// at is the region that a place of the job is in.
func (s *sides) at(x, y float64) int {
	cell := func(v, v0, d float64) int {
		if d == 0 {
			return 0
		}
		return min(max(int((v-v0)/d), 0), sideCells-1)
	}
	return int(s.of[cell(y, s.y0, s.dy)*sideCells+cell(x, s.x0, s.dx)])
}

// box is an extent over XY, in mm.
type box struct{ x0, y0, x1, y1 float64 }

func noBox() box { return box{math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)} }

func (b *box) take(x0, y0, x1, y1 float64) {
	b.x0, b.y0 = min(b.x0, x0, x1), min(b.y0, y0, y1)
	b.x1, b.y1 = max(b.x1, x0, x1), max(b.y1, y0, y1)
}
