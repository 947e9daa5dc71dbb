package follow

import (
	"math"

	"sagitta/internal/bench"
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

// finishBurns plans up to the last burn, and on to where a block of Z alone
// can take c back to rest.
func (f *runner) finishBurns() error {
	last, fold := f.lastBurn, f.foldTail()
	if fold >= 0 {
		last = fold
	}
	end := int(f.horizon.blocks[last].g1)
	all := f.horizon.tube.gates
	f.horizon.tube.gates = all[:end+1]
	n := f.planTo(end)
	f.horizon.tube.gates = all
	if h := f.horizon.blocks[last]; fold < 0 || !f.takes(h, h.plan.C, f.rest()) {
		return f.write(last + 1)
	}
	for _, h := range f.horizon.blocks[fold:n] {
		h.plan.C = f.rest()
	}
	err := f.write(n)
	f.horizon.start.C = f.rest()
	return err
}

// foldTail finds the first travel of Z alone after the last burn from which
// on the rest value is clear to the end, or -1.
func (f *runner) foldTail() int {
	fold := -1
	clear := len(f.horizon.tube.gates)
	for clear > 0 && f.horizon.planner.Lowest(&f.horizon.tube.gates[clear-1]) <= f.rest() {
		clear--
	}
	for k := len(f.horizon.blocks) - 1; k > f.lastBurn; k-- {
		if h := f.horizon.blocks[k]; h.ZOnly() && int(h.g1) >= clear {
			fold = k
		}
	}
	return fold
}

// finishTail lays the travels after the last burn.
func (f *runner) finishTail() error {
	rest := f.rest()
	behind, low := f.comeDown()
	last := len(f.horizon.tube.gates) - 1
	g := &f.horizon.tube.gates[last]
	clear := f.horizon.planner.Lowest(g)
	if last == 0 {
		clear = min(clear, f.horizon.start.C) // where the burn could end, c may stay
	}
	// Nothing has to be sharp any more where c changes, and in G91 each run would end
	// higher.
	if last > 0 || f.sum.Relative || max(rest, clear) < f.horizon.start.C-f.opt.Step(false)/2 {
		clear = min(clear, max(g.Min, g.Window(f.opt.Depth, 1).Lo))
	}
	if clear > g.Max { // by the whole depth it may still be clear
		clear = max(g.Max, g.Window(f.opt.Depth, 1).Lo)
	}
	target := max(rest, clear)
	if last == 0 && f.freed && math.Abs(target-f.horizon.start.C) > f.opt.Step(false)/2 {
		// The last burn has cut a piece free under the head: it rises from over it, or stays.
		if target = max(target, f.overHead()); target > g.Max {
			target = f.horizon.start.C
		}
	}
	if out := target - g.Max; out > rounding {
		f.horizon.fail(last, OutOfRange, out)
	}
	f.sum.EndAbove = target - rest
	if !f.before(len(f.horizon.blocks)).ZKnown {
		f.sum.EndAbove = 0
		if last == 0 {
			target = f.horizon.start.C // nothing is left to bring back
		}
	}
	if last == 0 {
		if math.Abs(target-f.horizon.start.C) > f.opt.Step(false)/2 {
			return f.returnStanding(target)
		}
		for _, h := range f.horizon.blocks {
			h.plan.C = target
		}
		return f.write(len(f.horizon.blocks))
	}
	g.Min, g.Max = target, target
	f.horizon.start.Peak, f.horizon.start.PeakBurn = 0, 0
	n := f.planTo(last)
	if err := f.write(n); err != nil || !behind || low >= target-f.opt.Step(false)/2 || !f.mayEnd() {
		return err
	}
	f.out.EndZ(low)
	f.sum.EndAbove = low - rest
	return nil
}

// overHead is the lowest c at which the head is clear where the program ends.
func (f *runner) overHead() float64 {
	t := &f.horizon.tube.tip
	end := &f.before(len(f.horizon.blocks)).At
	return t.Highest(&machine.Move{Kind: machine.Line, From: *end, To: *end}) + t.focus - t.sigma*end.Z
}

// mayEnd reports whether a block of Z alone may stand behind the last block.
func (f *runner) mayEnd() bool {
	return !f.out.Stopped() && f.out.State().Beam != machine.On && f.out.State().Settled
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
		f.trace.approach(f.opt.Defocus, g.High, h, g.S)
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
