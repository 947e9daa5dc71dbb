package extremes

import (
	"math"
	"slices"

	"sagitta/internal/surface"
)

// sliverMM is the length below which a stretch between two grid lines is part
// of its neighbour: to the surface, a place is not known any better.
const sliverMM = surface.PlaceToleranceMM

// cuts appends the fractions at which a straight move crosses the grid lines of one
// axis.
func cuts(dst []float64, node []float64, from, to float64, hint *int) []float64 {
	r := region(node, from, *hint)
	*hint = r
	for k := r + 1; k < len(node) && node[k] < to; k++ {
		dst = append(dst, (node[k]-from)/(to-from))
	}
	for k := r; k >= 0 && node[k] > to; k-- {
		dst = append(dst, (node[k]-from)/(to-from))
	}
	return dst
}

// line looks along a straight move from a to b. Between two crossings the
// height is one polynomial. Where rounding puts a crossing beside its true
// place, it is beside the grid line by as little, and the polynomials of both
// sides agree on the line.
func (f *Field) line(sp *Below, ax, ay, bx, by float64) {
	lax, lay := f.at.Local(ax, ay)
	lbx, lby := f.at.Local(bx, by)
	st := straight{f: f, sp: sp, ax: ax, ay: ay, dx: bx - ax, dy: by - ay}
	st.length = math.Hypot(st.dx, st.dy)
	f.cuts = cuts(f.cuts[:0], f.x, lax, lbx, &f.hintX)
	f.cuts = cuts(f.cuts, f.y, lay, lby, &f.hintY)
	slices.Sort(f.cuts)
	done := 0.0
	for _, s := range f.cuts {
		if (s-done)*st.length >= sliverMM {
			st.stretch(done, s)
			done = s
		}
	}
	st.stretch(done, 1)
}

// straight is a straight move under way.
type straight struct {
	f              *Field
	sp             *Below
	ax, ay, dx, dy float64
	length         float64
}

// at gives the place at a fraction of the move.
func (st *straight) at(s float64) (x, y float64) { return st.ax + st.dx*s, st.ay + st.dy*s }

// stretch looks at the fractions from s0 to s1, within one cell, by the polynomial
// that the height is there. Its ends may be on the border of a hole, where the
// height jumps; so all places that are read are inside.
func (st *straight) stretch(s0, s1 float64) {
	sp, along, d := st.sp, st.f.along, s1-s0
	var v [maxDegree + 1]float64
	holes, outside := 0, false
	for i, t := range along.at {
		x, y := st.at(s0 + d*t)
		h, w := st.f.at.At(x, y)
		v[i] = h
		outside = outside || w == surface.Outside
		if w == surface.Hole {
			holes++
		}
	}
	switch {
	case holes > 0 && holes <= along.degree && d*st.length > 2*sliverMM:
		// Along the border of a hole, closer than a place is known.
		st.stretch(s0, s0+d/2)
		st.stretch(s0+d/2, s1)
		return
	case holes > 0 && holes <= along.degree:
		for _, h := range v[:along.degree+1] {
			sp.see(h, s0)
			sp.see(h, s1)
		}
		return
	case holes > 0 && sp.Watch:
		sp.overHole(s0, d*st.length)
	}
	if outside && sp.Watch {
		st.beyond(s0)
		st.beyond(s1)
	}
	b := along.through(&v)
	sp.Height.extremes(&b, s0, s1, maxHalvings)
	// A straight line has evenly spaced coefficients.
	for i := range b.degree + 1 {
		b.c[i] = sp.c(s0+d*float64(i)/float64(b.degree)) - b.c[i]
	}
	sp.Focus.extremes(&b, s0, s1, maxHalvings)
}

// beyond notes how far off the surface a point is. The distance is convex
// along a line, so the ends of stretches are the farthest.
func (st *straight) beyond(s float64) {
	st.sp.beyond(s, st.f.beyond(st.f.at.Local(st.at(s))))
}
