package follow

import (
	"math"

	"sagitta/internal/machine"
	"sagitta/internal/surface"
)

// reach is what the string has to stay within over what is known, in mm: it may
// lie so far nearer than where it is wanted and so far beyond. Where a gate asks
// for more than the string's part of the depth, the bounds next to it get no more
// for that.
type reach struct{ near, far float64 }

func newReach(o *Options) reach {
	part := narrowing * o.Use
	return reach{part * o.Depth.Near, part * o.Depth.Far}
}

// out tells that the correction, higher by e0 and e1 than where it is wanted over
// the ends of a line, leaves bounds so far off its straight line.
func (r reach) out(e0, e1, off float64) bool {
	return min(e0, e1)+r.near < off-outOfBounds || r.far-max(e0, e1) < off-outOfBounds
}

// rebound bounds the heights over a loose chunk by what leaves the string, as it
// lies now, most room: two straight lines beside it. It reports false where the
// string leaves the bounds of a line, however closely that is looked at.
func (f *runner) rebound(h *held) bool {
	r, b := f.reach, h.batch
	c0, c1 := f.c[h.g0], f.c[h.g1]
	start, slope := c0-f.opt.Defocus, (c1-c0)/h.mv.Length
	e0 := start - h.pieces[0].H0
	// The room that is left above the heights, and below them. All branches
	// but those at the ends of loops are hardly ever taken.
	over, under := math.Inf(1), math.Inf(1)
	marks, looks := b.marks[h.first:h.end], b.looks[h.first:h.end]
	looks = looks[:len(marks)]
	for k := range marks {
		l := &looks[k]
		e1 := start + slope*(marks[k].D-h.startD) - l.h
		near, far := r.near-float64(l.off), r.far-float64(l.off)
		for e0+near < -outOfBounds || e1+near < -outOfBounds || far-e0 < -outOfBounds || far-e1 < -outOfBounds {
			if r.out(e0, e1, 0) || !f.tighten(h, h.first+k) {
				return false
			}
			near, far = r.near-float64(l.off), r.far-float64(l.off)
		}
		if e0+near < over {
			over = e0 + near
		}
		if e1+near < over {
			over = e1 + near
		}
		if far-e0 < under {
			under = far - e0
		}
		if far-e1 < under {
			under = far - e1
		}
		e0 = e1
	}
	h.bindBeside(c0, c1, r.near-over, r.far-under)
	return true
}

// bindBeside lets the bounds of a rough burn be two straight lines beside the path
// from correction c0 to c1, which spends so much of the depth, in mm.
func (h *held) bindBeside(c0, c1, over, under float64) {
	h.bound = [2]span{{c0 + over, c0 - under}, {c1 + over, c1 - under}}
}

// tighten bounds the heights of a line in a loose chunk more closely than they
// are known so far. It reports false where that cannot be.
func (f *runner) tighten(h *held, k int) bool {
	l, tb := &h.batch.looks[k], &f.tube
	m := f.moveOf(h, k)
	for l.known < knownClosely {
		pc, ok := surface.Piece{}, true
		if l.known++; l.known == knownAround {
			pc, ok = tb.around(&m)
		} else {
			tb.along(&m)
			pc = together(tb.pieces)
		}
		if off := float32(max(pc.Up, pc.Down) * upward); ok && off < l.off {
			l.off = off
			return true
		}
	}
	return false
}

// moveOf is the move of mark k in a chunk.
func (f *runner) moveOf(h *held, k int) machine.Move {
	b := h.batch
	end, from, d := &b.marks[k], h.mv.From, h.startD
	if k > h.first {
		before := &b.marks[k-1]
		from.X, from.Y, d = before.X, before.Y, before.D
	}
	m := machine.Move{Kind: machine.Line, From: from, To: machine.Point{X: end.X, Y: end.Y, Z: from.Z}, Length: end.D - d}
	if end.Motion > 1 {
		b.turn(k).Set(&m)
	}
	return m
}

