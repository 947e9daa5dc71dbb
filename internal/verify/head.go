package verify

import (
	"math"

	"sagitta/internal/machine"
	"sagitta/internal/verify/extremes"
)

// headCheck holds the program to what the head needs, or the sharp lens, which is a
// point that must stay within its depth over the surface.
type headCheck struct {
	over []overDisk // from the tip up; none where it is not known, or not asked for
	kind Kind
	// room is by how much what stands there may be over where the focus is, that
	// of the datum being 0.
	room float64
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

// find looks for what stands over a floor on a move. Of a loose rapid all that it
// may come by counts.
func (d *overDisk) find(t *tipMove, floor float64) {
	least := min(t.z0, t.z1) + d.up
	switch {
	case !t.m.Loose:
		d.Look(&t.m, t.z0+d.up, t.z1+d.up, floor)
	case t.m.From.X == t.m.To.X || t.m.From.Y == t.m.To.Y:
		d.Look(&t.m, least, least, floor)
	default:
		d.Best, d.Hit, d.Open = floor, false, d.Over(&t.m)-least
	}
}

// look finds the greatest of h - z over floor under the whole head: the disk under
// which it was found, nil for nothing, how much it is, and what could not be ruled out.
func (h *headCheck) look(t *tipMove, floor float64) (hit *overDisk, best, open float64) {
	best, open = floor, math.Inf(-1)
	for k := range h.over {
		d := &h.over[k]
		d.find(t, best)
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
		j.hold(&j.head, m, m.FromUnknown || m.ZUnknown || m.Length == 0, raised, o)
	}
}

// cutsFree lets a piece stand up that the steps before have cut free, and takes the step
// under way into the burn that may cut another.
func (j *Judge) cutsFree(burn bool) {
	h, m := j.Opt.Head, &j.S.M
	if h == nil || h.FreedMM == nil || j.S.Kind != Motion {
		return
	}
	if lo, hi, free := j.loop.left(m, burn); free {
		piece := standing(j.f, lo, hi, *h.FreedMM)
		for k := range j.head.over {
			j.head.over[k].Add(piece)
		}
	}
	if burn {
		j.loop.take(m, j.Tolerance())
	}
}

// ClearHere does for where the head stands at a word, the step under way.
func (j *Judge) ClearHere(raised float64) { j.hold(&j.head, j.S.M, true, raised, nil) }

// hold holds a move, or its end alone, to a clearance, at once where it is known
// from where it counts.
func (j *Judge) hold(h *headCheck, m machine.Move, end bool, raised float64, o *Step) {
	if len(h.over) == 0 {
		return
	}
	if end {
		m.Kind, m.Loose, m.From = machine.Line, false, m.To
	}
	t := tipMove{m: m, z0: j.sigma*m.From.Z + raised, z1: j.sigma*m.To.Z + raised, fail: j.violation(h.kind, o, 1, 0)}
	switch {
	case h.known:
		h.hold(&t, j.Res)
	case len(h.waiting) < waitingMoves:
		h.waiting = append(h.waiting, t)
	default:
		if _, best, open := h.look(&t, h.most); max(best, open) > h.most {
			h.most, h.mostAt = max(best, open), t.fail
		}
	}
}

// floor is the greatest of h - z that is clear.
func (h *headCheck) floor() float64 { return h.room - h.focus }

// hold reports a move on which something stands over the floor.
func (h *headCheck) hold(t *tipMove, res *Result) {
	hit, best, open := h.look(t, h.floor())
	f := t.fail
	if hit != nil {
		at := t.m.XY(hit.At)
		f.X, f.Y = at[0], at[1]
	}
	res.beyond(f, best-h.floor(), open-h.floor(), 2*extremes.TipGapMM)
}

// SetFocus tells the Z, counted away from the stock, at which best focus is on
// the datum, and judges the travels before that was known.
func (j *Judge) SetFocus(z float64) {
	j.head.setFocus(z, j.Res)
	j.lens.setFocus(z, j.Res)
	if !j.lifts.known {
		j.lifts.focus, j.lifts.known = z, true
		j.lookBack()
	}
}

func (h *headCheck) setFocus(z float64, res *Result) {
	if h.known || len(h.over) == 0 {
		return
	}
	h.focus, h.known = z, true
	for k := range h.waiting {
		h.hold(&h.waiting[k], res)
	}
	h.waiting = nil
	if out := h.most - h.floor(); out > extremes.FoundMM {
		h.mostAt.Amount = out
		res.Fail(h.mostAt)
	}
}

// crosses reports whether the step under way is a loose rapid of which the ends are
// known.
func (j *Judge) crosses() bool { return j.S.M.Crosses() && !j.S.M.ZUnknown && j.S.Known }

// across holds a loose rapid to the clearance of the sharp lens, by its correction,
// or by its Z where the program lifts it.
func (j *Judge) across(c0, c1 float64, o *Step) {
	m := &j.S.M
	if !j.crosses() {
		return
	}
	h := &j.lens
	if _, best, open := h.look(&tipMove{m: *m, z0: min(c0, c1), z1: min(c0, c1)}, h.room); max(best, open) > h.room+2*extremes.TipGapMM {
		j.hold(h, *m, false, 0, o)
	}
}
