package follow

import (
	"math"

	"sagitta/internal/machine"
	"sagitta/internal/surface"
)

// Most moves have nothing to say: the string passes through the middle of
// what the surface leaves them. So the heights along a burn are only bounded
// at first, as one stretch with a gate at its end. Where the string touches a
// gate that such a bound has narrowed, the burn gets the gates that it would
// have had, and the string is pulled again. A string that touches nothing but
// what is known well is the taut string of the whole tube: it is taut in a
// tube that lies inside.

const (
	// roughPart is the part of the depth to spend that a bound may take off a
	// side.
	roughPart = 0.1
	// roughPlaces is at how many places a rough burn is looked at at most.
	roughPlaces = 8
	// touching in mm is how near to a gate the string counts as touching it.
	touching = 1e-6
	// refinings bounds how often a window is pulled again before every bound
	// in it is replaced.
	refinings = 12
)

// rough bounds the heights of a burn, if that is good enough for now.
func (tb *tubeBuilder) rough(m *machine.Move) (pc surface.Piece, ok bool) {
	// Under a rate, what a burn asks for counts far from it; held burns and
	// ramps have gates of their own kind.
	if !tb.bounding || !m.Burn || m.Length < shortestCut || m.From.Z != m.To.Z {
		return pc, false
	}
	most := roughPart * tb.opt.Use * (tb.opt.Depth.Near + tb.opt.Depth.Far)
	n := 1 + int(tb.slope*m.Length/(2*most)*2)
	if n > roughPlaces {
		return pc, false
	}
	if m.Kind == machine.Arc {
		pc, ok = tb.opt.Surface.AroundArc(m.CX, m.CY, m.R0, m.R1, m.A0, m.Sweep, max(n, 2))
	} else {
		pc, ok = tb.opt.Surface.AroundLine(m.From.X, m.From.Y, m.To.X, m.To.Y, n)
	}
	if !ok || pc.Up+pc.Down > 2*most {
		return pc, false
	}
	// The extremes over all burns are told, so they must be known well.
	s := tb.sum
	top, bottom := max(pc.H0, pc.H1)+pc.Up, min(pc.H0, pc.H1)-pc.Down
	return pc, s.Burns > 0 && top <= s.High && bottom >= s.Low
}

// layRough appends the gate of a rough burn.
func (tb *tubeBuilder) layRough(i int32, h *held, pc *surface.Piece) {
	h.rough, h.pieces[0] = true, *pc
	tb.sum.Burns++
	tb.sum.BurnLength += h.mv.Length
	first := len(tb.gates) - 1
	start := &tb.gates[first]
	start.starting = tb.span(pc.H0, pc)
	start.settle()
	g := open()
	g.dt, g.move, g.burn = h.mv.Seconds, i, true
	g.ending = tb.span(pc.H1, pc)
	g.settle()
	tb.gates = append(tb.gates, g)
	tb.limit(&h.mv, first)
}

// span is what a burn asks of a gate at height h.
func (tb *tubeBuilder) span(h float64, pc *surface.Piece) span {
	return span{h + pc.Up + tb.opt.Defocus, h - pc.Down + tb.opt.Defocus}
}

// refine gives the rough burns whose bounds the string touches their own
// gates; with every set, all of them. It reports whether there were any.
func (f *runner) refine(every bool) bool {
	first := -1
	for i, h := range f.blocks {
		if h.rough && (every || f.touches(h)) {
			h.rough, h.refined = false, true
			if first < 0 {
				first = i
			}
		}
	}
	if first < 0 {
		return false
	}
	old := append(f.oldGates[:0], f.gates...)
	f.oldGates = old
	tb := &f.tube
	tb.gates = f.gates[:f.blocks[first].g0+1]
	for i := first; i < len(f.blocks); i++ {
		h := f.blocks[i]
		g0, g1 := h.g0, h.g1
		h.g0 = int32(len(tb.gates) - 1)
		if h.refined {
			h.refined = false
			tb.replace(int32(i), h, &old[g1])
		} else {
			tb.gates = append(tb.gates, old[g0+1:g1+1]...)
		}
		h.g1 = int32(len(tb.gates) - 1)
	}
	f.gates = tb.gates
	return true
}

// touches tells that the string touches what only the bound of a rough burn
// asks for.
func (f *runner) touches(h *held) bool {
	d, slack := f.opt.Depth, h.pieces[0].Up+h.pieces[0].Down
	for k, s := range [2]*span{&f.gates[h.g0].starting, &f.gates[h.g1].ending} {
		g := int(h.g0)
		if k > 0 {
			g = int(h.g1)
		}
		u := f.part[g]
		if u > narrowing*f.opt.Use*(1+rounding) {
			return true // the bound alone may ask for more than is to be spent
		}
		near := touching + slack*touchPart
		if f.c[g]-(s.a-u*d.Near) <= near || s.b+u*d.Far-f.c[g] <= near {
			return true
		}
	}
	return false
}

// touchPart is the part of a bound's width within which it counts as touched:
// the string comes nearer once others have given way.
const touchPart = 1.0 / 16

// replace lays the gates of a rough burn as add would have, between the last
// gate and the one that it ended at.
func (tb *tubeBuilder) replace(i int32, h *held, end *gate) {
	start := &tb.gates[len(tb.gates)-1]
	start.starting = all()
	start.settle()
	tb.along(&h.mv)
	tb.lay(i, &h.mv)
	g := &tb.gates[len(tb.gates)-1]
	g.well.narrow(end.well.a, end.well.b)
	g.min, g.max = math.Max(g.min, end.min), math.Min(g.max, end.max)
	g.starting = end.starting
	g.settle()
}
