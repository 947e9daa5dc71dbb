package follow

import (
	"sagitta/internal/machine"
	"sagitta/internal/surface"
)

// An arc leaves the straight line between its ends, so the height along it is
// never straight within tol. Where bounds will do for now (see refine.go) arcs,
// and short lines among them, go into loose chunks: of each only the height at
// its end is looked at, and the height over the chunk is straight to within
// what the slopes around allow. Where the string comes too near to what is
// certain the chunk is divided, as often as it takes, down to its lines.

const (
	// looseness is how loose a chunk may be, as a part of the roughest
	// bound, and longer by how much looser a single line may be: long arcs
	// are still better off than with all their gates.
	looseness, longer = 1.5, 2
	// looseLines is how many lines a loose chunk has at most.
	looseLines = 64
)

// goRound takes the marks from i on that go on in a loose chunk, and returns
// the first that does not.
func (st *strand) goRound(marks []mark, i int) int {
	if st.taken != i || !st.loose || i == st.first {
		return i
	}
	for ; i < len(marks); i++ {
		m := &marks[i]
		if m.Burn != st.burn || m.Motion == 1 && m.D-st.d >= longLine || !st.around(i) {
			break
		}
	}
	return i
}

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
	if st.start.h != st.start.h {
		st.start.h, _ = st.opt.Surface.At(st.x, st.y)
		st.h = st.start.h
	}
	m := &st.b.marks[k]
	l, ok := st.lookAt(k, m)
	if !ok || !(l.off <= longer*st.wide) {
		return false
	}
	st.b.looks[k] = l
	st.taken, st.legFirst = k+1, k+1
	st.d, st.x, st.y, st.h = m.D, m.X, m.Y, l.h
	if k+1-st.first == looseLines {
		st.divide(k + 1)
	}
	return true
}

// lookAt looks at mark k, the next.
func (st *strand) lookAt(k int, m *mark) (l look, ok bool) {
	b := st.b
	if b.looks == nil {
		b.looks = make([]look, batchMarks)
	}
	if m.Motion == 1 {
		st.cursor.Stand(st.x, st.y)
		if h, up, down, within := st.cursor.To(m.X, m.Y); within {
			return look{h, max(up, down)}, true
		}
	}
	length := m.D - st.d
	cx, cy, r := m.X, m.Y, length
	if m.Motion > 1 {
		t := b.turn(k)
		cx, cy, r = t.CX, t.CY, max(t.R0, t.R1)
	}
	l.h, l.off, ok = st.opt.Surface.AroundPath(st.x, st.y, st.h, m.X, m.Y, length, cx, cy, r)
	return l, ok
}

// divide makes items of the loose chunk up to mark e: one, where that is
// enough, or else those of its halves.
func (st *strand) divide(e int) {
	to := spot{st.b.marks[e-1].D, st.b.looks[e-1].h}
	up, down := st.spread(e, to)
	switch {
	case st.enough(e, to, up, down):
		st.loosely(e, to, up, down)
		return
	case e > st.first+1:
		st.divide((st.first + e) / 2)
		st.divide(e)
		return
	}
	st.block(st.first)
	st.startAt(e, to)
}

// loosely makes an item of the loose chunk up to mark e, which ends at to.
func (st *strand) loosely(e int, to spot, up, down float64) {
	h := st.chunk(e, to.d-st.start.d)
	h.loose, h.mixed = true, st.mixed
	h.pieces[0] = surface.Piece{S1: 1, H0: st.start.h, H1: to.h, Up: up, Down: down}
	st.startAt(e, to)
}

// startAt begins the next loose chunk with mark e, at the place to.
func (st *strand) startAt(e int, to spot) {
	end := &st.b.marks[e-1]
	st.first, st.last, st.start = e, e, to
	st.startX, st.startY = end.X, end.Y
}

// spread bounds how far the heights over the loose chunk up to mark e, which
// ends at to, lie over and under the chord.
func (st *strand) spread(e int, to spot) (up, down float64) {
	marks, looks := st.b.marks[st.first:e], st.b.looks[st.first:e]
	looks = looks[:len(marks)]
	slope := (to.h - st.start.h) / (to.d - st.start.d)
	d, h, before := st.start.d, st.start.h, 0.0
	for k := range marks {
		l := &looks[k]
		off := l.h - (h + slope*(marks[k].D-d))
		up, down = max(up, max(before, off)+l.off), max(down, l.off-min(before, off))
		before = off
	}
	return up, down
}

