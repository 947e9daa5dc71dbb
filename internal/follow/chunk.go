package follow

import (
	"math"

	"sagitta/internal/machine"
	"sagitta/internal/program"
	"sagitta/internal/surface"
)

// The lines of a strand go into legs, straight runs of them, and the heights
// along the legs into the chunk, as long as they are straight within tol from
// its start on.

// extend takes mark k, the next, into the leg, or begins another with it.
func (st *strand) extend(k int) {
	m := &st.b.marks[k]
	if m.Motion > 1 || st.loose && k > st.first {
		if !st.around(k) {
			st.alone(k)
		}
		return
	}
	if st.loose {
		st.from(k) // lines alone are better known
	}
	leg, forward := uint8(skew), false
	switch {
	case m.Y == st.y:
		leg, forward = alongX, m.X > st.x
	case m.X == st.x:
		leg, forward = alongY, m.Y > st.y
	}
	if leg == skew && st.short(k) {
		return
	}
	if k == st.legFirst || leg == skew || leg != st.leg || forward != st.forward || k-st.legFirst >= chunkLines {
		st.closeLeg()
		st.leg, st.forward, st.legFirst = leg, forward, k
		st.legD, st.legX, st.legY = st.d, st.x, st.y
	}
	st.taken = k + 1
	st.d, st.x, st.y = m.D, m.X, m.Y
}

// short takes mark k, a line askew, in short where it stays within a cell of
// the surface.
func (st *strand) short(k int) bool {
	st.closeLeg()
	m := &st.b.marks[k]
	if st.start.h != st.start.h {
		return false // the first of a strand asks for the height of its start
	}
	st.cursor.Stand(st.x, st.y)
	h, up, down, ok := st.cursor.To(m.X, m.Y)
	if !ok || up+down > st.tol {
		return false
	}
	st.taken, st.legFirst = k+1, k+1
	st.d, st.x, st.y = m.D, m.X, m.Y
	st.bendAt(bend{spot{m.D, h}, up, down}, k+1)
	return true
}

// closeLeg takes the heights along the leg into the chunk.
func (st *strand) closeLeg() {
	if st.taken == st.legFirst {
		return
	}
	st.pieces = st.opt.Surface.AppendLine(st.pieces[:0], st.legX, st.legY, st.x, st.y, st.tol, 0)
	for k := range st.pieces {
		if st.pieces[k].Where != surface.On {
			st.offSurface()
			return
		}
	}
	if st.start.h != st.start.h {
		st.start.h, st.good.h = st.pieces[0].H0, st.pieces[0].H0
	}
	length := st.d - st.legD
	for k := range st.pieces {
		pc := &st.pieces[k]
		if k == len(st.pieces)-1 {
			st.bendAt(bend{spot{st.d, pc.H1}, pc.Up, pc.Down}, st.taken)
			break
		}
		d := st.legD + length*pc.S1
		st.bendAt(bend{spot{d, pc.H1}, pc.Up, pc.Down}, st.lastEnd(d))
	}
	st.legFirst = st.taken
}

// lastEnd returns the number of marks that end up to d.
func (st *strand) lastEnd(d float64) int {
	marks := st.b.marks
	lo, hi := st.last, st.taken
	for lo < hi {
		m := (lo + hi) / 2
		if marks[m].D <= d {
			lo = m + 1
		} else {
			hi = m
		}
	}
	return lo
}

// bendAt takes the stretch to the bend b, which the first e marks lie before.
func (st *strand) bendAt(b bend, e int) {
	st.bends = append(st.bends, b)
	for e > st.last {
		to := b.spot
		if d := st.b.marks[e-1].D; d < b.d {
			to = st.spot(d)
		}
		if d, h := to.d-st.start.d, to.h-st.start.h; st.least*d <= h && h <= st.most*d {
			st.last, st.good = e, to
			if e-st.first >= chunkLines || len(st.bends) >= chunkBends {
				st.emit(e, to)
			}
			break
		}
		if st.last > st.first {
			st.emit(st.last, st.good)
		} else {
			st.emit(st.first+1, st.spot(st.b.marks[st.first].D))
		}
		for k := range st.bends {
			if st.bends[k].d >= to.d {
				break
			}
			st.narrow(st.bends[k].spot)
		}
	}
	st.narrow(b.spot)
}

