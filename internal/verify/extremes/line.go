package extremes

import (
	"math"

	"sagitta/internal/surface"
)

// sliverMM is the length below which a stretch between two grid lines is part
// of its neighbour: to the surface, a place is not known any better.
const sliverMM = surface.PlaceToleranceMM

// cuts gives, one after the other, the fractions at which a straight move
// crosses the grid lines of one axis.
type cuts struct {
	node []float64
	from float64
	span float64 // to - from
	next int     // index of the next line
	step int     // +1 or -1
	s    float64 // of the next line; +Inf where there is none
}

func newCuts(node []float64, from, to float64, hint *int) cuts {
	r := region(node, from, *hint)
	*hint = r
	c := cuts{node: node, from: from, span: to - from, next: r + 1, step: 1}
	if c.span < 0 {
		c.next, c.step = r, -1
		if r >= 0 && node[r] == from {
			c.next--
		}
	}
	c.find()
	return c
}

// find works out the fraction of the line that is next.
func (c *cuts) find() {
	c.s = math.Inf(1)
	if c.next >= 0 && c.next < len(c.node) && c.span != 0 {
		c.s = (c.node[c.next] - c.from) / c.span
	}
}

func (c *cuts) advance() {
	c.next += c.step
	c.find()
}

// line looks along a straight move from a to b. Between two crossings the
// height is one polynomial. Where rounding puts a crossing beside its true
// place, it is beside the grid line by as little, and the polynomials of both
// sides agree on the line.
func (f *Field) line(sp *Span, ax, ay, bx, by float64) {
	lax, lay := f.at.Local(ax, ay)
	lbx, lby := f.at.Local(bx, by)
	st := straight{f: f, sp: sp, ax: ax, ay: ay, dx: bx - ax, dy: by - ay}
	st.length = math.Hypot(st.dx, st.dy)
	x := newCuts(f.x, lax, lbx, &f.hintX)
	y := newCuts(f.y, lay, lby, &f.hintY)
	done := 0.0
	for {
		s := min(x.s, y.s)
		if !(s < 1) {
			break
		}
		if x.s == s {
			x.advance()
		} else {
			y.advance()
		}
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
	sp             *Span
	ax, ay, dx, dy float64
	length         float64
}

// at gives the height at a fraction of the move.
func (st *straight) at(s float64) (float64, surface.Where) {
	return st.f.at.At(st.ax+st.dx*s, st.ay+st.dy*s)
}

// stretch looks at the fractions from s0 to s1, within one cell.
func (st *straight) stretch(s0, s1 float64) {
	if st.f.degree == sextic {
		st.sextic(s0, s1)
		return
	}
	d := s1 - s0
	// The ends may be on the border of a hole, where the height jumps; so
	// all places are inside, and the ends follow from them.
	h1, w1 := st.at(s0 + d/4)
	h2, w2 := st.at(s0 + d/2)
	h3, w3 := st.at(s0 + 3*d/4)
	if st.f.holes && (w1 == surface.Hole || w2 == surface.Hole || w3 == surface.Hole) {
		if w1 != w2 || w2 != w3 {
			// Along the border of a hole, closer than a place is known.
			if d*st.length > 2*sliverMM {
				st.stretch(s0, s0+d/2)
				st.stretch(s0+d/2, s1)
				return
			}
			for _, h := range [...]float64{h1, h2, h3} {
				st.sp.see(h, s0)
				st.sp.see(h, s1)
			}
			return
		}
		if st.sp.Watch {
			st.sp.overHole(s0, d*st.length)
		}
	}
	if st.sp.Watch && (w1 == surface.Outside || w3 == surface.Outside) {
		st.beyond(s0)
		st.beyond(s1)
	}
	// The quadratic through the three, in Bernstein form: its ends by
	// Lagrange, its middle coefficient from its value at the middle.
	b0 := 3*h1 - 3*h2 + h3
	b2 := h1 - 3*h2 + 3*h3
	b1 := 2*h2 - (b0+b2)/2
	sp := st.sp
	sp.Height.parabola(b0, b1, b2, s0, s1)
	c0, c2 := sp.c(s0), sp.c(s1)
	sp.Focus.parabola(c0-b0, (c0+c2)/2-b1, c2-b2, s0, s1)
}

// sextic is stretch for a bicubic surface.
func (st *straight) sextic(s0, s1 float64) {
	var v polynomial
	d := s1 - s0
	outside := false
	for i, t := range sexticAt {
		h, w := st.at(s0 + d*t)
		v[i] = h
		outside = outside || w == surface.Outside
	}
	sp := st.sp
	if sp.Watch && outside {
		st.beyond(s0)
		st.beyond(s1)
	}
	b := through(&v)
	sp.Height.extremes(&b, s0, s1, maxHalvings)
	// A straight line has evenly spaced coefficients.
	for i := range b {
		b[i] = sp.c(s0+d*float64(i)/sextic) - b[i]
	}
	sp.Focus.extremes(&b, s0, s1, maxHalvings)
}

// beyond notes how far off the surface a point is. The distance is convex
// along a line, so the ends of stretches are the farthest.
func (st *straight) beyond(s float64) {
	d := st.f.beyond(st.f.at.Local(st.ax+st.dx*s, st.ay+st.dy*s))
	st.sp.beyond(s, d)
}
