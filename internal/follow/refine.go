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
	refinings = 24
)

// rough bounds the heights of a burn, if that is good enough for now.
func (tb *tubeBuilder) rough(m *machine.Move) (pc surface.Piece, ok bool) {
	// Under a rate, what a burn asks for counts far from it; held burns and
	// ramps have gates of their own kind.
	if !tb.bounding || !m.Burn || m.Length < shortestCut || m.From.Z != m.To.Z || tb.inQuestion(m) {
		return pc, false
	}
	most := tb.opt.roughest()
	n := 1 + int(tb.slope*m.Length/(2*most)*2)
	if n > roughPlaces {
		return pc, false
	}
	if m.Kind == machine.Arc {
		pc, ok = tb.opt.Surface.AroundArc(m.CX, m.CY, m.R0, m.R1, m.A0, m.Sweep, max(n, 2))
	} else {
		pc, ok = tb.opt.Surface.AroundLine(m.From.X, m.From.Y, m.To.X, m.To.Y, n)
	}
	return pc, ok && pc.Up+pc.Down <= 2*most && tb.known(&pc)
}

// known tells that bounds will do, for now, where they show nothing higher or
// lower than what is known well: the extremes over all burns are told.
func (tb *tubeBuilder) known(pc *surface.Piece) bool {
	s := tb.sum
	top, bottom := max(pc.H0, pc.H1)+pc.Up, min(pc.H0, pc.H1)-pc.Down
	return tb.bounding && s.Burns > 0 && top <= s.High && bottom >= s.Low
}

// bounds tells that heights are only bounded at first.
func (o *Options) bounds() bool { return o.ZMoves == Always && o.ZRate <= 0 && !o.exact }

// roughest is how much a bound may take off a side, in mm.
func (o *Options) roughest() float64 { return roughPart * o.Use * (o.Depth.Near + o.Depth.Far) }

// layRough appends the gate of a rough burn.
func (tb *tubeBuilder) layRough(i int32, h *held) {
	pc := &h.pieces[0]
	first := len(tb.gates) - 1
	start := &tb.gates[first]
	start.starting = tb.span(pc.H0, pc, h.mv.Burn)
	start.settle()
	g := open()
	g.dt, g.move, g.burn = h.mv.Seconds, i, h.mv.Burn
	g.ending = tb.span(pc.H1, pc, h.mv.Burn)
	g.settle()
	tb.gates = append(tb.gates, g)
	tb.limit(&h.mv, first)
}

// span is what a move asks of a gate at height h.
func (tb *tubeBuilder) span(h float64, pc *surface.Piece, burn bool) span {
	s := span{h + pc.Up + tb.opt.Defocus, math.Inf(1)}
	if burn {
		s.b = h - pc.Down + tb.opt.Defocus
	}
	return s
}

// refine gives the rough burns whose bounds the string touches their own
// gates, at last all of them. It reports whether there were any.
func (f *runner) refine(time int) bool {
	first := -1
	for i, h := range f.blocks {
		if h.rough && !h.refined && (time > refinings || f.touches(h, touchPart)) {
			h.refined = true
			if time <= refinings {
				// Once this one gives way the string comes to those beside
				// it that it is near.
				f.spread(i, 1)
				f.spread(i, -1)
			}
		}
	}
	for i, h := range f.blocks {
		if h.refined {
			h.rough = false
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
	blocks := append(f.oldBlocks[:0], f.blocks[first:]...)
	f.oldBlocks = blocks
	tb := &f.tube
	tb.gates, f.blocks = f.gates[:blocks[0].g0+1], f.blocks[:first]
	lastBurn := f.lastBurn
	for n, h := range blocks {
		g0, g1 := h.g0, h.g1
		if !h.refined {
			if first+n == f.lastBurn {
				lastBurn = len(f.blocks)
			}
			h.g0 = int32(len(tb.gates) - 1)
			for _, g := range old[g0+1 : g1+1] {
				g.move = int32(len(f.blocks))
				tb.gates = append(tb.gates, g)
			}
			h.g1 = int32(len(tb.gates) - 1)
			f.blocks = append(f.blocks, h)
			continue
		}
		h.refined = false
		from := len(f.blocks)
		if h.loose {
			f.blocks = f.takeApart(f.blocks, h)
		} else {
			f.blocks = append(f.blocks, h)
		}
		tb.reopen()
		for i := from; i < len(f.blocks); i++ {
			p := f.blocks[i]
			p.g0 = int32(len(tb.gates) - 1)
			tb.layAgain(int32(i), p, time > refinings || !h.loose)
			p.g1 = int32(len(tb.gates) - 1)
			if first+n == f.lastBurn && p.mv.Burn {
				lastBurn = i
			}
		}
		tb.rejoin(&old[g1])
	}
	f.gates, f.lastBurn = tb.gates, lastBurn
	return true
}

// spread marks the rough blocks beside block i, on one side, that the string
// comes nearer to what they ask for than a part of their bound's width.
func (f *runner) spread(i, step int) {
	for k := i + step; k >= 0 && k < len(f.blocks); k += step {
		h := f.blocks[k]
		switch {
		case h.g0 == h.g1:
			continue // nothing moves
		case !h.rough || h.refined || !f.touches(h, spreadPart):
			return
		}
		h.refined = true
	}
}

// touches tells that the string touches what only the bound of a rough burn
// asks for, or comes within a part of the bound's width of it.
func (f *runner) touches(h *held, part float64) bool {
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
		near := touching + slack*part
		if f.c[g]-(s.a-u*d.Near) <= near || s.b+u*d.Far-f.c[g] <= near {
			return true
		}
	}
	return false
}

// touchPart is the part of a bound's width within which it counts as touched,
// spreadPart the same beside one that is.
const touchPart, spreadPart = 1.0 / 16, 1.0 / 4

// reopen takes back what the rough burn that begins at the last gate asks of it.
func (tb *tubeBuilder) reopen() {
	start := &tb.gates[len(tb.gates)-1]
	start.starting = all()
	start.settle()
}

// layAgain lays the gates of what is known better instead, or as well as it
// can be.
func (tb *tubeBuilder) layAgain(i int32, h *held, well bool) {
	if !well && !h.isChunk() {
		if h.pieces[0], h.rough = tb.rough(&h.mv); h.rough {
			tb.layRough(i, h)
			return
		}
	}
	if h.isChunk() {
		tb.pieces = append(tb.pieces[:0], h.pieces[0])
	} else {
		tb.along(&h.mv)
	}
	tb.lay(i, &h.mv) // the head is not in question on it, see rough and underHead
}

// rejoin takes what others ask of the gate that it ended at.
func (tb *tubeBuilder) rejoin(end *gate) {
	g := &tb.gates[len(tb.gates)-1]
	g.well.narrow(end.well.a, end.well.b)
	if end.min > g.min {
		g.min, g.tipLine, g.tipAt = end.min, end.tipLine, end.tipAt
	}
	g.max = min(g.max, end.max)
	g.starting = end.starting
	g.settle()
}
