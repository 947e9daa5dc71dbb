package verify

import (
	"math"

	"sagitta/internal/bench"
	"sagitta/internal/machine"
	"sagitta/internal/verify/extremes"
)

// headCheck holds the program to what the head needs.
type headCheck struct {
	over []overDisk // from the tip up; none where the head is not known
	// focus is the Z away from the stock at which the focus is set, once known.
	focus float64
	known bool
	// The travels before it is known, as far as there is room; of the others,
	// what the worst has asked, and where.
	waiting []tipMove
	most    float64
	mostAt  Violation
}

// overDisk looks for what stands under a disk of the head, up mm over its tip.
type overDisk struct {
	*extremes.Overhead
	up float64
}

// look finds the greatest of h - z over floor under the whole head: the disk under
// which it was found, nil for nothing, how much it is, and what could not be ruled out.
func (h *headCheck) look(t *tipMove, floor float64) (hit *overDisk, best, open float64) {
	best, open = floor, math.Inf(-1)
	for k := range h.over {
		d := &h.over[k]
		d.Look(&t.m, t.z0+d.up, t.z1+d.up, best)
		best, open = max(best, d.Best), max(open, d.Open)
		if d.Hit {
			hit = d
		}
	}
	return hit, best, open
}

// waitingMoves is how many travels before the first burn are kept: more than
// jobs have, to home, rise and go there.
const waitingMoves = 64

// tipMove is a move that the tip makes: from z0 to z1 away from the stock.
type tipMove struct {
	m      machine.Move
	z0, z1 float64
	fail   Violation // all but place and amount
}

// Clear holds the step under way, a travel or a burn, to the clearance of the
// head. The Z that is written counts, wherever it comes from, and what the lens
// is raised by hand. o is the original's step.
func (j *Judge) Clear(raised float64, burn bool, o *Step) {
	if m := j.S.M; (j.S.Kind == Motion || burn) && j.S.Known {
		// As for the focus: it ends at its lowest, or was there before.
		j.hold(m, m.FromUnknown || m.ZUnknown || m.Length == 0, raised, o)
	}
}

// ClearWay does for a straight way from one place to another, before the step
// under way.
func (j *Judge) ClearWay(from, to machine.Point, raised float64) {
	j.hold(machine.Move{Kind: machine.Line, From: from, To: to}, false, raised, nil)
}

// hold holds a move, or its end alone, to the clearance of the head, at once where
// it is known from where it counts.
func (j *Judge) hold(m machine.Move, end bool, raised float64, o *Step) {
	h := &j.head
	if len(h.over) == 0 {
		return
	}
	if end {
		m.Kind, m.From = machine.Line, m.To
	}
	t := tipMove{m: m, z0: j.sigma*m.From.Z + raised, z1: j.sigma*m.To.Z + raised, fail: j.violation(HeadClose, o, 1, 0)}
	switch {
	case h.known:
		j.holdTip(&t, j.tipFloor())
	case len(h.waiting) < waitingMoves:
		h.waiting = append(h.waiting, t)
	default:
		if _, best, open := h.look(&t, h.most); max(best, open) > h.most {
			h.most, h.mostAt = max(best, open), t.fail
		}
	}
}

// holdTip reports a move on which something stands over the floor.
func (j *Judge) holdTip(t *tipMove, floor float64) {
	hit, best, open := j.head.look(t, floor)
	f := t.fail
	if hit != nil {
		at := t.m.XY(hit.At)
		f.X, f.Y = at[0], at[1]
	}
	j.Res.beyond(f, best-floor, open-floor, 2*extremes.TipGapMM)
}

// tipFloor is the greatest of h - z that leaves the gap free.
func (j *Judge) tipFloor() float64 {
	d := 0.0
	if j.Opt.ZMoves == bench.ByHand {
		d = j.Opt.DefocusMM // set by hand
	}
	return j.Opt.Head.Standoff - j.Opt.Head.Gap + d - j.head.focus
}

// SetFocus tells the Z, counted away from the stock, at which best focus is on
// the datum, and judges the travels before that was known.
func (j *Judge) SetFocus(z float64) {
	h := &j.head
	if h.known || len(h.over) == 0 {
		return
	}
	h.focus, h.known = z, true
	floor := j.tipFloor()
	for k := range h.waiting {
		j.holdTip(&h.waiting[k], floor)
	}
	h.waiting = nil
	if out := h.most - floor; out > extremes.FoundMM {
		h.mostAt.Amount = out
		j.Res.Fail(h.mostAt)
	}
}
