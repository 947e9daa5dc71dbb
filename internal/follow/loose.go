package follow

import (
	"math"

	"sagitta/internal/clearance"
	"sagitta/internal/corridor"
	"sagitta/internal/machine"
)

// Where rapids are loose (see machine.Move), nobody knows over what one passes. So
// c serves all of its rectangle at both of its ends, and where what is on the other
// side of an end has no room for that, c changes there in a block of Z alone: the
// head rises, crosses, and comes down.

// crossing is the highest that a loose rapid may pass over, less what the program
// lifts it over the first burn, once that is known.
func (tb *tubeBuilder) crossing(m *machine.Move) float64 {
	x0, y0, x1, y1 := clearance.Extent(m)
	high := tb.opt.Surface.HighestIn(x0, y0, x1, y1, tb.opt.Lateral(), tb.tol)
	if tb.tip.known {
		high -= max(0, clearance.Programmed(m, tb.tip.sigma, 0, 1)-tb.tip.focus)
	}
	return high
}

// crosses reports whether a move is a loose rapid of which the ends are known.
func crosses(m *machine.Move) bool { return m.Crosses() && !m.ZUnknown }

// cross takes what a loose rapid asks for into its gates, from the first on.
func (tb *tubeBuilder) cross(m *machine.Move, first int) {
	if !crosses(m) || !tb.tip.known {
		return
	}
	least := tb.crossing(m) + tb.opt.lead()
	for k := first; k < len(tb.gates); k++ {
		tb.gates[k].Limit(least, math.Inf(1))
	}
}

// gap is by how much a gate is closed to a path that spends no more than it is to; 0
// or less where it is open.
func (p *horizon) gap(gate int) float64 { return -p.planner.Drawn(&p.tube.gates[gate]).Width() }

// addCrossing adds the gates of block i where rapids are loose, or a piece has come free
// under the head, or burns of two kinds meet: with a stroke of Z before a loose one, or
// after one, or away from the piece, or between the burns while the beam is off, where
// its end is closed otherwise.
func (f *runner) addCrossing(i int) {
	h, tb := f.horizon.blocks[i], &f.horizon.tube
	last := len(tb.gates) - 1
	was, asks := tb.gates[last], len(tb.asks)
	after, differs := f.crossed, tb.differs(h.Item)
	if h.Move.Length > 0 {
		f.crossed = crosses(&h.Move)
	}
	tb.add(h.Item)
	gap := f.horizon.gap(last)
	loose := after || crosses(&h.Move)
	if gap <= rounding || !loose && !differs && !(f.freed && f.admits(i)) {
		return
	}
	k := i
	for (after || differs) && k > 0 && f.horizon.blocks[k-1].Move.Length == 0 && !(differs && f.horizon.blocks[k-1].Move.Burn) && !f.admits(k) {
		k--
	}
	if differs && !f.admits(k) {
		return // they meet, and the gate serves both
	}
	if !f.admits(k) {
		f.fails.at(h.Block.Line, h.Move.XY(0), NoStroke, gap)
	}
	tb.gates[last] = was
	tb.gates, tb.asks = tb.gates[:last+1], tb.asks[:asks]
	tb.stroke()
	f.horizon.blocks[k].stroke = true
	f.stand(f.before(k))
	f.move(k, i)
	if h.Move.Kind != machine.Still {
		tb.lead(h.Item)
	}
}

// stand takes what it asks to stand somewhere into the last gate.
func (f *runner) stand(st *machine.State) {
	f.horizon.tube.point(&machine.Move{Kind: machine.Line, From: st.At, To: st.At})
}

// move lets blocks from k up to i, of no length, stand at the last gate; block i too,
// whatever its length.
func (f *runner) move(k, i int) {
	tb := &f.horizon.tube
	at := int32(len(tb.gates) - 1)
	for _, b := range f.horizon.blocks[k:i] {
		b.g0, b.g1 = at, at
		if b.Move.Kind != machine.Still && b.Known() {
			tb.lead(b.Item)
		}
	}
	f.horizon.blocks[i].g0, f.horizon.blocks[i].g1 = at, at
}

// stroke appends a gate to which c comes as it likes.
func (tb *tubeBuilder) stroke() {
	tb.gates, tb.burned = append(tb.gates, stroke()), -1
}

// stroke is a gate to which c comes as it likes.
func stroke() corridor.Gate {
	g := corridor.Open()
	g.DT = arriveTime
	return g
}
