package follow

import (
	"math"

	"sagitta/internal/machine"
	"sagitta/internal/rewrite"
)

// finish plans and writes what is left: the burns, then the travels after the
// last one, on which c returns to rest where that is clear.
func (f *runner) finish() error {
	if f.sum.Burns == 0 {
		return nil
	}
	if f.opt.ZMoves != rewrite.ByHand {
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
	if f.relative {
		return 0
	}
	return f.opt.Defocus
}

// finishBurns plans up to the last burn, and on to where a block of Z alone
// can take c back to rest.
func (f *runner) finishBurns() error {
	fold := f.foldTail()
	end := int(f.blocks[f.lastBurn].g1)
	if fold >= 0 {
		end = int(f.blocks[fold].g1)
	}
	all := f.tube.gates
	f.tube.gates = all[:end+1]
	n := f.planTo(end)
	f.tube.gates = all
	if fold >= 0 && !f.takes(f.blocks[fold], f.blocks[fold].plan.C, f.rest()) {
		n, fold = fold+1, -1
	} else if fold >= 0 {
		for _, h := range f.blocks[fold:n] {
			h.plan.C = f.rest()
		}
	} else {
		n = f.lastBurn + 1
	}
	if err := f.write(n); err != nil {
		return err
	}
	if fold >= 0 {
		f.start.C = f.rest()
	}
	return nil
}

// foldTail finds the first travel of Z alone after the last burn from which
// on the rest value is clear to the end, or -1.
func (f *runner) foldTail() int {
	fold := -1
	clear := len(f.tube.gates)
	for clear > 0 && f.planner.Lowest(&f.tube.gates[clear-1]) <= f.rest() {
		clear--
	}
	for k := len(f.blocks) - 1; k > f.lastBurn; k-- {
		if h := f.blocks[k]; h.ZOnly() && int(h.g1) >= clear {
			fold = k
		}
	}
	return fold
}

// finishTail lays the travels after the last burn.
func (f *runner) finishTail() error {
	rest := f.rest()
	last := len(f.tube.gates) - 1
	g := &f.tube.gates[last]
	clear := f.planner.Lowest(g)
	if last == 0 {
		clear = min(clear, f.start.C) // where the burn could end, c may stay
	}
	if f.relative { // each run would end higher, so as low as the depth allows
		clear = min(clear, max(g.Min, g.Window(f.opt.Depth, 1).Lo))
	}
	if clear > g.Max { // by the whole depth it may still be clear
		clear = max(g.Max, g.Window(f.opt.Depth, 1).Lo)
	}
	target := max(rest, clear)
	if out := target - g.Max; out > rounding {
		f.fail(last, OutOfRange, out)
	}
	f.sum.EndAbove = target - rest
	if f.lostAtEnd() {
		f.sum.EndAbove = 0
		if last == 0 {
			target = f.start.C // nothing is left to bring back
		}
	}
	if last == 0 {
		if math.Abs(target-f.start.C) > f.opt.Step(false)/2 {
			return f.returnStanding(target)
		}
		for _, h := range f.blocks {
			h.plan.C = target
		}
		return f.write(len(f.blocks))
	}
	g.Min, g.Max = target, target
	f.start.Peak, f.start.PeakBurn = 0, 0
	n := f.planTo(last)
	return f.write(n)
}

// returnStanding takes c to the target where nothing moves after the last
// burn: in a block of Z alone once the beam is off.
func (f *runner) returnStanding(target float64) error {
	at := -1
	for k, h := range f.blocks {
		if f.admits(k) && !f.out.Stopped() {
			at = k
			h.plan.Before, h.plan.Stroke = target, true
			break
		}
		if h.Actions.Ends {
			break
		}
	}
	for k, h := range f.blocks {
		h.plan.C = f.start.C
		if at >= 0 && k >= at {
			h.plan.C = target
		}
	}
	if err := f.write(len(f.blocks)); err != nil || at >= 0 {
		return err
	}
	if f.out.Stopped() || f.out.State().Beam == machine.On || !f.out.State().Settled {
		f.sum.EndAbove = f.start.C - f.rest()
		return nil
	}
	f.out.EndZ(target)
	return nil
}

// flat checks the window at the rest value and passes its blocks on: Z is
// set by hand.
func (f *runner) flat() error {
	h := f.blocks[0]
	worst, s, kind := 0.0, 0.0, NotFlat
	for k := range f.tube.gates {
		w := f.tube.gates[k].Window(f.opt.Depth, 1)
		f.path.approach(f.opt.Defocus, f.tube.gates[k].High, h, f.tube.gates[k].S)
		if out := max(w.Lo-f.opt.Defocus, f.opt.Defocus-w.Hi); out > max(worst, rounding) {
			worst, s, kind = out, f.tube.gates[k].S, NotFlat
			if g := &f.tube.gates[k]; f.tube.askOf(k) != nil && w.Lo == g.Min && out == w.Lo-f.opt.Defocus {
				kind = HeadClose
			}
			if f.tube.still && h.Move.Burn { // one gate for the whole burn
				s = f.tube.furthest()
			}
		}
	}
	if worst > 0 {
		at := h.Move.XY(s)
		f.fails.add(Failure{Line: h.Block.Line, X: at[0], Y: at[1], Kind: kind, Amount: worst})
	}
	h.plan.C = 0 // the wanted defocus is set by hand as well
	f.out.Pass(h.Item, h.plan)
	f.drop(h)
	f.blocks = f.blocks[:0]
	f.tube.restart()
	return f.out.Err()
}
