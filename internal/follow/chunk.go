package follow

import (
	"math"

	"sagitta/internal/surface"
)

// The lines of a strand go into legs, straight runs of them, and the heights
// along the legs into the chunk, as long as they are straight within tol from
// its start on.

// extend takes mark k, the next, into the leg, or begins another with it.
func (st *strand) extend(k int) {
	m := &st.b.marks[k]
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

// narrow keeps the slopes that pass within tol of a bend.
func (st *strand) narrow(b spot) {
	if d := b.d - st.start.d; d > 0 {
		st.least = max(st.least, (b.h-st.tol-st.start.h)/d)
		st.most = min(st.most, (b.h+st.tol-st.start.h)/d)
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
	st.least, st.most = math.Inf(-1), math.Inf(1)
	k := 0
	for k < len(st.bends) && st.bends[k].d <= at.d {
		k++
	}
	st.bends = st.bends[:copy(st.bends, st.bends[k:])]
}
