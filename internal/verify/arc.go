package verify

import (
	"math"

	"sagitta/internal/machine"
	"sagitta/internal/surface"
)

const (
	// finestMM is the length at which a piece of an arc is no longer halved:
	// to the surface, a place is not known any better, and the height
	// changes over it by less than gapMM on any slope below 250.
	finestMM = surface.PlaceToleranceMM
	// finestPart is the same as a part of the coordinates: a few spacings
	// of float64, below which halving changes nothing.
	finestPart = 1e-15
	// maxPieces ends the search along one arc, where a surface is so wild
	// that it would take for ever. What is left then counts as found.
	maxPieces = 1 << 18
)

// bend is an arc under way.
type bend struct {
	f    *field
	sp   *span
	m    *machine.Move
	d, c float64 // bounds of the first and second derivative of the place
	left int     // pieces
	fine float64 // mm
}

// spot is a point of an arc.
type spot struct {
	s      float64
	lx, ly float64
	h      float64
	w      surface.Where
}

// arc looks along an arc, by halving it as long as the bound of a piece
// leaves something open.
//
// With radius r(s) and angle θ(s), both linear in s, the place is centre +
// r e(θ), so |place'| ≤ r|θ'| + |r'| and |place”| ≤ rθ'² + 2|r'θ'|.
func (f *field) arc(sp *span, m *machine.Move) {
	r, dr, turn := max(m.R0, m.R1), math.Abs(m.R1-m.R0), math.Abs(m.Sweep)
	b := bend{f: f, sp: sp, m: m, d: r*turn + dr, c: r*turn*turn + 2*dr*turn, left: maxPieces}
	b.fine = max(finestMM, finestPart*max(math.Abs(m.CX)+r, math.Abs(m.CY)+r))
	p, q := b.spot(0), b.spot(1)
	b.piece(&p, &q)
}

// spot reads the height at a fraction, and notes it.
func (b *bend) spot(s float64) spot {
	at := b.m.XY(s)
	p := spot{s: s}
	p.lx, p.ly = b.f.at.Local(at[0], at[1])
	p.h, p.w = b.f.at.At(at[0], at[1])
	b.sp.see(p.h, s)
	if b.sp.watch && p.w == surface.Outside {
		b.sp.beyond(s, b.f.beyond(p.lx, p.ly))
	}
	return p
}

// within finds the regions of one axis that values from lo to hi are in. A
// value beyond a node by no more than the tolerance of places counts as on
// it.
func within(node []float64, lo, hi float64, near *int) (first, last int) {
	first = region(node, lo, *near)
	*near = first
	if first >= 0 && first < len(node)-1 && hi <= node[first+1] {
		return first, first
	}
	last = region(node, hi, first)
	if first < last && lo >= node[first+1]-surface.PlaceToleranceMM {
		first++
	}
	if first < last && hi <= node[last]+surface.PlaceToleranceMM {
		last--
	}
	return first, last
}

