package follow

import (
	"math"
	"slices"

	"sagitta/internal/corridor"
	"sagitta/internal/focus"
	"sagitta/internal/machine"
	"sagitta/internal/stream"
	"sagitta/internal/surface"
)

// sameInstant is the time in s under which two gates are one. A tenth of a
// micrometre at the fastest rapids takes a hundred times longer.
const sameInstant = 1e-9

// arriveTime is the time in s that stands for a way of which nothing is known: so
// long that c changes on it as it likes.
const arriveTime = 60

// tubeBuilder turns moves into gates.
type tubeBuilder struct {
	*account
	pieces []surface.Piece
	gates  []corridor.Gate
	// asks are those that the head has of the gates.
	asks []headAsk
	// whole are pieces before they are divided, ends how far from the ends of one that is.
	whole []surface.Piece
	ends  []float64
	even  bool // the burn may be slowed beside others
	// tol is within what the height over a piece is meant to be straight, in mm.
	tol float64
	// low and high are the surface's extremes.
	low, high float64
	// still tells that a burn takes no time and keeps one c throughout.
	still bool
	tip   tip
	line  int // of the move that is added
	kind  int // of it, where it burns
	// burned is the kind of the burn that the last gate ends, or that is at it; -1 for
	// none.
	burned int
}

// restart leaves one gate, at the start of what comes next.
func (tb *tubeBuilder) restart() {
	tb.gates, tb.asks, tb.burned = append(tb.gates[:0], corridor.Open()), tb.asks[:0], -1
}

// differs reports whether a burn begins where one of another kind ends.
func (tb *tubeBuilder) differs(it *stream.Item) bool {
	return it.Move.Burn && tb.burned >= 0 && tb.burned != it.Kind
}

// add appends the gates of an item's move. The last gate so far is the move's
// start.
//
// Of a travel that an axis of is not known at its start, as before the program says
// where it is or after G28, G30 or G53, only the end counts: it has no path to take
// heights along, and no correction before.
func (tb *tubeBuilder) add(it *stream.Item) {
	m := &it.Move
	if m.Kind == machine.Still || !it.Known() {
		return
	}
	if m.Burn {
		tb.sum.burn(it)
		if fail, outside := Uncovered(it, tb.opt.OutsideHold); fail != nil {
			tb.fails.add(*fail)
		} else if outside {
			tb.sum.Outside++
		}
		if fail := tb.opt.unsure(it); fail != nil {
			tb.fails.add(*fail)
		}
	}
	tb.lead(it)
}

// lead appends the gates of an item that moves.
func (tb *tubeBuilder) lead(it *stream.Item) {
	m := &it.Move
	tb.line, tb.kind = it.Block.Line, it.Kind
	if m.FromUnknown || m.ZUnknown {
		tb.stroke()
		end := *m
		end.From, end.Length = m.To, 0
		tb.point(&end)
		return
	}
	// Its power must be known to go with the feed, and not to fall too low.
	tb.even = !tb.opt.PowerGoes(m) || it.During.PowerSaid && tb.opt.PowerLeast == 0
	tb.pieces = append(tb.pieces[:0], it.Pieces()...)
	if it.IsRun() { // the head is not in question on it
		tb.lay(m)
		return
	}
	tb.through(m)
}

// point takes what a place asks for, a move of no length, into the last gate.
func (tb *tubeBuilder) point(m *machine.Move) {
	tb.pieces = stream.AppendHeights(tb.pieces[:0], tb.opt.Surface, m, tb.tol, 0)
	tb.through(m)
}

// through appends the gates of a move over the pieces, with what the head asks.
func (tb *tubeBuilder) through(m *machine.Move) {
	first := len(tb.gates) - 1
	tb.cut(m)
	if !tb.still || !m.Burn {
		tb.divide(m)
	}
	tb.lay(m)
	tb.raise(first)
	tb.cross(m, first)
}

// lay appends the gates of a move over the pieces.
func (tb *tubeBuilder) lay(m *machine.Move) {
	first := len(tb.gates) - 1
	if n := len(tb.pieces); cap(tb.gates) < len(tb.gates)+n {
		tb.gates = slices.Grow(tb.gates, max(n, len(tb.gates)))
	}
	still := m.Length == 0 || tb.still && m.Burn
	slow := m.Burn && tb.opt.MaySlow(m)
	lift, lift1, aim := 0.0, 0.0, tb.opt.passes
	switch {
	case m.Burn:
		tb.gates[first].Meets = tb.gates[first].Meets || tb.burned >= 0 && tb.burned != tb.kind
		tb.burned, aim = tb.kind, tb.opt.aim(tb.kind)
	default:
		if lift, lift1 = tb.counted(m); m.Length > 0 {
			tb.burned = -1
		}
	}
	for k := range tb.pieces {
		pc := &tb.pieces[k]
		if pc.Up > tb.tol || pc.Down > tb.tol {
			tb.within(pc)
		}
		tb.narrow(pc.H0-(lift+pc.S0*(lift1-lift)), pc, m.Burn, &aim)
		dt := (pc.S1 - pc.S0) * m.Seconds
		if !still && dt > sameInstant {
			g := corridor.Open()
			g.DT, g.S, g.Length, g.Burn, g.Slow = dt, pc.S1, m.Length, m.Burn, slow
			g.Corner, g.Even = math.Inf(1), slow && tb.even
			tb.gates = append(tb.gates, g)
		}
		tb.narrow(pc.H1-(lift+pc.S1*(lift1-lift)), pc, m.Burn, &aim)
	}
	if last := len(tb.gates) - 1; last > first {
		tb.gates[last].S = 1 // the rest, if any, was no time at all
		tb.gates[last].Corner = 0
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

// narrow takes what a stretch asks of its end of height h into the last gate, by the aim
// of its kind.
func (tb *tubeBuilder) narrow(h float64, pc *surface.Piece, burn bool, aim *focus.Aim) {
	asks := corridor.Open()
	asks.Top, asks.High = h+pc.Up, h+pc.Up+aim.Defocus
	if burn {
		less := float64(pc.Less)
		if beyondSure(pc, aim.Depth) { // which is said already
			less = 0
		}
		asks.Top, asks.High, asks.Low = asks.Top+less, asks.High+less, h-pc.Down-less+aim.Defocus
	}
	if tb.opt.Kinds != nil {
		if asks.Depth = aim.Depth; burn {
			asks.Use = aim.Use
		}
	}
	tb.gates[len(tb.gates)-1].Take(&asks)
}

// limit takes the profile's range of Z into the gates of the move, from its
// first on.
func (tb *tubeBuilder) limit(m *machine.Move, first int) {
	o := tb.opt
	if o.ZMin == nil && o.ZMax == nil {
		return
	}
	for k := first; k < len(tb.gates); k++ {
		z := m.To.Z
		if s := tb.gates[k].S; m.Length > 0 && k == first {
			z = m.From.Z
		} else if m.Length > 0 {
			z = m.From.Z + s*(m.To.Z-m.From.Z)
		}
		lo, hi := math.Inf(-1), math.Inf(1)
		if o.ZMin != nil {
			lo = *o.ZMin - z
		}
		if o.ZMax != nil {
			hi = *o.ZMax - z
		}
		if step := o.ZResolution; o.Coarse(false) {
			lo, hi = math.Ceil(lo/step-rounding)*step, math.Floor(hi/step+rounding)*step
		}
		if !o.ZPlusAway {
			lo, hi = -hi, -lo
		}
		tb.gates[k].Limit(lo, hi)
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