// narrow keeps the slopes that pass within tol of a bend, or within wide.
func (st *strand) narrow(b spot) {
	if d := b.d - st.start.d; d > 0 {
		tol := st.tol
		if st.loose {
			tol = st.within
		}
		st.least = max(st.least, (b.h-tol-st.start.h)/d)
		st.most = min(st.most, (b.h+tol-st.start.h)/d)
	}
}

// spot is the place at d, which a bend lies behind.
func (st *strand) spot(d float64) spot {
	from := st.start
	for k := range st.bends {
		b := &st.bends[k]
		if b.d >= d {
			if b.d == from.d {
				return spot{d, b.h}
			}
			return spot{d, from.h + (b.h-from.h)*((d-from.d)/(b.d-from.d))}
		}
		from = b.spot
	}
	return spot{d, from.h}
}

// restart lets the chunk begin at a place, with the bends that lie behind it.
func (st *strand) restart(at spot) {
	st.start, st.good = at, at
	if st.loose {
		st.widen()
	}
	st.least, st.most = math.Inf(-1), math.Inf(1)
	k := 0
	for k < len(st.bends) && st.bends[k].d <= at.d {
		k++
	}
	st.bends = st.bends[:copy(st.bends, st.bends[k:])]
}

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
	if !st.loose && e == st.first+1 && up+over+down+under > 2*st.tol && length > shortestCut {
		st.block(st.first)
	} else {
		h := st.newItem()
		h.first, h.end, h.startD = st.first, e, st.start.d
		h.low, h.high = low.h, high
		h.burns, h.burnLength = st.burns(e)
		raw, words := h.block.Raw, h.block.Words // their memory
		h.block = st.like
		h.block.Raw, h.block.Words = raw, words
		h.block.Line = st.line + st.first
		st.fill(h, end, length, st.burn)
		h.loose, h.mixed, h.within = st.loose, st.mixed, st.within
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

// newItem returns an item for what comes next.
func (st *strand) newItem() *held {
	if st.item != nil {
		return st.item()
	}
	return st.b.item()
}

// block makes an item of mark k alone, as the general path would.
func (st *strand) block(k int) {
	b, m := st.b, &st.b.marks[k]
	block := program.Block{Words: st.words[:0]}
	block.SetPlain(&st.like, b.line(k), 0, m.Style)
	block.Line = st.line + k
	h := st.newItem()
	block.Hold(&h.block)
	st.words = block.Words
	if m.Motion > 1 {
		var arc machine.Move
		b.turn(k).Set(&arc)
		st.fill(h, m, arc.Length, m.Burn)
		h.mv.Kind, h.mv.CX, h.mv.CY, h.mv.R0, h.mv.R1, h.mv.A0, h.mv.Sweep = arc.Kind, arc.CX, arc.CY, arc.R0, arc.R1, arc.A0, arc.Sweep
		return
	}
	// D has lost a few digits of a line's length.
	dx, dy := m.X-st.startX, m.Y-st.startY
	length := math.Sqrt(dx*dx + dy*dy)
	if dx == 0 || dy == 0 {
		length = math.Abs(dx + dy)
	}
	st.fill(h, m, length, m.Burn)
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
	st.from(st.taken)
}

// underHead tells that the head is in question on the chunk up to mark e: on
// its way it may need more gates than a chunk has.
func (st *strand) underHead(e int) bool {
	r := st.opt.room
	if r == nil || st.s == nil {
		return false // the parts of a chunk are where it is
	}
	lift := r.sigma*st.state.At.Z - st.s.focus
	if lift >= r.everywhere {
		return false
	}
	x0, y0, x1, y1 := st.startX, st.startY, st.startX, st.startY
	x, y, d := x0, y0, st.start.d
	for _, m := range st.b.marks[st.first:e] {
		x0, y0, x1, y1 = min(x0, m.X), min(y0, m.Y), max(x1, m.X), max(y1, m.Y)
		if m.Motion > 1 { // no further than half its length from the middle of its ends
			cx, cy, half := (x+m.X)/2, (y+m.Y)/2, (m.D-d)/2
			x0, y0, x1, y1 = min(x0, cx-half), min(y0, cy-half), max(x1, cx+half), max(y1, cy+half)
		}
		x, y, d = m.X, m.Y, m.D
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
