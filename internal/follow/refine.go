package follow

import (
	"math"

	"sagitta/internal/machine"
	"sagitta/internal/program"
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
	if !ok || pc.Up+pc.Down > 2*most {
		return pc, false
	}
	// The extremes over all burns are told, so they must be known well.
	s := tb.sum
	top, bottom := max(pc.H0, pc.H1)+pc.Up, min(pc.H0, pc.H1)-pc.Down
	return pc, s.Burns > 0 && top <= s.High && bottom >= s.Low
}

// bounds tells that heights are only bounded at first.
func (o *Options) bounds() bool { return o.ZMoves == Always && o.ZRate <= 0 && !o.exact }

// roughest is how much a bound may take off a side, in mm.
func (o *Options) roughest() float64 { return roughPart * o.Use * (o.Depth.Near + o.Depth.Far) }

// layRough appends the gate of a rough burn or chunk.
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
// gates; with every set, all of them. It returns what becomes of the first n
// blocks, and whether there were any.
func (f *runner) refine(n int, every bool) (int, bool) {
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
		return n, false
	}
	gates := append(f.oldGates[:0], f.gates...)
	blocks := append(f.oldBlocks[:0], f.blocks...)
	f.oldGates, f.oldBlocks = gates, blocks
	f.gates, f.blocks = f.gates[:blocks[first].g0+1], f.blocks[:first]
	committed, lastBurn := n, f.lastBurn
	for i := first; i < len(blocks); i++ {
		h := blocks[i]
		if h.refined {
			h.refined = false
			f.replace(h, &gates[h.g1])
		} else {
			f.keep(h, gates[h.g0+1:h.g1+1])
		}
		if i+1 == n {
			committed = len(f.blocks)
		}
		if i == f.lastBurn {
			lastBurn = len(f.blocks) - 1
		}
	}
	f.lastBurn = lastBurn
	return committed, true
}

// keep takes a block over with its gates.
func (f *runner) keep(h *held, gates []gate) {
	i := len(f.blocks)
	f.blocks = append(f.blocks, h)
	h.g0 = int32(len(f.gates) - 1)
	f.gates = append(f.gates, gates...)
	h.g1 = int32(len(f.gates) - 1)
	for k := h.g0 + 1; k <= h.g1; k++ {
		f.gates[k].move = int32(i)
	}
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

// replace lays the gates that a rough burn or chunk would have had, up to the
// gate that it ended at.
func (f *runner) replace(h *held, end *gate) {
	start := &f.gates[len(f.gates)-1]
	start.starting = all()
	start.settle()
	if h.isChunk() {
		f.cutAnew(h)
	} else {
		f.parts = append(f.parts[:0], h)
	}
	tb := &f.tube
	for _, p := range f.parts {
		i := int32(len(f.blocks))
		f.blocks = append(f.blocks, p)
		p.g0 = int32(len(f.gates) - 1)
		tb.gates = f.gates
		if p.isChunk() {
			tb.addChunk(i, p)
		} else {
			tb.along(&p.mv)
			tb.lay(i, &p.mv)
		}
		f.gates = tb.gates
		p.g1 = int32(len(f.gates) - 1)
	}
	g := &f.gates[len(f.gates)-1]
	g.well.narrow(end.well.a, end.well.b)
	g.min, g.max = max(g.min, end.min), min(g.max, end.max)
	g.starting = end.starting
	g.settle()
}

// cutAnew cuts a rough chunk into parts whose heights are known well.
func (f *runner) cutAnew(h *held) {
	st := &f.fine
	st.own, st.burn, st.state = h.batch, h.mv.Burn, h.after
	st.feed, st.scaled = h.mv.Feed, h.mv.PowerFollows
	st.like, st.line = h.block, h.block.Line-h.first
	st.d, st.x, st.y = h.startD, h.mv.From.X, h.mv.From.Y
	st.nextBow = h.firstBow
	f.parts = f.parts[:0]
	st.from(h.first)
	for k := h.first; k < h.end; k++ {
		st.extend(k)
	}
	st.cut(h.end)
	h.parts = len(f.parts)
	for _, p := range f.parts {
		p.whole, p.batch = h, h.batch
	}
}

// newPart makes an item for cutAnew.
func (f *runner) newPart() *held {
	var h *held
	if n := len(f.spare); n > 0 {
		h, f.spare = f.spare[n-1], f.spare[:n-1]
	} else {
		h = &held{}
	}
	*h = held{block: program.Block{Raw: h.block.Raw[:0], Words: h.block.Words[:0]}}
	f.parts = append(f.parts, h)
	return h
}
