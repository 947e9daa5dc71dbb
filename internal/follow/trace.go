package follow

import (
	"math"

	"sagitta/internal/corridor"
)

// trace follows the corrections along the planned path for the figures that need
// all of it.
type trace struct {
	*account
	turned float64 // the furthest c since Z turned last
	way    int8    // +1 while it rises, -1 while it falls
	begun  bool
}

// along takes the path that is laid through a horizon into the figures, up to gate
// last. Between gates both c and the tube are straight, so the furthest and the
// nearest are at gates.
func (p *trace) along(w *horizon, last int) {
	q := 0
	for k, c := range w.plan.Along(w.tube.gates) {
		if k > last {
			return
		}
		g := &w.tube.gates[k]
		if p.closer(c, g.Top) {
			p.approach(c, g.Top, w.item(k), g.S)
		}
		if k > 0 || w.start.Free { // what a start that is given serves is counted
			p.spend(g, c)
		}
		if k == w.plan.Waypoints[q].Gate {
			p.turn(c)
			q++
		}
	}
}

// spend takes the correction c at a gate into the depth spent.
func (p *trace) spend(g *corridor.Gate, c float64) {
	if math.IsInf(g.Low, 1) {
		return // only travels pass
	}
	if near, far, s := g.High-c, c-g.Low, &p.sum; near > s.Near || far > s.Far || p.opt.Kinds != nil {
		s.Near, s.Far = max(s.Near, near), max(s.Far, far)
		s.Part = max(s.Part, g.Spends(p.opt.Depth, c))
	}
}

// turn counts a change of direction once Z has come back by a last decimal: less
// cannot be seen in what is written.
func (p *trace) turn(c float64) {
	switch back := (c - p.turned) * float64(p.way); {
	case !p.begun:
		p.begun, p.turned = true, c
	case back > 0: // further on
		p.turned = c
	case math.Abs(c-p.turned) < p.opt.Decimal(false):
	default:
		if p.way != 0 {
			p.sum.Reversals++
		}
		p.way = 1
		if c < p.turned {
			p.way = -1
		}
		p.turned = c
	}
}

// closer reports whether the axis comes closer to the surface under the beam than
// it has so far, where that is as high as top.
func (p *trace) closer(c, top float64) bool { return c-top < p.sum.Nearest.MM }

// approach notes the closest approach, at fraction s of the item h.
func (p *trace) approach(c, top float64, h *pending, s float64) {
	if !p.closer(c, top) {
		return
	}
	p.sum.Nearest.MM = c - top
	if h != nil {
		p.sum.Nearest = extreme(h.Item, p.sum.Nearest.MM, s)
	}
}
