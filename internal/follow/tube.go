package follow

import (
	"math"

	"sagitta/internal/corridor"
	"sagitta/internal/machine"
	"sagitta/internal/surface"
)

const (
	// pieceTolerance is the excess of a stretch over its chord, as a part
	// of the depth, above which the stretch is cut for a further gate. What
	// it takes off the tube must be small against the tenth that thinning
	// lives on.
	pieceTolerance = 0.002
	// arcTolerance is the same for an arc, of which a part leaves its chord
	// wherever it is cut: half as many gates again would be needed for less.
	arcTolerance = 0.004
	// sameInstant is the time in s under which two gates are one. A tenth
	// of a micrometre at the fastest rapids takes a hundred times longer.
	sameInstant = 1e-9
	// shortestCut is the length in mm of a move that can be cut at all:
	// both halves must reach ClosestCut.
	shortestCut = 2 * corridor.ClosestCut
)

// tubeBuilder turns moves into gates.
type tubeBuilder struct {
	opt    *Options
	pieces []surface.Piece
	gates  []corridor.Gate
	// asks are those that the head has of the gates.
	asks  []ask
	sum   *Summary
	fails *failures
	// tol, that of arcs, and lateral are what surface is asked for, in mm.
	tol, arcTol, lateral float64
	// low and high are the surface's extremes.
	low, high float64
	// hold tells that a burn takes no time and holds one c throughout.
	hold bool
	tip  tip
	line int // of the move that is added
}

// restart leaves one gate, at the start of what comes next.
func (tb *tubeBuilder) restart() {
	tb.gates, tb.asks = append(tb.gates[:0], corridor.Open()), tb.asks[:0]
}

// add appends the gates of a move; line is its program line. The
// last gate so far is the move's start.
//
// A travel from or to an unknown place has no path to take heights along;
// where its end is known, known tells so, the window there counts.
func (tb *tubeBuilder) add(line int, m *machine.Move, known bool) {
	if m.Kind == machine.Still || !known {
		return
	}
	tb.line = line
	if m.FromUnknown || m.ZUnknown {
		tb.arrive(m)
		return
	}
	if m.Length == 0 || m.FromUnknown {
		if !m.Burn && len(tb.gates) > 1 && !m.FromUnknown {
			last := len(tb.gates) - 1
			tb.limit(m, last) // only Z moves: the ends have their windows
			tb.cut(m)
			tb.raise(last)
			return
		}
		h, w := tb.opt.Surface.At(m.To.X, m.To.Y)
		tb.pieces = append(tb.pieces[:0], surface.Piece{S1: 1, H0: h, H1: h, Where: w})
	} else {
		tb.along(m)
	}
	if m.Burn {
		tb.sum.burn(line, m, tb.pieces)
		tb.covered(line, m)
	}
	tb.layUnder(m)
}

// along takes the heights along a move over XY into the pieces.
func (tb *tubeBuilder) along(m *machine.Move) {
	lateral := tb.lateral
	if m.Length < shortestCut || tb.hold && m.Burn { // never cut
		lateral = 0
	}
	if m.Kind == machine.Arc {
		tb.pieces = tb.opt.Surface.AppendArc(tb.pieces[:0], m.CX, m.CY, m.R0, m.R1, m.A0, m.Sweep, tb.arcTol, lateral)
	} else {
		tb.pieces = tb.opt.Surface.AppendLine(tb.pieces[:0], m.From.X, m.From.Y, m.To.X, m.To.Y, tb.tol, lateral)
	}
}

// layUnder is lay with the head over the move.
func (tb *tubeBuilder) layUnder(m *machine.Move) {
	first := len(tb.gates) - 1
	tb.cut(m)
	tb.lay(m)
	tb.raise(first)
}

// addChunk is add for a chunk of a strand.
func (tb *tubeBuilder) addChunk(h *held) {
	tb.pieces = append(tb.pieces[:0], h.pieces[0])
	if tb.hold && h.mv.Burn {
		tb.pieces = append(tb.pieces, h.pieces[1])
	}
	tb.sum.chunk(h)
	tb.lay(&h.mv)
}