// straight tells that the heights over a loose chunk are straight enough for a
// beginning, and that the head is not in question on it.
func (st *strand) straight(e int, _ spot, up, down float64) bool {
	return (up+down <= 2*st.wide || e == st.first+1) && !st.underHead(e)
}

// alone makes an item of mark k, the next, alone.
func (st *strand) alone(k int) {
	st.cut(k)
	st.block(k)
	m := &st.b.marks[k]
	st.d, st.x, st.y = m.D, m.X, m.Y
	st.from(k + 1)
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
	st.enough = func(e int, to spot, up, down float64) bool {
		return !well && f.holds(h, st.start, to, up, down)
	}
	if well {
		st.divide(h.end)
	} else if part := max(f.part[h.g0], f.part[h.g1]); !f.divideKnown(h.end, f.c[h.g0], f.c[h.g1], part, true) {
		f.divideBetween(h, part)
	}
	dst[len(dst)-1].whole = h
	return dst
}

// divideKnown divides the loose chunk up to mark e where the heights that are
// known are furthest out of what a straight way from correction c0 to c1 serves
// with a part of the depth, and so on where it has been mended there: the
// string will pass these places, and not those in between where it lies now. It
// reports false, for a whole chunk, where it is out nowhere.
func (f *runner) divideKnown(e int, c0, c1, part float64, whole bool) bool {
	st, o := &f.apart, f.opt
	near, far := part*o.Depth.Near-o.Defocus, part*o.Depth.Far+o.Defocus
	to := spot{st.b.marks[e-1].D, st.b.looks[e-1].h}
	slope := (c1 - c0) / (to.d - st.start.d)
	worst, at, mended := outOfBounds, -1, 0.0
	for k := st.first; k < e-1; k++ {
		c, h := c0+slope*(st.b.marks[k].D-st.start.d), st.b.looks[k].h
		if out := h - near - c; out > worst {
			worst, at, mended = out, k, c+out
		}
		if out := c - h - far; out > worst {
			worst, at, mended = out, k, c-out
		}
	}
	if at < 0 {
		if !whole {
			up, down := st.spread(e, to)
			st.loosely(e, to, up, down)
		}
		return false
	}
	f.divideKnown(at+1, c0, mended, part, false)
	f.divideKnown(e, mended, c1, part, false)
	return true
}

// divideBetween divides a loose chunk at the lines whose own bounds the string
// as it lies leaves, with a part of the depth.
func (f *runner) divideBetween(h *held, part float64) {
	st, o := &f.apart, f.opt
	near, far := part*o.Depth.Near-o.Defocus+outOfBounds, part*o.Depth.Far+o.Defocus+outOfBounds
	c, slope := f.c[h.g0], (f.c[h.g1]-f.c[h.g0])/h.mv.Length
	c0, h0 := c, st.start.h
	for k := h.first; k < h.end; k++ {
		m, l := &h.batch.marks[k], &h.batch.looks[k]
		c1 := c + slope*(m.D-h.startD)
		if over, under := l.off-near, far-l.off; h0+over > c0 || l.h+over > c1 || c0 > h0+under || c1 > l.h+under {
			if k > st.first {
				st.divide(k)
			}
			st.divide(k + 1)
		}
		c0, h0 = c1, l.h
	}
	if st.first < h.end {
		st.divide(h.end)
	}
}

// holds tells that the string as it lies stays within what a part of a loose
// chunk is known to allow.
func (f *runner) holds(h *held, from, to spot, up, down float64) bool {
	g0, g1 := h.g0, h.g1
	c, slope := f.c[g0], (f.c[g1]-f.c[g0])/h.mv.Length
	pc := surface.Piece{H0: from.h, H1: to.h, Up: up, Down: down}
	return !f.beyond(max(f.part[g0], f.part[g1]), c+slope*(from.d-h.startD), c+slope*(to.d-h.startD), &pc)
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
		if mark.Burn && !tb.told(&surface.Piece{H0: above, H1: next, Up: off, Down: off}) {
			if mark.Motion > 1 {
				b.turn(k).Set(&m)
			}
			tb.along(&m)
			s.extremes(h.block.Line+k-h.first, &m, tb.pieces)
		}
		m.From, d, above = m.To, mark.D, next
	}
}
