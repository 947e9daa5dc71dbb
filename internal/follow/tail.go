package follow

import (
	"math"
	"slices"

	"sagitta/internal/bench"
	"sagitta/internal/corridor"
	"sagitta/internal/focus"
	"sagitta/internal/machine"
)

// finish plans and writes what is left: the burns, then the travels after the
// last one, on which c returns to rest where that is clear.
func (f *runner) finish() error {
	if f.sum.Burns == 0 {
		return nil
	}
	f.sum.Closed.End()
	if f.opt.ZMoves != bench.ByHand {
		if f.lastBurn >= 0 {
			if err := f.finishBurns(); err != nil {
				return err
			}
		}
		if err := f.finishTail(); err != nil {
			return err
		}
	}
	return f.out.Finish()
}

// rest is where c ends. A program in G91 ends where it began, without the wanted
// defocus: run once more it would add it once more.
func (f *runner) rest() float64 {
	if f.sum.Relative {
		return 0
	}
	return f.opt.Defocus
}

// finishBurns plans up to the last burn, or where what the head runs out of it on ends.
func (f *runner) finishBurns() error {
	last := f.runOut()
	end := int(f.horizon.blocks[last].g1)
	all := f.horizon.tube.gates
	f.horizon.tube.gates = all[:end+1]
	f.planTo(end)
	f.horizon.tube.gates = all
	return f.write(last + 1)
}

// runOut is the travel by a feed that the head goes on with from the last burn, where it has
// inertia and does not stand between: c had better not stand still at once. Else it is the burn.
func (f *runner) runOut() int {
	blocks := f.horizon.blocks
	if g := int(blocks[f.lastBurn].g1); f.opt.Inertia == nil || f.horizon.tube.gates[g].Corner == 0 {
		return f.lastBurn
	}
	for k, h := range blocks[f.lastBurn+1:] {
		if h.Moves() {
			if h.Travels() && !h.Move.Rapid && h.g1 > h.g0 {
				return f.lastBurn + 1 + k
			}
			break
		}
	}
	return f.lastBurn
}

// finishTail lays the travels after the last burn. c stays what it is, but where that
// is not clear, until it goes back to rest: on a move of Z alone that the program has
// there, or in a block of its own.
func (f *runner) finishTail() error {
	tb, n := &f.horizon.tube, len(f.horizon.blocks)
	up := f.closeHeight()
	last := len(tb.gates) - 1
	if last == 0 {
		return f.finishStanding()
	}
	f.horizon.start.Peak, f.horizon.start.PeakBurn = 0, 0
	if up || !f.before(n).ZKnown { // nothing is left to bring back
		return f.write(f.planTo(last))
	}
	target, end := f.endTarget()
	way := f.lastMotion()
	f.trace.approach(target, end.Top, way, 1)
	if k, rides := f.returnAt(target); k >= 0 {
		f.returnFrom(k, rides, target)
	} else if !f.mayEnd() && way != nil && way.Move.Rapid {
		tb.gates[last].Limit(target, target)
	}
	if err := f.write(f.planTo(len(tb.gates) - 1)); err != nil {
		return err
	}
	if math.Abs(f.horizon.start.C-target) > f.opt.Step(false)/2 && f.mayEnd() {
		f.out.EndZ(target)
		f.horizon.start.C = target
	}
	f.sum.EndAbove = f.horizon.start.C - f.rest()
	return nil
}

// endTarget is where c is to end: at rest, or as low as is clear where the program
// ends, which the gate tells. Nothing has to be sharp any more there.
func (f *runner) endTarget() (target float64, g corridor.Gate) {
	tb := &f.horizon.tube
	last := len(tb.gates) - 1
	g = tb.gates[last]
	if f.crossed { // what the way there asks for does not count any more
		asks := len(tb.asks)
		tb.gates = append(tb.gates, corridor.Open())
		f.stand(f.before(len(f.horizon.blocks)))
		g = tb.gates[last+1]
		tb.gates, tb.asks = tb.gates[:last+1], tb.asks[:asks]
	}
	target = max(f.rest(), g.Window(f.opt.Depth, 1).Lo)
	if out := target - g.Max; out > rounding {
		f.horizon.fail(last, OutOfRange, out)
	}
	return target, g
}