// lay appends the gates of a move over the pieces.
func (tb *tubeBuilder) lay(m *machine.Move) {
	first := len(tb.gates) - 1
	still := m.Length == 0 || m.FromUnknown || tb.hold && m.Burn
	slow := m.Burn && tb.opt.maySlow(m)
	for k := range tb.pieces {
		pc := &tb.pieces[k]
		if pc.Up > tb.arcTol || pc.Down > tb.arcTol {
			tb.within(pc)
		}
		tb.narrow(pc.H0, pc, m.Burn)
		dt := (pc.S1 - pc.S0) * m.Seconds
		if !still && dt > sameInstant {
			g := corridor.Open()
			g.DT, g.S, g.Length, g.Burn, g.Slow = dt, pc.S1, m.Length, m.Burn, slow
			tb.gates = append(tb.gates, g)
		}
		tb.narrow(pc.H1, pc, m.Burn)
	}
	if last := len(tb.gates) - 1; last > first {
		tb.gates[last].S = 1 // the rest, if any, was no time at all
	}
	tb.limit(m, first)
}

// within puts a stretch that is bounded too loosely, as of an arc of many
// kilometres, between the surface's own extremes.
func (tb *tubeBuilder) within(pc *surface.Piece) {
	if lo := min(pc.H0, pc.H1); lo+pc.Up > tb.high {
		pc.H0, pc.H1, pc.Up, pc.Down = tb.high, tb.high, 0, tb.high-max(tb.low, lo-pc.Down)
	}
	if hi := max(pc.H0, pc.H1); hi-pc.Down < tb.low {
		pc.Down = hi - tb.low
	}
}

// narrow takes what a stretch asks of its end of height h into the last gate.
func (tb *tubeBuilder) narrow(h float64, pc *surface.Piece, burn bool) {
	g := &tb.gates[len(tb.gates)-1]
	a, b := h+pc.Up+tb.opt.Defocus, math.Inf(1)
	if burn {
		b = h - pc.Down + tb.opt.Defocus
	}
	g.Serve(a, b)
}

// limit takes the profile's range of Z into the gates of the move, from its
// first on.
func (tb *tubeBuilder) limit(m *machine.Move, first int) {
	o := tb.opt
	if o.ZMin == nil && o.ZMax == nil {
		return
	}
	lo, hi := math.Inf(-1), math.Inf(1)
	if o.ZMin != nil {
		lo = *o.ZMin - min(m.From.Z, m.To.Z)
	}
	if o.ZMax != nil {
		hi = *o.ZMax - max(m.From.Z, m.To.Z)
	}
	if !o.ZPlusAway {
		lo, hi = -hi, -lo
	}
	for k := first; k < len(tb.gates); k++ {
		tb.gates[k].Limit(lo, hi)
	}
}

// covered notes a burn over no surface.
func (tb *tubeBuilder) covered(line int, m *machine.Move) {
	outside := false
	for k := range tb.pieces {
		pc, kind := &tb.pieces[k], OverHole
		switch {
		case pc.Where == surface.On:
			continue
		case pc.Where == surface.Outside && tb.opt.OutsideHold:
			outside = true
			continue
		case pc.Where == surface.Outside:
			kind = OffSurface
		}
		at := m.XY(pc.S0)
		tb.fails.add(Failure{Line: line, X: at[0], Y: at[1], Kind: kind})
		return
	}
	if outside {
		tb.sum.Outside++
	}
}

// furthest gives the fraction of the last move at which the height is furthest
// from the rest value.
func (tb *tubeBuilder) furthest() (s float64) {
	worst := -1.0
	for _, pc := range tb.pieces {
		for _, e := range [2][2]float64{{pc.H0, pc.S0}, {pc.H1, pc.S1}} {
			if d := math.Abs(e[0]); d > worst {
				worst, s = d, e[1]
			}
		}
	}
	return s
}
