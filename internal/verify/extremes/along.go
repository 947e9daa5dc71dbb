package extremes

import (
	"math"
	"slices"

	"sagitta/internal/machine"
	"sagitta/internal/surface"
)

const (
	// sliverMM is the length below which a stretch between two grid lines is part
	// of its neighbour: to the surface, a place is not known any better.
	sliverMM = surface.PlaceToleranceMM
	// leastPart ends the halving of a straight move: 2^-50 of a hundred metres is
	// less than a place is known.
	leastPart = 1.0 / (1 << 50)
	// maxPieces ends the search along one arc, where a surface is so wild that it
	// would take for ever. What is left is then said to be open.
	maxPieces = 1 << 17
	// offPart is how closely, as a part of it, it is found how far an arc leaves
	// the surface: more is of use to nobody.
	offPart = 0.01
)

// sweep is a search along a move.
type sweep struct {
	f      *Field
	sp     *Below
	m      *machine.Move
	curve  float64 // bound of the second derivative of the place by the fraction, mm
	pieces int     // of an arc, what was halved
}

// Along fills sp, whose ranges have been begun, with what is found below a move,
// or below its end alone: of a straight one by the polynomials that the height is
// between grid lines, of an arc by those along its chords, which it leaves by its
// sagitta at most. It reports whether anything there can be of interest.
func (f *Field) Along(sp *Below, m *machine.Move, end bool) bool {
	if !end && f.settled(sp, m) {
		return false
	}
	f.search(sp, m, end)
	return true
}

// search fills sp as Along does, with all that is of interest.
func (f *Field) search(sp *Below, m *machine.Move, end bool) {
	w := sweep{f: f, sp: sp, m: m, curve: curvature(m)}
	from := 0.0
	if end {
		from = 1
	}
	w.part(from, 1)
}

// settled reports whether nothing along a move can be of interest, by the height at
// its middle and the steepest slope there is: so it is of most lines of a raster, and
// to search them all would be a fifth of a proof.
func (f *Field) settled(sp *Below, m *machine.Move) bool {
	at, r := m.XY(0.5), half(m)
	x, y := f.at.Local(at[0], at[1])
	if f.slopes == nil {
		f.measure()
	}
	slope, inside := f.steep, f.x[0] <= x-r && x+r <= f.x[len(f.x)-1] && f.y[0] <= y-r && y+r <= f.y[len(f.y)-1]
	h, where := f.at.At(at[0], at[1])
	off := slope * r
	sp.Middle, sp.Within = h, math.Inf(1)
	if inside && where == surface.On && off == off {
		sp.Within = off
	}
	lo, hi := min(sp.C0, sp.C1)-h-off, max(sp.C0, sp.C1)-h+off
	switch {
	case !inside || where != surface.On:
		return false
	case !sp.Height.settled(h-off, h+off) || !sp.Focus.settled(lo, hi):
		return false
	case !sp.Uneven:
		return true
	}
	sp.Spent.less = f.lessIn(x-r, y-r, x+r, y+r)
	return sp.Spent.settled(lo, hi)
}

// half bounds how far in mm a move goes from its middle.
func half(m *machine.Move) float64 {
	if m.Kind == machine.Arc {
		return (max(m.R0, m.R1)*math.Abs(m.Sweep) + math.Abs(m.R1-m.R0)) / 2
	}
	return m.Length / 2
}

// curvature bounds the second derivative of the place on a move by its fraction, in
// mm. With radius r(s) and angle θ(s), both linear in s, the place on an arc is
// centre + r e(θ), so |place”| ≤ rθ'² + 2|r'θ'|.
func curvature(m *machine.Move) float64 {
	if m.Kind != machine.Arc {
		return 0
	}
	turn := math.Abs(m.Sweep)
	return max(m.R0, m.R1)*turn*turn + 2*math.Abs(m.R1-m.R0)*turn
}

