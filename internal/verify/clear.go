package verify

import (
	"math"

	"sagitta/internal/machine"
	"sagitta/internal/verify/extremes"
)

// headCheck holds the program to what the head needs.
type headCheck struct {
	over *extremes.Overhead // nil where the head is not known
	// focus is the Z away from the stock at which the focus is set: that of
	// the original's first burn, or 0 where no original was given.
	focus float64
	known bool
	// The travels before it is known, as far as there is room; of the others,
	// what the worst has asked, and where.
	waiting []tipMove
	most    float64
	mostAt  Failure
}

// waitingMoves is how many travels before the first burn are kept: more than
// jobs have, to home, rise and go there.
const waitingMoves = 64

// tipMove is a move that the tip makes: from z0 to z1 away from the stock, or at
// its end alone.
type tipMove struct {
	m      machine.Move
	still  bool
	z0, z1 float64
	fail   Failure // all but place and amount
}

func (c *check) newHeadCheck() headCheck {
	h := headCheck{known: c.orig == nil, most: math.Inf(-1)}
	if c.opt.Head != nil {
		h.over = extremes.NewOverhead(c.f, c.opt.Head.RadiusMM, c.opt.Head.Boxes)
	}
	return h
}

// overStock holds the step under way to the clearance of the head. The Z that
// is written counts, wherever it comes from.
func (c *check) overStock(burn bool, o *step) {
	h, s := &c.head, &c.s
	if h.over == nil || s.kind != motion && !burn {
		return
	}
	if burn && !h.known {
		c.setFocus(o)
	}
	if !s.known {
		return
	}
	m := &s.m
	t := tipMove{z0: c.sigma * m.From.Z, z1: c.sigma * m.To.Z}
	t.still = m.FromUnknown || m.ZUnknown || m.Length == 0
	if t.still {
		t.z0 = t.z1 // as for the focus: it ends at its lowest, or was there before
	}
	if h.known && h.over.High-min(t.z0, t.z1) <= c.tipFloor() {
		return
	}
	t.m, t.fail = *m, c.failure(HeadClose, o, 1, 0)
	switch {
	case h.known:
		c.holdTip(&t, c.tipFloor())
	case len(h.waiting) < waitingMoves:
		h.waiting = append(h.waiting, t)
	default:
		h.over.Look(&t.m, t.still, t.z0, t.z1, h.most)
		if v := max(h.over.Best, h.over.Open); v > h.most {
			h.most, h.mostAt = v, t.fail
		}
	}
}

// holdTip reports a move on which something stands over the floor.
func (c *check) holdTip(t *tipMove, floor float64) {
	v := c.head.over
	v.Look(&t.m, t.still, t.z0, t.z1, floor)
	f := t.fail
	f.Amount = v.Best - floor
	switch {
	case v.Hit && f.Amount > extremes.FoundMM:
	case v.Open-floor > 2*extremes.TipGapMM:
		f.Amount, f.Unproven = v.Open-floor, true
	default:
		return
	}
	if v.Hit && !t.still {
		at := t.m.XY(v.At)
		f.X, f.Y = at[0], at[1]
	}
	c.res.fail(f)
}

// tipFloor is the greatest of h - away that leaves the gap free.
func (c *check) tipFloor() float64 {
	d := 0.0
	if c.opt.ZMoves == ByHand {
		d = c.opt.DefocusMM // set by hand
	}
	return c.opt.Head.StandoffMM - c.opt.Head.GapMM + d - c.head.focus
}

// setFocus tells the Z at which the first burn runs, and judges the travels
// before it.
func (c *check) setFocus(o *step) {
	h := &c.head
	z := c.z
	if o != nil {
		z = o.m.From.Z
	}
	h.focus, h.known = c.sigma*z, true
	floor := c.tipFloor()
	for k := range h.waiting {
		c.holdTip(&h.waiting[k], floor)
	}
	h.waiting = nil
	if out := h.most - floor; out > extremes.FoundMM {
		h.mostAt.Amount = out
		c.res.fail(h.mostAt)
	}
}

// near follows how near the axis comes to the surface under the beam, against
// best focus.
func (c *check) near(e *extremes.Range, m *machine.Move) {
	if v := e.Lo + c.opt.DefocusMM; v < c.res.Nearest.MM {
		at := m.XY(e.AtLo)
		c.res.Nearest = Extreme{v, c.s.line, at[0], at[1]}
	}
}
