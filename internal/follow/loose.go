package follow

import "sagitta/internal/machine"

// An arc leaves the straight line between its ends, so the height along it is
// never straight within tol. Where bounds will do for now (see refine.go) arcs,
// and short lines among them, go into loose chunks: of each only the height at
// its end is looked at, and the height over the chunk is straight to within
// what the slopes around allow. Where that is not good enough the chunk is
// taken apart again, into less loose ones and at last into its lines.

// around takes mark k, the next, into a loose chunk. It reports false where it
// must stand alone.
func (st *strand) around(k int) bool {
	if !st.bounds || !st.burn {
		return false
	}
	if !st.loose {
		mixed := st.mixed
		st.cut(k)
		st.loose, st.mixed = true, mixed
	}
	m := &st.b.marks[k]
	if st.start.h != st.start.h {
		h, _ := st.opt.Surface.At(st.x, st.y)
		st.start.h, st.good.h = h, h
		st.widen()
	}
	l, ok := st.lookAt(k, m)
	if !ok || !(l.off <= longer*st.within) {
		return false
	}
	st.taken, st.legFirst = k+1, k+1
	st.d, st.x, st.y = m.D, m.X, m.Y
	st.bendAt(bend{spot{m.D, l.h}, l.off, l.off}, k+1)
	return true
}

// lookAt looks at mark k, which begins where the last bend is, once.
func (st *strand) lookAt(k int, m *mark) (l look, ok bool) {
	b := st.b
	if st.item != nil { // the source has looked
		return b.looks[k], true
	}
	if b.looks == nil {
		b.looks = make([]look, batchMarks)
	}
	h := st.start.h
	if n := len(st.bends); n > 0 {
		h = st.bends[n-1].h
	}
	if m.Motion == 1 {
		st.cursor.Stand(st.x, st.y)
		h, up, down, within := st.cursor.To(m.X, m.Y)
		l.h, l.off, ok = h, max(up, down), within
	}
	if !ok {
		length := m.D - st.d
		cx, cy, r := m.X, m.Y, length
		if m.Motion > 1 {
			t := b.turn(k)
			cx, cy, r = t.CX, t.CY, max(t.R0, t.R1)
		}
		l.h, l.off, ok = st.opt.Surface.AroundPath(st.x, st.y, h, m.X, m.Y, length, cx, cy, r)
	}
	b.looks[k] = l
	return l, ok
}

// longer is by how much looser a single line may be than the chunk: long arcs
// are still better off than with all their gates.
const longer = 3

// widen decides how loose the chunk that begins may be: where it is near the
// extremes of the surface little, since there the string will touch it.
func (st *strand) widen() {
	if st.item != nil {
		st.within = st.wide
		return
	}
	low, high, _, _ := st.opt.Surface.Range()
	st.within = min(st.wide, max(st.wide*leastWide, min(high-st.start.h, st.start.h-low)*nearExtreme))
}

// leastWide is the least looseness, as a part of the most, and nearExtreme as a
// part of how far the extremes are. Both were found by trial.
const leastWide, nearExtreme = 1.0 / 16, 1.0 / 8

// alone makes an item of mark k, the next, alone.
func (st *strand) alone(k int) {
	st.cut(k)
	st.block(k)
	m := &st.b.marks[k]
	st.d, st.x, st.y = m.D, m.X, m.Y
	st.from(k + 1)
}

// closer is by how much the chunks that a loose one is taken apart into are less
// loose.
const closer = 6

// takeApart makes items, which item gives, of what is in a loose chunk: less
// loose ones where they will be wide enough to tell, or known well.
func (st *strand) takeApart(h *held, well bool, item func() *held) {
	st.b, st.item = h.batch, item
	st.wide = h.within / closer
	st.bounds = !well && st.wide > 2*st.tol
	st.state = h.during
	st.state.At = h.mv.From
	st.feed, st.scaled, st.burn = h.mv.Feed, h.mv.PowerFollows, h.mv.Burn
	st.like, st.line = h.block, h.block.Line-h.first
	st.d, st.x, st.y = h.startD, h.mv.From.X, h.mv.From.Y
	st.from(h.first)
	for k := h.first; k < h.end; k++ {
		st.mixed = h.mixed
		if st.bounds || h.batch.marks[k].Motion == 1 {
			st.extend(k)
		} else {
			st.alone(k)
		}
	}
	st.mixed = h.mixed
	st.cut(h.end)
}

// takeApart appends the parts of a loose chunk to dst, all of them known well
// where that is asked for. The last takes its place where the batch counts
// what is written.
func (f *runner) takeApart(dst []*held, h *held, well bool) []*held {
	f.apart.takeApart(h, well, func() *held {
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
	})
	dst[len(dst)-1].whole = h
	return dst
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
	b, tb, s := h.batch, &f.tube, &f.sum
	m := machine.Move{Kind: machine.Line, From: h.mv.From}
	d := h.startD
	above, _ := f.opt.Surface.At(m.From.X, m.From.Y)
	for k := h.first; k < h.end; k++ {
		mark := &b.marks[k]
		m.Kind, m.Length = machine.Line, mark.D-d
		m.To.X, m.To.Y = mark.X, mark.Y
		next, off := b.looks[k].h, b.looks[k].off
		if mark.Burn && (max(above, next)+off > s.High || min(above, next)-off < s.Low) {
			if mark.Motion > 1 {
				b.turn(k).Set(&m)
			}
			tb.along(&m)
			s.extremes(h.block.Line+k-h.first, &m, tb.pieces)
		}
		m.From, d, above = m.To, mark.D, next
	}
}