// takeApart appends the parts of a loose chunk to dst: as few as the string as
// it lies now leaves room for, or each line as a block where all is to be known
// well. The last part takes the chunk's place where the batch counts what is
// written.
func (f *runner) takeApart(dst []*held, h *held, well bool) []*held {
	st := &f.apart
	st.b, st.state = h.batch, h.during
	st.state.At = h.mv.From
	st.feed, st.scaled, st.burn = h.mv.Feed, h.mv.PowerFollows, h.mv.Burn
	st.like, st.line = h.block, h.block.Line-h.first
	st.d, st.x, st.y = h.startD, h.mv.From.X, h.mv.From.Y
	st.from(h.first)
	st.start.h, st.mixed = h.pieces[0].H0, h.mixed
	st.item = func() *held {
		if len(f.spare) == 0 {
			f.spare = append(f.spare, new(held))
		}
		last := len(f.spare) - 1
		p := f.spare[last]
		f.spare = f.spare[:last]
		p.clear(h.batch)
		p.part = true
		dst = append(dst, p)
		return p
	}
	if well {
		for k := h.first; k < h.end; k++ {
			st.lone(k)
		}
	} else if !f.divide(h.end, f.c[h.g0], f.c[h.g1], true) {
		f.takeOut(h)
	}
	dst[len(dst)-1].whole = h
	return dst
}

// divide divides the loose chunk up to mark e where the heights that are known
// are furthest out of what a straight way from correction c0 to c1 serves, and
// so on where it has been mended there: the string will pass these places, and
// not those in between where it lies now. It reports false, for a whole chunk,
// where it is out nowhere.
func (f *runner) divide(e int, c0, c1 float64, whole bool) bool {
	st, r := &f.apart, f.reach
	marks, looks := st.b.marks, st.b.looks
	slope := (c1 - c0) / (marks[e-1].D - st.start.d)
	worst, at, mended := outOfBounds, -1, 0.0
	for k := st.first; k < e-1; k++ {
		c, h := c0+slope*(marks[k].D-st.start.d), looks[k].h+f.opt.Defocus
		if out := h - r.near - c; out > worst {
			worst, at, mended = out, k, c+out
		}
		if out := c - h - r.far; out > worst {
			worst, at, mended = out, k, c-out
		}
	}
	if at < 0 {
		if !whole {
			st.loosely(e)
		}
		return false
	}
	f.divide(at+1, c0, mended, false)
	f.divide(e, mended, c1, false)
	return true
}

// takeOut divides a loose chunk into the lines whose bounds the string as it
// lies leaves, each as a block, and what is between them.
func (f *runner) takeOut(h *held) {
	st, r := &f.apart, f.reach
	c0 := f.c[h.g0]
	start, slope := c0-f.opt.Defocus, (f.c[h.g1]-c0)/h.mv.Length
	e0 := start - st.start.h
	for k := h.first; k < h.end; k++ {
		m, l := &h.batch.marks[k], &h.batch.looks[k]
		e1 := start + slope*(m.D-h.startD) - l.h
		for r.out(e0, e1, float64(l.off)) && f.tighten(h, k) {
		}
		if r.out(e0, e1, float64(l.off)) {
			if k > st.first {
				st.loosely(k)
			}
			st.lone(k)
		}
		e0 = e1
	}
	if st.first < h.end {
		st.loosely(h.end)
	}
}

// drop lets go of an item that is written.
func (f *runner) drop(h *held) {
	for h.part {
		f.spare = append(f.spare, h)
		if h = h.whole; h == nil {
			return
		}
	}
	b := h.batch
	if b.written++; b.written == len(b.items) {
		f.batches--
		f.giveBack(b)
	}
}

// knowExtremes takes the heights of a loose chunk's lines into the extremes over
// all burns, of those that may lie beyond.
func (f *runner) knowExtremes(h *held) {
	b, tb := h.batch, &f.tube
	before := h.pieces[0].H0
	for k := h.first; k < h.end; k++ {
		l := &b.looks[k]
		off := float64(l.off)
		if b.marks[k].Burn && !tb.told(max(before, l.h)+off, min(before, l.h)-off) {
			m := f.moveOf(h, k)
			if pc, ok := tb.around(&m); !ok || !tb.toldOf(&pc) {
				tb.along(&m)
				f.sum.extremes(h.block.Line+k-h.first, &m, tb.pieces)
			}
		}
		before = l.h
	}
}