// lastMotion is the last block that moves, nil for none.
func (f *runner) lastMotion() *pending {
	for _, h := range slices.Backward(f.horizon.blocks) {
		if h.Moves() {
			return h
		}
	}
	return nil
}

// returnAt finds where c goes to the target for good, once the beam is off: on a move
// of Z alone that the program has, which rides then tells, or before a block. It is
// -1 where c is to stay to the end, or there is no such place.
//
// c rises as soon as that is clear to the end, and falls as late as may be, as it does
// where the program ends at a safe height. A retract in G91 to one is left as it is.
func (f *runner) returnAt(target float64) (k int, rides bool) {
	blocks, gates := f.horizon.blocks, f.horizon.tube.gates
	c, clear, last := f.horizon.start.C, len(gates), len(gates)-1
	for clear > 0 {
		// What the burn before it bounds from above does not count any more.
		if g := &gates[clear-1]; target < f.horizon.planner.Usual(g).Lo-rounding || target > g.Max+rounding {
			break
		}
		clear--
	}
	moves := 0 // the first block behind all that moves
	for k, h := range blocks {
		if h.ZOnly() && !h.held && (int(h.g1) >= clear || int(h.g1) == last) && f.takes(h, c, target) && f.before(k).Beam != machine.On {
			return k, true
		}
		if h.Moves() {
			moves = k + 1
		}
	}
	ends := slices.IndexFunc(blocks, func(h *pending) bool { return h.Actions.Ends })
	at := -1
	for k, h := range blocks {
		if ends >= 0 && k > ends {
			break
		}
		st, here := f.before(k), int(h.g0)
		if !f.admits(k) || !st.XKnown || !st.YKnown || k < moves && (!h.Moves() || here < clear && (here < last || f.crossed)) {
			continue
		}
		if at = k; k >= moves || target > c && f.aloft.state == low {
			return at, false
		}
	}
	if f.mayEnd() {
		return -1, false
	}
	return at, false
}

// returnFrom lets c be the target from block k on: on it, where it rides, or before it.
func (f *runner) returnFrom(k int, rides bool, target float64) {
	tb, blocks := &f.horizon.tube, f.horizon.blocks
	gate := blocks[k].g0
	g := stroke()
	g.DT = corridor.LongTime
	g.Limit(target, target)
	for _, was := range tb.gates[gate+1:] { // all of them are clear there
		was.Min, was.Max = math.Inf(-1), math.Inf(1)
		g.Take(&was)
	}
	tb.cutBack(int(gate))
	tb.gates = append(tb.gates, g)
	for _, h := range blocks[k:] {
		h.g0, h.g1 = gate+1, gate+1
	}
	if blocks[k].stroke = !rides; rides {
		blocks[k].g0 = gate
	}
}

// finishStanding brings c back where nothing moves after the last burn.
func (f *runner) finishStanding() error {
	g, c, half := &f.horizon.tube.gates[0], f.horizon.start.C, f.opt.Step(false)/2
	clear := min(f.horizon.planner.Lowest(g), c) // where the burn could end, c may stay
	// Nothing has to be sharp any more where c changes, and in G91 each run would end
	// higher.
	whole := g.Window(f.opt.Depth, 1).Lo
	if f.sum.Relative || max(f.rest(), clear) < c-half {
		clear = min(clear, whole)
	}
	if clear > g.Max { // by the whole depth it may still be clear
		clear = max(g.Max, whole)
	}
	target := max(f.rest(), clear)
	if f.freed && math.Abs(target-c) > half {
		// The last burn has cut a piece free under the head: it rises from over it, or stays.
		if target = max(target, f.overHead()); target > g.Max {
			target = c
		}
	}
	if out := target - g.Max; out > rounding {
		f.horizon.fail(0, OutOfRange, out)
	}
	f.standAt(target, g.Top)
	f.sum.EndAbove = target - f.rest()
	if !f.before(len(f.horizon.blocks)).ZKnown {
		f.sum.EndAbove = 0
		target = c // nothing is left to bring back
	}
	if math.Abs(target-c) > half {
		return f.returnStanding(target)
	}
	for _, h := range f.horizon.blocks {
		h.plan.C = target
	}
	return f.write(len(f.horizon.blocks))
}