// see notes a point of the move.
func (w *sweep) see(s float64) {
	at := w.m.XY(s)
	h, where := w.f.at.At(at[0], at[1])
	if w.sp.Uneven {
		w.sp.Spent.less = w.f.lessAt(at)
	}
	w.sp.see(h, s)
	if w.sp.Watch && where == surface.Outside {
		w.sp.beyond(s, w.f.beyond(w.f.at.Local(at[0], at[1])))
	}
}

// chord is that of the part of a move from s0 to s1.
type chord struct {
	s0, s1 float64
	a, b   [2]float64 // its ends, program XY
	length float64
	sag    float64 // how far the move leaves it; 0 where that is next to nothing
	slack  float64 // by how much heights on the move may differ from those on it
	inside bool    // the move is on the surface
}

// part looks at the fractions from s0 to s1, by their chord: a stretch ds leaves it
// by ds²/8 of the curvature. Where rounding puts a crossing beside its true place, it
// is beside the grid line by as little, and the polynomials of both sides agree on
// the line.
func (w *sweep) part(s0, s1 float64) {
	f := w.f
	c := chord{s0: s0, s1: s1, a: w.m.XY(s0), b: w.m.XY(s1), inside: true}
	c.length = math.Hypot(c.b[0]-c.a[0], c.b[1]-c.a[1])
	ax, ay := f.at.Local(c.a[0], c.a[1])
	bx, by := f.at.Local(c.b[0], c.b[1])
	// To the surface, a place is not known any better.
	if sag := w.curve * (s1 - s0) * (s1 - s0) / 8; sag > surface.PlaceToleranceMM {
		c.sag = sag
		var slope float64
		slope, c.inside = f.around(min(ax, bx)-sag, min(ay, by)-sag, max(ax, bx)+sag, max(ay, by)+sag)
		if math.IsInf(slope, 1) {
			w.halve(s0, s1, false)
			return
		}
		c.slack = slope * sag
	}
	first := len(f.cuts)
	f.cuts = cuts(f.cuts, f.x, ax, bx)
	f.cuts = cuts(f.cuts, f.y, ay, by)
	here := f.cuts[first:]
	slices.Sort(here)
	done := 0.0
	for _, u := range here {
		if (u-done)*c.length >= sliverMM {
			w.stretch(&c, done, u)
			done = u
		}
	}
	w.stretch(&c, done, 1)
	f.cuts = f.cuts[:first]
}

// cuts appends the fractions at which a straight move crosses the grid lines of one
// axis.
func cuts(dst []float64, node []float64, from, to float64) []float64 {
	r := region(node, from)
	for k := r + 1; k < len(node) && node[k] < to; k++ {
		dst = append(dst, (node[k]-from)/(to-from))
	}
	for k := r; k >= 0 && node[k] > to; k-- {
		dst = append(dst, (node[k]-from)/(to-from))
	}
	return dst
}

