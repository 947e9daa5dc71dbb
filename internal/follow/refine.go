package follow

import (
	"math"

	"sagitta/internal/machine"
	"sagitta/internal/surface"
)

// Most moves have nothing to say: the string passes through the middle of
// what the surface leaves them. So the heights along a burn are only bounded
// at first, as one stretch with a gate at its end. The string is pulled as if
// only the heights at its ends were known, which is a wider tube than the true
// one; where it then leaves what the bound allows the burn is looked at more
// closely, and the string is pulled again. One that stays within all bounds is
// the taut string of the true tube, and of all between.

const (
	// roughPart is the part of the depth to spend that a bound may take off a
	// side.
	roughPart = 0.1
	// roughPlaces is at how many places a rough burn is looked at at most.
	roughPlaces = 8
	// outOfBounds in mm is how far the string must leave a bound to count.
	outOfBounds = 1e-6
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
	return pc, ok && pc.Up+pc.Down <= 2*most
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

// layRough appends the gate of a rough burn, which asks for what bounds it or
// for what it is known to, see allow.
func (tb *tubeBuilder) layRough(i int32, h *held, whole bool) {
	pc := &surface.Piece{H0: h.pieces[0].H0, H1: h.pieces[0].H1}
	if whole {
		pc = &h.pieces[0]
	}
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

// pullBounded is pullAll where burns are rough.
func (f *runner) pullBounded() {
	f.allow(false)
	for time := 1; ; time++ {
		f.pullAll()
		if !f.refine(time) {
			break
		}
	}
	f.allow(true)
}

// allow lets the rough burns ask for what bounds them, or for what they are
// known to ask for: the heights at their ends.
func (f *runner) allow(whole bool) {
	for _, h := range f.blocks {
		if !h.rough {
			continue
		}
		pc := h.pieces[0]
		if !whole {
			pc.Up, pc.Down = 0, 0
		}
		start, end := &f.gates[h.g0], &f.gates[h.g1]
		start.starting, end.ending = f.tube.span(pc.H0, &pc, true), f.tube.span(pc.H1, &pc, true)
		start.settle()
		end.settle()
	}
}

// refine looks more closely at the rough burns whose bounds the string leaves,
// at last at all of them. It reports whether there were any.
func (f *runner) refine(time int) bool {
	first := -1
	for i, h := range f.blocks {
		if h.rough && (time > refinings || f.leaves(h)) {
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
			f.blocks = f.takeApart(f.blocks, h, time > refinings)
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

// leaves tells that the string leaves what the bound of a rough burn allows.
func (f *runner) leaves(h *held) bool {
	pc, g0, g1 := &h.pieces[0], int(h.g0), int(h.g1)
	return f.beyond(max(f.part[g0], f.part[g1]), f.c[g0], f.c[g1], pc)
}

// beyond tells that a straight way from correction c0 to c1 leaves what a
// bound allows with a part of the depth, or that the bound alone may ask for
// more than is to be spent.
func (f *runner) beyond(part, c0, c1 float64, pc *surface.Piece) bool {
	if part > narrowing*f.opt.Use*(1+rounding) {
		return true
	}
	near, far := part*f.opt.Depth.Near+outOfBounds, part*f.opt.Depth.Far+outOfBounds
	s0, s1 := f.tube.span(pc.H0, pc, true), f.tube.span(pc.H1, pc, true)
	return s0.a-c0 > near || c0-s0.b > far || s1.a-c1 > near || c1-s1.b > far
}

// reopen takes back what the rough burn that begins at the last gate asks of it.
func (tb *tubeBuilder) reopen() {
	start := &tb.gates[len(tb.gates)-1]
	start.starting = all()
	start.settle()
}

// layAgain lays the gates of what is known better instead, or as well as it
// can be.
func (tb *tubeBuilder) layAgain(i int32, h *held, well bool) {
	if !well {
		if h.rough = h.loose; !h.isChunk() {
			h.pieces[0], h.rough = tb.rough(&h.mv) // its extremes are known since it was taken
		}
	}
	if h.rough {
		tb.layRough(i, h, false)
		return
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
