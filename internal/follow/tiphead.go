package follow

import (
	"math"

	"sagitta/internal/bench"
	"sagitta/internal/clearance"
	"sagitta/internal/corridor"
	"sagitta/internal/machine"
	"sagitta/internal/stream"
)

// What the travels before the first burn ask for the head over the stock: at
// which Z the focus is set is known only once that burn is met.

// early gives what a travel before the first burn asks of c + focus; way is that
// from where the head stands, nil of another.
func (tb *tubeBuilder) early(it *stream.Item, way *machine.Move) float64 {
	t, m := &tb.tip, &it.Move
	if t.Model == nil && !m.Loose || m.Kind == machine.Still || way == nil && !it.Known() {
		return math.Inf(-1)
	}
	if way != nil {
		m = way
	} else if m.Length == 0 || m.FromUnknown || m.ZUnknown {
		end := *m
		end.From, end.Length = m.To, 0
		m = &end
	} else {
		t.lastTravel = *m
	}
	z := clearance.Programmed(m, t.sigma, 0, 1)
	t.top = max(t.top, z)
	most := math.Inf(-1)
	if crosses(m) {
		most = tb.crossing(m) + tb.opt.lead() - z
		if most > t.most {
			t.most, t.mostAt = most, Failure{Line: it.Block.Line, X: m.To.X, Y: m.To.Y, Kind: NotFlat}
		}
	}
	if t.Model == nil {
		return most
	}
	if within := t.Within(clearance.Extent(m)) - z; within <= t.most {
		return max(most, within) // another travel asks for as much
	}
	t.ceil = t.Append(t.ceil[:0], m, 0)
	for _, c := range t.ceil {
		ask := c.High - clearance.Programmed(m, t.sigma, c.S0, c.S1)
		most = max(most, ask)
		if ask > t.most {
			at := m.XY(c.S0)
			t.most, t.mostAt = ask, Failure{Line: it.Block.Line, X: at[0], Y: at[1], Kind: HeadClose}
		}
	}
	return most
}

// setFocus tells the Z at which the first burn runs: the travels before it
// can now be judged.
func (f *runner) setFocus(h *pending) {
	from := h.Move.From
	f.sum.First, f.sum.Work, f.sum.Shifted = &from, h.During.Work, h.During.Offset != machine.Point{}
	if f.opt.Setting != nil {
		f.opt.Setup = f.opt.Setting(from)
	}
	t := &f.horizon.tube.tip
	t.focus, t.known = t.sigma*h.Move.From.Z, true
	if out := t.focus - t.allows; out > rounding {
		f.fails.at(h.Block.Line, h.Move.XY(0), HeadClose, out)
	}
	if f.opt.ZMoves == bench.ByHand {
		if out := t.most + t.focus - f.opt.Defocus; out > rounding {
			t.mostAt.Amount = out
			f.fails.add(t.mostAt)
		}
		return
	}
	m := &t.lastTravel
	if crosses(m) {
		f.staysUp()
		return
	}
	// The last travel may have to come down to the first burn's c (see
	// clearFall).
	if t.Model != nil && m.Length > 0 {
		from := max(0, 1-stream.ShortestCut/m.Length)
		t.ceil = t.Append(t.ceil[:0], m, from)
		for _, c := range t.ceil {
			f.horizon.tube.keepUp(0, c.High-clearance.Programmed(m, t.sigma, from, 1)+t.focus, h.Block.Line, 0)
		}
	}
}

// staysUp lets c be at the first burn what the loose rapid before it asks for,
// where Z cannot come down between them.
func (f *runner) staysUp() {
	n := len(f.horizon.blocks) - 1
	k := n
	for k > 0 && f.horizon.blocks[k-1].Move.Length == 0 {
		k--
	}
	if k == 0 || f.admitsAny(k, n) {
		return
	}
	if b := f.horizon.blocks[k-1]; crosses(&b.Move) {
		f.horizon.tube.keepUp(0, f.needed(b), b.Block.Line, 1)
	}
}

// needed is the lowest c that is clear on a block before the first burn.
func (f *runner) needed(h *pending) float64 {
	t, need := &f.horizon.tube.tip, h.need
	if from, to := f.horizon.tube.counted(&h.Move); min(from, to) > 0 { // as at a safe height
		need = min(need, h.top+leastLift-min(from, to))
	}
	if math.IsInf(h.needTip, -1) {
		return need
	}
	focus := t.focus
	if !t.known {
		focus = t.top // passPreamble notes what hangs on it
	}
	return max(need, h.needTip+focus)
}

// neededBefore is the lowest c that keeps the tip clear where a block of Z alone begins,
// before the first burn.
func (f *runner) neededBefore(h *pending) float64 {
	t := &f.horizon.tube.tip
	if !t.known || !h.ZOnly() || h.Move.ZUnknown || h.Move.Lost != 0 {
		return math.Inf(-1)
	}
	return h.needTip + t.focus + t.sigma*(h.Move.To.Z-h.Move.From.Z) // which is what it is where it ends, and its rise
}

// clearFall shortens the fall of c from was, over the last fall mm of a
// travel, until the tip is clear on it. Over the last stream.ShortestCut it is where
// it is clear at the end.
func (f *runner) clearFall(h *pending, was, c, fall float64) float64 {
	t := &f.horizon.tube.tip
	if t.Model == nil || !t.known {
		return fall
	}
	for m := &h.Move; fall > corridor.ClosestCut; fall /= 2 {
		from, worst := 1-fall/m.Length, math.Inf(-1)
		t.ceil = t.Append(t.ceil[:0], m, from)
		for _, p := range t.ceil {
			s0, s1 := from+p.S0*(1-from), from+p.S1*(1-from)
			worst = max(worst, p.High-clearance.Programmed(m, t.sigma, s0, s1)+t.focus-(was+(c-was)*p.S1))
		}
		if worst <= 0 {
			return fall
		}
	}
	return corridor.ClosestCut
}
