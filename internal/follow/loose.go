package follow

import (
	"math"

	"sagitta/internal/surface"
)

// An arc leaves the straight line between its ends, so the height along it is
// never straight within tol. Where bounds will do for now (see refine.go) arcs,
// and short lines askew, go into loose chunks: of each line only the height
// at its end is looked at, and how far the heights on the way may be off what
// is straight. What that makes of the chunk is seen once there is a string to
// hold it against (apart.go).

const (
	// looseLines is how many lines a loose chunk has at most.
	looseLines = 64
	// loosest is by how much a line may be off for that, as a part of the
	// roughest bound: beyond, it needs a gate on its way anyway.
	loosest = 3
)

// look is the height at the end of a line, how far the heights on the way may be
// off the straight line over its length, in mm, and how well they are known.
type look struct {
	h     float64
	off   float32
	known uint8
}

// upward is a little over 1: what is rounded to a float32 after it has not
// become less.
const upward = 1 + 1.0/(1<<23)

// goRound takes the marks from i on that go on in a loose chunk, and returns the
// first that does not.
func (st *strand) goRound(marks []mark, i int) int {
	if st.taken != i || !st.loose || i == st.first {
		return i
	}
	d, end := st.d, i
	for most := min(len(marks), st.first+looseLines-1); end < most; end++ { // around takes the last
		m := &marks[end]
		if m.Burn != st.burn || m.Motion == 1 && m.D-d >= longLine {
			break
		}
		d = m.D
	}
	return st.lookOn(i, end)
}

// around takes mark k, the next, into a loose chunk. It reports false where it
// must stand alone.
func (st *strand) around(k int) bool {
	if !st.bounds || !st.burn {
		return false
	}
	if !st.loose {
		st.cutWithin(k)
		st.loose = true
	}
	if st.start.h != st.start.h {
		st.start.h, _ = st.opt.Surface.At(st.x, st.y)
		st.h = st.start.h
	}
	if st.lookOn(k, k+1) == k {
		return false
	}
	if k+1-st.first == looseLines {
		st.loosely(k + 1)
	}
	return true
}

// lookOn looks at the marks from i up to end, which go on the loose chunk, and
// takes them into it. It returns the first that must stand alone, or end.
func (st *strand) lookOn(i, end int) int {
	b, p, most := st.b, st.opt.Surface, loosest*st.roughest
	if b.looks == nil {
		b.looks = make([]look, batchMarks)
	}
	arc, steepest := -1, p.MaxSlope()
	d, x, y, h := st.d, st.x, st.y, st.h
	for ; i < end; i++ {
		m := &b.marks[i]
		var to, up, down float64
		var ok bool
		if m.Motion == 1 {
			st.cursor.Stand(x, y)
			if to, up, down, ok = st.cursor.To(m.X, m.Y); !ok {
				to, up, ok = p.AroundPath(x, y, h, m.X, m.Y, m.D-d, x, y, math.Inf(1))
			}
		} else {
			if arc < 0 {
				b.turn(i)
				arc = b.turned
			}
			t := &b.arcs[arc]
			arc++
			to, up, ok = p.AroundPath(x, y, h, m.X, m.Y, m.D-d, t.CX, t.CY, max(t.R0, t.R1))
			up += steepest * math.Abs(t.R1-t.R0) // the angle goes on a little otherwise than the length
		}
		off := up + down // one of them is nothing
		if !ok || !(off <= most) {
			break
		}
		b.looks[i] = look{h: to, off: float32(off * upward)}
		d, x, y, h = m.D, m.X, m.Y, to
	}
	st.taken, st.legFirst = i, i
	st.d, st.x, st.y, st.h = d, x, y, h
	return i
}

// loosely makes an item of the loose chunk up to mark e, or blocks of its lines
// where the head is in question.
func (st *strand) loosely(e int) {
	end, looks := &st.b.marks[e-1], st.b.looks[st.first:e]
	to := spot{end.D, looks[len(looks)-1].h}
	switch {
	case !st.underHead(e):
		h := st.chunk(e, to.d-st.start.d)
		h.loose, h.mixed = true, st.mixed
		h.pieces[0] = surface.Piece{S1: 1, H0: st.start.h, H1: to.h}
		h.low, h.high = to, to
		h.low.h, h.high.h = extremes(st.start.h, looks)
	case e > st.first+1:
		st.loosely((st.first + e) / 2)
		st.loosely(e)
		return
	default:
		st.block(st.first)
	}
	st.startAt(e, to)
}

// lone makes a block of mark k in a loose chunk, the next.
func (st *strand) lone(k int) {
	st.block(k).known = st.b.looks[k].known
	st.startAt(k+1, spot{st.b.marks[k].D, st.b.looks[k].h})
}

// extremes bounds the heights over lines that begin at height h. It has branches
// that are hardly ever taken, which are quicker than min and max.
func extremes(h float64, looks []look) (low, high float64) {
	low, high = h, h
	off := float32(0)
	for k := range looks {
		l := &looks[k]
		if l.h < low {
			low = l.h
		}
		if l.h > high {
			high = l.h
		}
		if l.off > off {
			off = l.off
		}
	}
	return low - float64(off), high + float64(off)
}

// startAt begins the next loose chunk with mark e, at the place to.
func (st *strand) startAt(e int, to spot) {
	end := &st.b.marks[e-1]
	st.first, st.last, st.start = e, e, to
	st.startX, st.startY = end.X, end.Y
}

// alone makes an item of mark k, the next, alone.
func (st *strand) alone(k int) {
	st.cut(k)
	st.block(k)
	m := &st.b.marks[k]
	st.d, st.x, st.y = m.D, m.X, m.Y
	st.from(k + 1)
}
