package follow

import (
	"math"

	"sagitta/internal/focus"
	"sagitta/internal/machine"
	"sagitta/internal/surface"
)

// gate is a place of the path and the corrections allowed there. Between two
// gates the tube is the trapezoid that joins their windows: whatever stays in
// it is certified, since each stretch's certified excess over its chord is
// taken off both of its gates.
type gate struct {
	// dt is the time in s from the gate before, at the programmed feed.
	dt float64
	// The window for a part u of the depth is
	// [max(a - u·near, min), min(b + u·far, max)]: a and b are the height
	// plus the wanted defocus, b is +Inf where only travels pass, and min
	// and max are limits that no depth widens.
	a, b     float64
	min, max float64
	// tipLine is the line of the program for whose head min is, 0 where it is
	// not the head that asks, and tipAt how far along its move.
	tipLine int32
	tipAt   float32
	// s is the fraction of the move at which the gate stands, 0 < s <= 1;
	// the first gate has s = 1.
	s float64
	// move is the planned move that the stretch before the gate is of.
	move int32
	// burn tells that the stretch before the gate burns.
	burn bool
}

// window is the gate's window for a part u of the depth d.
func (g *gate) window(d focus.Depth, u float64) focus.Window {
	return focus.Window{
		Lo: max(g.a-u*d.Near, g.min),
		Hi: min(g.b+u*d.Far, g.max),
	}
}

// open is a gate that allows everything.
func open() gate {
	return gate{a: math.Inf(-1), b: math.Inf(1), min: math.Inf(-1), max: math.Inf(1), s: 1, move: -1}
}

const (
	// pieceTolerance is the excess of a stretch over its chord, as a part
	// of the depth, above which the stretch is cut for a further gate. What
	// it takes off the tube must be small against the tenth that thinning
	// lives on.
	pieceTolerance = 0.002
	// sameInstant is the time in s under which two gates are one. A tenth
	// of a micrometre at the fastest rapids takes a hundred times longer.
	sameInstant = 1e-9
	// shortestCut is the length in mm of a move that can be cut at all:
	// both halves must reach closestCut.
	shortestCut = 2 * closestCut
	// closestCut is the least distance in mm of a cut from another point.
	closestCut = 0.05
)

// tubeBuilder turns moves into gates.
type tubeBuilder struct {
	opt    *Options
	pieces []surface.Piece
	gates  []gate
	sum    *Summary
	fails  *failures
	// tol and lateral are what surface is asked for, in mm.
	tol, lateral float64
	// low and high are the surface's extremes.
	low, high float64
	// hold tells that a burn takes no time and holds one c throughout.
	hold bool
	tip  tip
	line int // of the move that is added
}

// add appends the gates of move i of the plan; line is its program line. The
// last gate so far is the move's start.
//
// A travel from or to an unknown place has no path to take heights along;
// where its end is known, known tells so, the window there counts.
func (tb *tubeBuilder) add(i int32, line int, m *machine.Move, known bool) {
	if m.Kind == machine.Still || !known {
		return
	}
	tb.line = line
	if m.FromUnknown || m.ZUnknown {
		tb.arrive(i, m)
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
	tb.layUnder(i, m)
}

// along takes the heights along a move over XY into the pieces.
func (tb *tubeBuilder) along(m *machine.Move) {
	lateral := tb.lateral
	if m.Length < shortestCut || tb.hold && m.Burn { // never cut
		lateral = 0
	}
	if m.Kind == machine.Arc {
		tb.pieces = tb.opt.Surface.AppendArc(tb.pieces[:0], m.CX, m.CY, m.R0, m.R1, m.A0, m.Sweep, tb.tol, lateral)
	} else {
		tb.pieces = tb.opt.Surface.AppendLine(tb.pieces[:0], m.From.X, m.From.Y, m.To.X, m.To.Y, tb.tol, lateral)
	}
}

// layUnder is lay with the head over the move.
func (tb *tubeBuilder) layUnder(i int32, m *machine.Move) {
	first := len(tb.gates) - 1
	tb.cut(m)
	tb.lay(i, m)
	tb.raise(first)
}

// addChunk is add for a chunk of a strand.
func (tb *tubeBuilder) addChunk(i int32, h *held) {
	tb.pieces = append(tb.pieces[:0], h.pieces[0])
	if tb.hold && h.mv.Burn {
		tb.pieces = append(tb.pieces, h.pieces[1])
	}
	tb.sum.chunk(h)
	tb.lay(i, &h.mv)
}

// lay appends the gates of a move over the pieces.
func (tb *tubeBuilder) lay(i int32, m *machine.Move) {
	first := len(tb.gates) - 1
	still := m.Length == 0 || m.FromUnknown || tb.hold && m.Burn
	for k := range tb.pieces {
		pc := &tb.pieces[k]
		if pc.Up > tb.tol || pc.Down > tb.tol {
			tb.within(pc)
		}
		tb.narrow(pc.H0, pc, m.Burn)
		dt := (pc.S1 - pc.S0) * m.Seconds
		if !still && dt > sameInstant {
			g := open()
			g.dt, g.s, g.move, g.burn = dt, pc.S1, i, m.Burn
			tb.gates = append(tb.gates, g)
		}
		tb.narrow(pc.H1, pc, m.Burn)
	}
	if last := &tb.gates[len(tb.gates)-1]; last.move == i {
		last.s = 1 // the rest, if any, was no time at all
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
	g.a, g.b = max(g.a, a), min(g.b, b)
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
		g := &tb.gates[k]
		g.min, g.max = max(g.min, lo), min(g.max, hi)
	}
}

// covered notes a burn over no surface.
func (tb *tubeBuilder) covered(line int, m *machine.Move) {
	outside := false
	for _, pc := range tb.pieces {
		at := m.XY(pc.S0)
		switch {
		case pc.Where == surface.Hole:
			tb.fails.add(Failure{Line: line, X: at[0], Y: at[1], Kind: OverHole})
			return
		case pc.Where == surface.Outside && !tb.opt.OutsideHold:
			tb.fails.add(Failure{Line: line, X: at[0], Y: at[1], Kind: OffSurface})
			return
		case pc.Where == surface.Outside:
			outside = true
		}
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