// stretch looks at a chord's fractions from u0 to u1, within one cell, by the
// polynomial that the height is there. An arc is halved as long as what is beside
// its chord leaves something open; on the move itself the polynomial is, as the
// heights along a border of holes may jump from place to place. All places that are
// read are inside the stretch.
func (w *sweep) stretch(c *chord, u0, u1 float64) {
	f, sp, along := w.f, w.sp, w.f.along
	at := func(u float64) (x, y float64) {
		return c.a[0] + (c.b[0]-c.a[0])*u, c.a[1] + (c.b[1]-c.a[1])*u
	}
	s0, s1 := c.s0+(c.s1-c.s0)*u0, c.s0+(c.s1-c.s0)*u1
	var v [maxDegree + 1]float64
	holes, outside := 0, !c.inside
	for i, t := range along.at {
		h, where := f.at.At(at(u0 + (u1-u0)*t))
		v[i] = h
		outside = outside || where == surface.Outside
		if where == surface.Hole {
			holes++
		}
	}
	onMove := c.sag == 0
	if sp.Uneven {
		sp.Spent.less = f.lessOn(c, u0, u1)
	}
	if holes > 0 && holes <= along.degree { // along the border of a hole
		if !onMove || (u1-u0)*c.length > 2*sliverMM {
			w.halve(s0, s1, onMove)
			return
		}
		for _, h := range v[:along.degree+1] {
			sp.see(h, s0)
			sp.see(h, s1)
		}
		return
	}
	b := along.through(&v)
	height := b
	// A straight line has evenly spaced coefficients.
	for i := range b.degree + 1 {
		b.c[i] = sp.c(s0+(s1-s0)*float64(i)/float64(b.degree)) - b.c[i]
	}
	open := false
	if onMove {
		sp.Height.extremes(&height, s0, s1, maxHalvings)
		sp.Focus.extremes(&b, s0, s1, maxHalvings)
		if sp.Uneven {
			sp.Spent.extremes(&b, s0, s1, maxHalvings)
		}
	} else {
		open = sp.Height.open(&height, c.slack) || sp.Focus.open(&b, c.slack) || sp.Uneven && sp.Spent.open(&b, c.slack)
	}
	var off0, off1 float64
	if outside && sp.Watch {
		// The distance is convex along a line: its ends are the farthest.
		off0, off1 = f.beyond(f.at.Local(at(u0))), f.beyond(f.at.Local(at(u1)))
		open = open || max(off0, off1)+c.sag > sp.Off*(1+offPart)+gapMM && !onMove
	}
	if open {
		w.halve(s0, s1, false)
		return
	}
	sp.beyond(s0, off0)
	sp.beyond(s1, off1)
	if holes > 0 && sp.Watch {
		sp.overHole(s0, (s1-s0)*w.m.Length)
	}
}

// halve looks at both halves of the fractions from s0 to s1, unless that has been
// done too often. With onMove set the ends have been seen.
func (w *sweep) halve(s0, s1 float64, onMove bool) {
	mid := (s0 + s1) / 2
	switch {
	case onMove && s1-s0 < leastPart || w.pieces == maxPieces:
		c0, c1, e := w.sp.c(s0), w.sp.c(s1), &w.sp.Focus
		e.OpenLo, e.OpenHi = min(e.OpenLo, min(c0, c1)-w.f.High), max(e.OpenHi, max(c0, c1)-w.f.Low)
		if w.sp.Uneven {
			w.sp.Spent.OpenLo, w.sp.Spent.OpenHi = e.OpenLo-w.f.mostLess, e.OpenHi+w.f.mostLess
		}
		return
	case !onMove:
		w.pieces++
		w.see(s0)
		w.see(mid)
		w.see(s1)
	}
	w.part(s0, mid)
	w.part(mid, s1)
}

// around gives the steepest slope in a rectangle of the surface's coordinates, or
// of many cells that of all, +Inf where the height may jump at the border of a hole;
// and reports whether all of it is on the surface.
func (f *Field) around(x0, y0, x1, y1 float64) (slope float64, inside bool) {
	ix0, ix1, iy0, iy1 := region(f.x, x0), region(f.x, x1), region(f.y, y0), region(f.y, y1)
	inside = ix0 >= 0 && iy0 >= 0 && ix1 < len(f.x)-1 && iy1 < len(f.y)-1
	if f.slopes == nil {
		f.measure()
	}
	if (ix1-ix0+1)*(iy1-iy0+1) > maxTouched {
		return f.steep, inside
	}
	for iy := iy0; iy <= iy1; iy++ {
		for ix := ix0; ix <= ix1; ix++ {
			g := f.slopes[cell(f.y, iy)*(len(f.x)-1)+cell(f.x, ix)]
			// Across the edge, where its height goes on, there is none.
			if ix < 0 || ix >= len(f.x)-1 {
				g[0] = 0
			}
			if iy < 0 || iy >= len(f.y)-1 {
				g[1] = 0
			}
			slope = max(slope, math.Sqrt(g[0]*g[0]+g[1]*g[1]))
		}
	}
	if ix0 == ix1 && iy0 == iy1 && math.IsInf(slope, 1) {
		slope = 0 // within a hole it is the same
	}
	return slope, inside
}

// maxTouched is how many cells a stretch may touch for their slopes to be
// looked at one by one: the four around a node, and a few.
const maxTouched = 9