// standAt notes how near the lens comes to the stock where the program ends at correction c.
func (f *runner) standAt(c, top float64) {
	if n := len(f.horizon.blocks); f.trace.closer(c, top) && n > 0 {
		at := f.before(n).At
		f.sum.Nearest = focus.Extreme{MM: c - top, X: at.X, Y: at.Y, Line: f.horizon.blocks[n-1].Block.Line}
	}
}

// overHead is the lowest c at which the head is clear where the program ends.
func (f *runner) overHead() float64 {
	t := &f.horizon.tube.tip
	end := &f.before(len(f.horizon.blocks)).At
	return t.Highest(&machine.Move{Kind: machine.Line, From: *end, To: *end}) + t.focus - t.sigma*end.Z
}

// mayEnd reports whether a block of Z alone may stand behind the last block.
func (f *runner) mayEnd() bool {
	st, stopped := f.before(len(f.horizon.blocks)), f.out.Stopped()
	for _, h := range f.horizon.blocks {
		stopped = h.Actions.Ends || stopped && !h.Moves()
	}
	return !stopped && st.Beam != machine.On && st.Settled && st.XKnown && st.YKnown
}

// returnStanding takes c to the target where nothing moves after the last
// burn: in a block of Z alone once the beam is off.
func (f *runner) returnStanding(target float64) error {
	c, back, ended := f.horizon.start.C, false, f.out.Stopped()
	for k, h := range f.horizon.blocks {
		if !back && !ended && f.admits(k) {
			c, back = target, true
			h.plan.Before, h.plan.Stroke = target, true
		}
		h.plan.C = c
		ended = ended || h.Actions.Ends
	}
	if err := f.write(len(f.horizon.blocks)); err != nil || back {
		return err
	}
	if !f.mayEnd() {
		f.sum.EndAbove = f.horizon.start.C - f.rest()
		return nil
	}
	f.out.EndZ(target)
	return nil
}

// flat checks the horizon at the rest value and passes its blocks on: Z is
// set by hand.
func (f *runner) flat() error {
	h := f.horizon.blocks[0]
	worst, s, kind := 0.0, 0.0, NotFlat
	for k := range f.horizon.tube.gates {
		g := &f.horizon.tube.gates[k]
		w := g.Window(f.opt.Depth, 1)
		f.trace.approach(f.opt.Defocus, g.Top, h, g.S)
		if out := max(w.Lo-f.opt.Defocus, f.opt.Defocus-w.Hi); out > max(worst, rounding) {
			worst, s, kind = out, g.S, NotFlat
			if f.horizon.tube.askOf(k) != nil && w.Lo == g.Min && out == w.Lo-f.opt.Defocus {
				kind = HeadClose
			}
			if f.horizon.tube.still && h.Move.Burn { // one gate for the whole burn
				s = f.horizon.tube.furthest()
			}
		}
	}
	if worst > 0 {
		f.fails.at(h.Block.Line, h.Move.XY(s), kind, worst)
	}
	h.plan.C = 0 // the wanted defocus is set by hand as well
	f.out.Pass(h.Item, h.plan)
	f.drop(h)
	f.horizon.blocks = f.horizon.blocks[:0]
	f.horizon.tube.restart()
	return f.out.Err()
}
