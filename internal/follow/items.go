package follow

import (
	"math"

	"sagitta/internal/machine"
	"sagitta/internal/program"
	"sagitta/internal/surface"
)

// Of what a strand has gathered the planner gets items: a chunk, or a line
// alone where a chunk does not do.

// emit makes an item of the chunk up to mark e, which ends at the place to,
// and begins the next one there.
func (st *strand) emit(e int, to spot) {
	if st.underHead(e) {
		st.single(e, to)
		return
	}
	b := st.b
	end := &b.marks[e-1]
	length := to.d - st.start.d
	slope := (to.h - st.start.h) / length
	var up, down, over, under float64
	low, high := st.start, st.start
	for k := range st.bends {
		v := &st.bends[k]
		over, under = max(over, v.up), max(under, v.down)
		at := v.spot
		if at.d >= to.d {
			at = to
		}
		off := at.h - (st.start.h + slope*(at.d-st.start.d))
		up, down = max(up, off), max(down, -off)
		if at.h < low.h {
			low = at
		}
		if at.h > high.h {
			high = at
		}
		if v.d >= to.d {
			break
		}
	}
	if e == st.first+1 && up+over+down+under > 2*st.tol && length > shortestCut {
		st.block(st.first)
	} else {
		h := st.chunk(e, length)
		h.low, h.high = low, high
		if st.mixed {
			h.low, h.high = st.underBeam(e)
		}
		if st.hold && st.burn {
			h.pieces[0] = surface.Piece{S1: 1, H0: low.h, H1: low.h, Down: under}
			h.pieces[1] = surface.Piece{S0: 1, S1: 1, H0: high.h, H1: high.h, Up: over}
		} else {
			h.pieces[0] = surface.Piece{S1: 1, H0: st.start.h, H1: to.h, Up: up + over, Down: down + under}
		}
	}
	st.first, st.last = e, max(st.last, e)
	st.startX, st.startY = end.X, end.Y
	st.restart(to)
}

// chunk makes an item of the chunk up to mark e, of a length in mm; its heights
// are the caller's.
func (st *strand) chunk(e int, length float64) *held {
	h := st.b.item()
	h.first, h.end, h.startD = st.first, e, st.start.d
	h.burns, h.burnLength = st.burns(e)
	raw, words := h.block.Raw, h.block.Words // their memory
	h.block = st.like
	h.block.Raw, h.block.Words = raw, words
	h.block.Line = st.line + st.first
	st.fill(h, &st.b.marks[e-1], length, st.burn)
	return h
}

// underBeam gives the places of the least and the greatest height on the burns of
// the chunk up to mark e, which has travels among them.
func (st *strand) underBeam(e int) (low, high spot) {
	low, high = spot{h: math.Inf(1)}, spot{h: math.Inf(-1)}
	take := func(at spot) {
		if at.h < low.h {
			low = at
		}
		if at.h > high.h {
			high = at
		}
	}
	marks, d := st.b.marks, st.start.d
	for k := st.first; k < e; {
		burn, from := marks[k].Burn, d
		for ; k < e && marks[k].Burn == burn; k++ {
			d = marks[k].D
		}
		if !burn {
			continue
		}
		take(st.spot(from))
		take(st.spot(d))
		for q := range st.bends {
			if b := &st.bends[q]; b.d > from && b.d < d {
				take(b.spot)
			}
		}
	}
	return low, high
}

// burns counts the burns of the chunk up to mark e, and their length.
func (st *strand) burns(e int) (n int, length float64) {
	marks := st.b.marks
	switch {
	case !st.burn:
		return 0, 0
	case !st.mixed:
		return e - st.first, marks[e-1].D - st.start.d
	}
	d := st.start.d
	for k := st.first; k < e; k++ {
		if marks[k].Burn {
			n++
			length += marks[k].D - d
		}
		d = marks[k].D
	}
	return n, length
}

// fill fills what an item has of the strand: its straight move, from the start
// of the chunk to a mark, and its modes.
func (st *strand) fill(h *held, end *mark, length float64, burn bool) {
	z := st.state.At.Z
	h.mv = machine.Move{
		Kind: machine.Line, Burn: burn,
		From:   machine.Point{X: st.startX, Y: st.startY, Z: z},
		To:     machine.Point{X: end.X, Y: end.Y, Z: z},
		Length: length, Seconds: length / st.feed * 60, Feed: st.feed, PowerFollows: st.scaled,
	}
	h.after = st.state
	h.after.At, h.after.Motion = h.mv.To, end.Motion
	h.after.Beam = machine.Off
	if burn {
		h.after.Beam = machine.On
	}
	h.during = h.after
}

// block makes an item of mark k alone, as the general path would.
func (st *strand) block(k int) *held {
	b, m := st.b, &st.b.marks[k]
	block := program.Block{Words: st.words[:0]}
	block.SetPlain(&st.like, b.line(k), 0, m.Style)
	block.Line = st.line + k
	h := st.b.item()
	block.CopyTo(&h.block)
	st.words = block.Words
	if m.Motion > 1 {
		arc := b.turn(k)
		st.fill(h, m, arc.Length(), m.Burn)
		arc.Set(&h.mv)
		return h
	}
	// D has lost a few digits of a line's length.
	dx, dy := m.X-st.startX, m.Y-st.startY
	length := math.Sqrt(dx*dx + dy*dy)
	if dx == 0 || dy == 0 {
		length = math.Abs(dx + dy)
	}
	st.fill(h, m, length, m.Burn)
	return h
}

// offSurface makes items of the leg's lines one by one: where they leave the
// surface, or cross a hole, each must be told.
func (st *strand) offSurface() {
	if st.last > st.first {
		st.emit(st.last, st.good)
	}
	marks := st.b.marks
	st.startX, st.startY = st.legX, st.legY
	for k := st.legFirst; k < st.taken; k++ {
		st.block(k)
		st.startX, st.startY = marks[k].X, marks[k].Y
	}
	mixed := st.mixed
	st.from(st.taken)
	st.mixed = mixed
}

// underHead tells that the head is in question on the chunk up to mark e: on
// its way it may need more gates than a chunk has.
func (st *strand) underHead(e int) bool {
	r := st.opt.room
	if r == nil {
		return false
	}
	lift := r.sigma*st.state.At.Z - st.s.focus
	if lift >= r.everywhere {
		return false
	}
	x0, y0, x1, y1 := st.startX, st.startY, st.startX, st.startY
	for _, m := range st.b.marks[st.first:e] {
		x0, y0, x1, y1 = min(x0, m.X), min(y0, m.Y), max(x1, m.X), max(y1, m.Y)
	}
	return !r.clears(x0, y0, x1, y1, lift)
}

// single makes items of the lines up to mark e one by one; they end at the
// place to.
func (st *strand) single(e int, to spot) {
	marks := st.b.marks
	for k := st.first; k < e; k++ {
		st.block(k)
		st.startX, st.startY = marks[k].X, marks[k].Y
	}
	st.first, st.last = e, max(st.last, e)
	st.restart(to)
}

// alone makes an item of mark k, the next, alone.
func (st *strand) alone(k int) {
	st.cut(k)
	st.block(k)
	m := &st.b.marks[k]
	st.d, st.x, st.y = m.D, m.X, m.Y
	st.from(k + 1)
}