// piece looks at the arc from p to q, both of which have been noted.
func (b *bend) piece(p, q *spot) {
	f, sp := b.f, b.sp
	ds := q.s - p.s
	// No point is further from the chord than this, in either axis.
	sag := b.c * ds * ds / 8
	x0, x1 := min(p.lx, q.lx)-sag, max(p.lx, q.lx)+sag
	y0, y1 := min(p.ly, q.ly)-sag, max(p.ly, q.ly)+sag
	ix0, ix1 := within(f.x, x0, x1, &f.nearX)
	iy0, iy1 := within(f.y, y0, y1, &f.nearY)
	mid := b.spot((p.s + q.s) / 2)

	one := ix0 == ix1 && iy0 == iy1
	fine := ds*b.d <= b.fine
	hole := f.holes && f.anyHole(ix0, ix1, iy0, iy1)
	if one && hole && mid.w == surface.On {
		// On the border, which is a good cell's as well.
		if i, j, ok := f.goodBeside(ix0, iy0, x0, x1, y0, y1); ok {
			ix0, ix1, iy0, iy1, hole = i, i, j, j, false
		}
	}
	// Whether it leaves the surface is still to be found out.
	edge := sp.watch && sp.off == 0 && !one &&
		(ix0 < 0 || iy0 < 0 || ix1 >= len(f.x)-1 || iy1 >= len(f.y)-1)
	switch {
	case one && hole && mid.w != surface.On:
		// The held height is the same all over it; at its ends there may
		// be another, on the border.
		sp.see(mid.h, p.s)
		sp.see(mid.h, q.s)
		if sp.watch && mid.w == surface.Hole {
			sp.overHole(p.s, ds*b.m.Length)
		}
		return
	case (hole || edge) && !fine:
		if b.left <= 0 {
			sp.focus.giveUp(min(sp.c(p.s), sp.c(q.s))-f.high, max(sp.c(p.s), sp.c(q.s))-f.low)
			return
		}
	case one && !hole:
		// Within ds²/8 times the second derivative of its chord.
		slope, curve := f.steepness(ix0, iy0)
		bow := (curve*b.d*b.d + slope*b.c) * ds * ds / 8
		ep, eq := sp.c(p.s)-p.h, sp.c(q.s)-q.h
		lo, hi := max(min(p.h, q.h)-bow, f.low), min(max(p.h, q.h)+bow, f.high)
		if b.done(lo, hi, max(min(ep, eq)-bow, min(sp.c(p.s), sp.c(q.s))-hi),
			min(max(ep, eq)+bow, max(sp.c(p.s), sp.c(q.s))-lo), fine) {
			return
		}
	default:
		slope := f.steepest(ix0, ix1, iy0, iy1, hole)
		// At most half the length from the middle.
		dh := slope * b.d * ds / 2
		lo, hi := max(mid.h-dh, f.low), min(mid.h+dh, f.high)
		if b.done(lo, hi, min(sp.c(p.s), sp.c(q.s))-hi, max(sp.c(p.s), sp.c(q.s))-lo, fine) {
			return
		}
	}
	b.left--
	b.piece(p, &mid)
	b.piece(&mid, q)
}

// maxTouched is how many cells a piece may touch for their slopes to be
// looked at one by one: the four around a node. A longer piece takes the
// steepest slope there is.
const maxTouched = 4

// steepest bounds the slope over the cells that the regions read their
// heights from. Over a hole's border there is none: the piece is then too
// small for it to matter.
func (f *field) steepest(ix0, ix1, iy0, iy1 int, hole bool) (slope float64) {
	if hole {
		return 0
	}
	if (ix1-ix0+1)*(iy1-iy0+1) > maxTouched {
		return math.Inf(1)
	}
	for j := iy0; j <= iy1; j++ {
		for i := ix0; i <= ix1; i++ {
			here, _ := f.steepness(i, j)
			slope = max(slope, here)
		}
	}
	return slope
}

// done tells whether a piece whose height and focus are certainly within
// these bounds can be left. At the finest, or when too much work has been
// done, it is left in any case, and said so.
func (b *bend) done(hLo, hHi, eLo, eHi float64, fine bool) bool {
	h, e := &b.sp.height, &b.sp.focus
	if h.settled(hLo, hHi) && e.settled(eLo, eHi) {
		return true
	}
	if b.left > 0 && !fine {
		return false
	}
	if !e.settled(eLo, eHi) {
		e.giveUp(eLo, eHi)
	}
	return true
}

// anyHole tells whether one of the cells that the regions read their heights
// from has a missing height.
func (f *field) anyHole(ix0, ix1, iy0, iy1 int) bool {
	s := f.at.Surface()
	for j := cell(f.y, iy0); j <= cell(f.y, iy1)+1; j++ {
		for i := cell(f.x, ix0); i <= cell(f.x, ix1)+1; i++ {
			if math.IsNaN(s.Height(i, j)) {
				return true
			}
		}
	}
	return false
}

// goodBeside finds a cell beside i, j that has all its heights and that a
// piece is in, but for the tolerance of places.
func (f *field) goodBeside(i, j int, x0, x1, y0, y1 float64) (int, int, bool) {
	const tol = surface.PlaceToleranceMM
	for b := max(j-1, 0); b <= min(j+1, len(f.y)-2); b++ {
		for a := max(i-1, 0); a <= min(i+1, len(f.x)-2); a++ {
			if x0 >= f.x[a]-tol && x1 <= f.x[a+1]+tol && y0 >= f.y[b]-tol && y1 <= f.y[b+1]+tol &&
				!f.anyHole(a, a, b, b) {
				return a, b, true
			}
		}
	}
	return 0, 0, false
}
