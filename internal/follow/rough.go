package follow

import (
	"sagitta/internal/machine"
	"sagitta/internal/surface"
)

const (
	// roughPart is the part of the depth to spend that a bound may take off a
	// side.
	roughPart = 0.1
	// roughPlaces is at how many places a rough burn is looked at at most.
	roughPlaces = 8
)

// How well the heights along a burn are known.
const (
	knownNot     = iota
	knownAround  // from a few places and the steepest slope
	knownClosely // all of them, as one stretch
)

// bound bounds the heights of a burn more closely than they are known so far,
// and at most so well. It reports false where that does not do.
func (tb *tubeBuilder) bound(h *held, most uint8) bool {
	m := &h.mv
	// Under a rate, what a burn asks for counts far from it; held burns and
	// ramps have gates of their own kind.
	if !tb.bounding || !m.Burn || m.Length < shortestCut || m.From.Z != m.To.Z || tb.inQuestion(m) {
		return false
	}
	pc, within := &h.pieces[0], 2*tb.opt.roughest()
	for h.known < most {
		ok := true
		if h.known++; h.known == knownAround {
			*pc, ok = tb.around(m)
		} else {
			tb.along(m)
			*pc = together(tb.pieces)
		}
		if ok && pc.Up+pc.Down <= within {
			d := tb.opt.Defocus
			h.bound = [2]span{{pc.H0 + pc.Up + d, pc.H0 - pc.Down + d}, {pc.H1 + pc.Up + d, pc.H1 - pc.Down + d}}
			return true
		}
	}
	return false
}

// around bounds the heights of a move from a few places of it.
func (tb *tubeBuilder) around(m *machine.Move) (pc surface.Piece, ok bool) {
	n := 1 + int(tb.slope*m.Length/tb.opt.roughest())
	if n > roughPlaces {
		return pc, false
	}
	if m.Kind == machine.Arc {
		return tb.opt.Surface.AroundArc(m.CX, m.CY, m.R0, m.R1, m.A0, m.Sweep, roughPlaces)
	}
	return tb.opt.Surface.AroundLine(m.From.X, m.From.Y, m.To.X, m.To.Y, n)
}

// together makes one stretch of those of a move.
func together(pieces []surface.Piece) surface.Piece {
	last := len(pieces) - 1
	pc := surface.Piece{S1: 1, H0: pieces[0].H0, H1: pieces[last].H1}
	for k := range pieces {
		p := &pieces[k]
		over0, over1 := p.H0-pc.H0-p.S0*(pc.H1-pc.H0), p.H1-pc.H0-p.S1*(pc.H1-pc.H0)
		pc.Up = max(pc.Up, max(over0, over1)+p.Up)
		pc.Down = max(pc.Down, p.Down-min(over0, over1))
	}
	return pc
}

// told tells that bounds will do, for now, where they show nothing higher than
// top or lower than bottom: the extremes over all burns are told.
func (tb *tubeBuilder) told(top, bottom float64) bool {
	s := tb.sum
	return tb.bounding && s.Burns > 0 && min(top, tb.high) <= s.High && max(bottom, tb.low) >= s.Low
}

// toldOf is told for a bounded stretch.
func (tb *tubeBuilder) toldOf(pc *surface.Piece) bool {
	return tb.told(max(pc.H0, pc.H1)+pc.Up, min(pc.H0, pc.H1)-pc.Down)
}

// bounds tells that heights are only bounded at first.
func (o *Options) bounds() bool { return o.ZMoves == Always && o.ZRate <= 0 && !o.exact }

// roughest is how much a bound may take off a side, in mm.
func (o *Options) roughest() float64 { return roughPart * o.Use * (o.Depth.Near + o.Depth.Far) }

// layRough appends the gate of a rough burn, which asks for what it is known to:
// the heights at its ends.
func (tb *tubeBuilder) layRough(i int32, h *held) {
	first := len(tb.gates) - 1
	start := &tb.gates[first]
	start.starting = tb.ends(h, 0)
	start.settle()
	g := open()
	g.dt, g.move, g.burn = h.mv.Seconds, i, h.mv.Burn
	g.ending = tb.ends(h, 1)
	g.settle()
	tb.gates = append(tb.gates, g)
	tb.limit(&h.mv, first)
}

// ends is what the height at the start of a rough burn, or at its end, asks for.
func (tb *tubeBuilder) ends(h *held, end int) span {
	at := [2]float64{h.pieces[0].H0, h.pieces[0].H1}[end] + tb.opt.Defocus
	return span{at, at}
}

// layWell lays the gates of a move whose heights are as well known as they can
// be. The head is not in question on it, see bound and underHead.
func (tb *tubeBuilder) layWell(i int32, h *held) {
	tb.along(&h.mv)
	tb.lay(i, &h.mv)
}
