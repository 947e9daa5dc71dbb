package follow

import (
	"math"

	"sagitta/internal/machine"
)

// toldWithin is how closely the heights are known that the figures of the depth
// spent come from, as a part of the depth.
const toldWithin = 0.005

// tellClosely looks closer at the rough burns up to gate end, and at the one that
// begins there, where their bounds, held against the path that is planned, say
// that more of the depth is spent than has been so far: what leaves the string
// alone may be loose, what is told may not.
func (f *runner) tellClosely(end int) {
	near, far := f.sum.Near, f.sum.Far
	for _, h := range f.blocks {
		if int(h.g0) > end {
			break
		}
		if !h.rough {
			continue
		}
		c0, c1 := f.c[h.g0], f.c[h.g1]
		if over, under := h.spends(c0, c1); over > near || under > far {
			over, under = f.spentOn(h, c0, c1, near, far)
			h.bindBeside(c0, c1, over, under)
			f.ask(h, h.bound[0], h.bound[1])
		}
		over, under := h.spends(c0, c1)
		near, far = max(near, over), max(far, under)
	}
}

// spends is what a straight path from correction c0 to c1 spends of the depth over
// a rough burn at most, nearer than best focus and beyond it, in mm.
func (h *held) spends(c0, c1 float64) (over, under float64) {
	b := &h.bound
	return max(b[0].a-c0, b[1].a-c1), max(c0-b[0].b, c1-b[1].b)
}

// spentOn is spends as closely as it can be known where that is more than near or
// far.
func (f *runner) spentOn(h *held, c0, c1, near, far float64) (over, under float64) {
	if !h.loose {
		return f.spentAlong(&h.mv, c0, c1)
	}
	o := f.opt
	within := toldWithin * (o.Depth.Near + o.Depth.Far)
	slope := (c1 - c0) / h.mv.Length
	over, under = math.Inf(-1), math.Inf(-1)
	d, e0 := h.startD, h.pieces[0].H0+o.Defocus-c0
	for k := h.first; k < h.end; k++ {
		l, end := &h.batch.looks[k], h.batch.marks[k].D
		off := float64(l.off)
		e1 := l.h + o.Defocus - c0 - slope*(end-h.startD)
		high, low := max(e0, e1)+off, off-min(e0, e1)
		if off > within && (high > near || low > far) {
			m := f.moveOf(h, k)
			high, low = f.spentAlong(&m, c0+slope*(d-h.startD), c0+slope*(end-h.startD))
		}
		over, under = max(over, high), max(under, low)
		d, e0 = end, e1
	}
	return over, under
}

// spentAlong is spends over a move all of whose heights are looked at.
func (f *runner) spentAlong(m *machine.Move, c0, c1 float64) (over, under float64) {
	f.tube.along(m)
	over, under = math.Inf(-1), math.Inf(-1)
	for k := range f.tube.pieces {
		p := &f.tube.pieces[k]
		e0 := p.H0 + f.opt.Defocus - c0 - p.S0*(c1-c0)
		e1 := p.H1 + f.opt.Defocus - c0 - p.S1*(c1-c0)
		over, under = max(over, max(e0, e1)+p.Up), max(under, p.Down-min(e0, e1))
	}
	return over, under
}
