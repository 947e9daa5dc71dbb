package extremes

import "math"

// patch bounds h - lift over an area of a cell, where the lift is low at least, and
// tells by how much the height differs there. It takes a plane through the middle,
// and what is above that: of all places within the radius of one, a plane is highest
// in the direction of its slope. That holds to the second order, where the bound by
// the highest place holds to the first.
func (o *Overhead) patch(at *area, low float64) (high, span float64) {
	f, i, j, r := o.f, at.i, at.j, &at.rect
	n := o.net(i, j, r)
	least, most := math.Inf(1), math.Inf(-1)
	for k := range n {
		for _, v := range n[k] {
			least, most = min(least, v), max(most, v)
		}
	}
	high, span = most-low, most-least
	if r.x0 < f.x[i] || r.x1 > f.x[i+1] || r.y0 < f.y[j] || r.y1 > f.y[j+1] || r.x0 == r.x1 || r.y0 == r.y1 {
		return high, span // beyond the edge the height goes on: no plane but a level one
	}
	wide, tall := r.x1-r.x0, r.y1-r.y0
	h := (n[0][0] + n[0][3] + n[3][0] + n[3][3]) / 4
	gx := (n[0][3] - n[0][0] + n[3][3] - n[3][0]) / (2 * wide)
	gy := (n[3][0] - n[0][0] + n[3][3] - n[0][3]) / (2 * tall)
	more := 0.0
	for k := range n {
		for l := range n[k] {
			more = max(more, n[k][l]-h-gx*wide*(float64(l)/3-0.5)-gy*tall*(float64(k)/3-0.5))
		}
	}
	x, y := r.middle()
	over := func(c [2]float64, s float64) float64 { return h + gx*(c[0]-x) + gy*(c[1]-y) - o.lift(s) }
	most = max(over(at.a, at.s0), over(at.b, at.s1)) + more + math.Hypot(gx, gy)*(o.radius+at.bow)
	return min(high, most), span
}

// net gives the Bernstein coefficients of the height over the rectangle,
// from those of its cell: no value is outside their range, nor, against a plane,
// outside the range of theirs against its.
func (o *Overhead) net(i, j int, r *rect) [4][4]float64 {
	if o.ofI != i || o.ofJ != j || !o.known {
		o.ofCell, o.ofI, o.ofJ, o.known = o.f.coefficients(i, j), i, j, true
	}
	f, b := o.f, o.ofCell
	u0, u1 := into(f.x, i, r.x0), into(f.x, i, r.x1)
	v0, v1 := into(f.y, j, r.y0), into(f.y, j, r.y1)
	for k := range b {
		b[k] = restrict(b[k], u0, u1)
	}
	for k := range 4 {
		for row, v := range restrict([4]float64{b[0][k], b[1][k], b[2][k], b[3][k]}, v0, v1) {
			b[row][k] = v
		}
	}
	return b
}

// into is the fraction of cell i at which v lies, 0 to 1.
func into(node []float64, i int, v float64) float64 {
	return min(max((v-node[i])/(node[i+1]-node[i]), 0), 1)
}

// restrict gives the coefficients of a cubic over t0 to t1 as its polar form
// has them.
func restrict(b [4]float64, t0, t1 float64) (c [4]float64) {
	for k := range c {
		d := b
		for step := range 3 {
			t := t0
			if step < k {
				t = t1
			}
			for q := 0; q < 3-step; q++ {
				d[q] += t * (d[q+1] - d[q])
			}
		}
		c[k] = d[0]
	}
	return c
}

// rect is a rectangle.
type rect struct{ x0, y0, x1, y1 float64 }

var everywhere = rect{math.Inf(-1), math.Inf(-1), math.Inf(1), math.Inf(1)}

func (r *rect) middle() (x, y float64) { return (r.x0 + r.x1) / 2, (r.y0 + r.y1) / 2 }

// common is what two rectangles have in common; where that is nothing, an end is
// below its beginning.
func (r *rect) common(q rect) rect {
	return rect{max(r.x0, q.x0), max(r.y0, q.y0), min(r.x1, q.x1), min(r.y1, q.y1)}
}

// nearest is the fraction of the stretch from a to b that is nearest to at.
func nearest(at, a, b [2]float64) float64 {
	dx, dy := b[0]-a[0], b[1]-a[1]
	d := dx*dx + dy*dy
	if d == 0 {
		return 0
	}
	return min(max(((at[0]-a[0])*dx+(at[1]-a[1])*dy)/d, 0), 1)
}

// distance is from the rectangle to the straight stretch from a to b. The
// distance of a point of the stretch is convex along it: it is least at an end,
// where a coordinate passes a side, or at the foot of a corner.
func (r *rect) distance(a, b [2]float64) float64 {
	at := func(s float64) float64 {
		x, y := a[0]+(b[0]-a[0])*s, a[1]+(b[1]-a[1])*s
		dx, dy := max(r.x0-x, x-r.x1, 0), max(r.y0-y, y-r.y1, 0)
		return math.Sqrt(dx*dx + dy*dy)
	}
	if a == b {
		return at(0)
	}
	d := min(at(0), at(1))
	for _, side := range [4][3]float64{{r.x0, a[0], b[0]}, {r.x1, a[0], b[0]}, {r.y0, a[1], b[1]}, {r.y1, a[1], b[1]}} {
		if s := (side[0] - side[1]) / (side[2] - side[1]); s > 0 && s < 1 {
			d = min(d, at(s))
		}
	}
	for _, c := range [4][2]float64{{r.x0, r.y0}, {r.x1, r.y0}, {r.x0, r.y1}, {r.x1, r.y1}} {
		d = min(d, at(nearest(c, a, b)))
	}
	return d
}
