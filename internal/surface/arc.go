package surface

import "math"

// arc is a circular or spiral move in the surface's coordinates: at
// fraction s its angle is a0 + s*da and its radius r0 + s*dr.
type arc struct{ cx, cy, r0, dr, a0, da float64 }

func (a *arc) at(s float64) (x, y float64) {
	sin, cos := math.Sincos(a.a0 + s*a.da)
	r := a.r0 + s*a.dr
	return a.cx + r*cos, a.cy + r*sin
}

// crossingMM is how near to a grid line a crossing is worked out: a
// hundredth of PlaceToleranceMM.
const crossingMM = 1e-11

// maxIterations bounds the search for a place on an arc. Bisection alone
// reaches the spacing of float64 in 53 steps; twice that serves the mixture.
const maxIterations = 106

// maxSweep is a thousand turns: more is a slip, and would take for ever.
const maxSweep = 2000 * math.Pi

// AppendArc appends to dst the pieces of a move along an arc about cx, cy
// (program XY, mm) and returns it. The angle runs from a0 by sweep (radians,
// positive counter-clockwise; a whole turn or a few are fine), the radius from
// r0 to r1 in proportion. Pieces, fractions, tol and lateral are those of
// AppendLine, fractions being of the sweep; pieces also break where the arc
// turns back in x or y. A piece's bounds follow from bounds of the slope
// and the second derivative over its cell.
func (p *Placed) AppendArc(dst []Piece, cx, cy, r0, r1, a0, sweep, tol, lateral float64) []Piece {
	w := p.newWalk(dst, tol, lateral)
	a := arc{r0: r0, dr: r1 - r0, a0: a0 - p.rotate, da: sweep}
	a.cx, a.cy = p.Local(cx, cy)
	if d := a.cx + a.cy + a.r0 + a.dr + a.a0; d-d != 0 || !(math.Abs(sweep) <= maxSweep) {
		return append(dst, p.anywhere())
	}

	s := 0.0
	x, y := a.at(0)
	i, j := p.x.region(x), p.y.region(y)
	if ex, ey := a.at(1); w.inCell(a.box(x, y, ex, ey), i, j) {
		w.arc(&a, i, j, 0, 1, x, y, ex, ey)
		return w.dst
	}
	for s < 1 {
		end := a.monotone(s)
		ex, ey := a.at(end)
		sx, dirX := a.crossing(&p.x, i, false, s, end, x, ex)
		sy, dirY := a.crossing(&p.y, j, true, s, end, y, ey)
		for sx <= end || sy <= end {
			next := min(sx, sy)
			if next > s {
				nx, ny := a.at(next)
				w.arc(&a, i, j, s, next, x, y, nx, ny)
				s, x, y = next, nx, ny
			}
			if sx <= next {
				i += dirX
				sx, _ = a.crossing(&p.x, i, false, s, end, x, ex)
			}
			if sy <= next {
				j += dirY
				sy, _ = a.crossing(&p.y, j, true, s, end, y, ey)
			}
		}
		if end > s {
			w.arc(&a, i, j, s, end, x, y, ex, ey)
		}
		s, x, y = end, ex, ey
	}
	return w.dst
}

// box bounds the arc by a rectangle, its ends being x0, y0 and x1, y1: all places
// whose radius and whose angle are between those of the ends.
func (a *arc) box(x0, y0, x1, y1 float64) [4]float64 {
	const quarter = math.Pi / 2
	grow := math.Abs(a.dr)
	b := [4]float64{min(x0, x1) - grow, min(y0, y1) - grow, max(x0, x1) + grow, max(y0, y1) + grow}
	r := max(math.Abs(a.r0), math.Abs(a.r0+a.dr))
	from, to := math.Floor(min(a.a0, a.a0+a.da)/quarter), math.Floor(max(a.a0, a.a0+a.da)/quarter)
	if a.r0 <= 0 || a.r0+a.dr <= 0 || to-from >= 4 {
		return [4]float64{a.cx - r, a.cy - r, a.cx + r, a.cy + r}
	}
	for q := int(from) + 1; q <= int(to); q++ {
		switch q & 3 {
		case 0:
			b[2] = a.cx + r
		case 1:
			b[3] = a.cy + r
		case 2:
			b[0] = a.cx - r
		case 3:
			b[1] = a.cy - r
		}
	}
	return b
}

// inCell reports whether a rectangle and all places beside it are in one cell
// whose heights are known.
func (w *walk) inCell(b [4]float64, i, j int) bool {
	p, r := w.p, w.lateral
	return p.x.holds(i, b[0]-r) && p.x.holds(i, b[2]+r) && p.y.holds(j, b[1]-r) && p.y.holds(j, b[3]+r) && p.good(i, j)
}

// monotone returns the end, above s, of the part from s on over which x and
// y each go one way only. That is where the direction of motion next is
// along an axis. It turns one way only, at a rate between one and two times
// da: for a spiral it is the angle plus atan(r*da/dr), up to a constant.
func (a *arc) monotone(s float64) float64 {
	const quarter = math.Pi / 2
	// minTurn keeps a part that starts at such a place from ending there; x
	// and y go back by less than r*minTurn^2 in it, which is nothing.
	const minTurn = 1e-8
	if a.da == 0 {
		return 1
	}
	turn := math.Copysign(1, a.da)
	bearing := func(s float64) float64 {
		b := a.a0 + s*a.da
		if a.dr != 0 {
			b += atan((a.r0 + s*a.dr) * a.da / a.dr)
		}
		return b * turn
	}
	target := (math.Floor((bearing(s)+minTurn)/quarter) + 1) * quarter
	if !(bearing(1) > target) {
		return 1
	}
	if a.dr == 0 {
		if e := (target*turn - a.a0) / a.da; e > s && e < 1 {
			return e
		}
		return 1
	}
	// Newton's method from the circle's answer, kept between ends that hold
	// the place.
	lo, hi := s, 1.0
	m := s + (target-bearing(s))/math.Abs(a.da)
	for range maxIterations {
		if !(m > lo && m < hi) {
			if m = (lo + hi) / 2; m <= lo || m >= hi {
				break
			}
		}
		off := bearing(m) - target
		if off < 0 {
			lo = m
		} else {
			hi = m
		}
		if math.Abs(off) <= bearingError {
			return m
		}
		q := (a.r0 + m*a.dr) * a.da / a.dr
		m -= off / (math.Abs(a.da) * (1 + 1/(1+q*q)))
	}
	return hi
}

// atan is math.Atan, and quicker where x is large, as for an arc that is nearly a
// circle: the next term of the series is below the last place of the result.
func atan(x float64) float64 {
	const large = 1e3
	if math.Abs(x) < large {
		return math.Atan(x)
	}
	u := 1 / x
	return math.Copysign(math.Pi/2, x) - u*(1-u*u/3)
}

// bearingError is how near to an axis in radians the direction of motion
// counts as along it: a few units in the last place of an angle, and far
// below minTurn.
const bearingError = 4e-15

// crossing returns where after s an arc that goes one way between s and end
// crosses the next line of an axis out of the given region, and that way:
// +1 or -1. It returns Inf where it does not. v and e are the coordinate at
// s and end.
func (a *arc) crossing(ax *axis, region int, isY bool, s, end, v, e float64) (at float64, dir int) {
	line := region + 1
	dir = 1
	if e < v {
		line, dir = region, -1
	}
	if uint(line) >= uint(len(ax.node)) {
		return math.Inf(1), dir
	}
	node, sign := ax.node[line], float64(dir)
	if !((e-node)*sign > 0) {
		return math.Inf(1), dir
	}
	// f grows from s to end, and is above zero there.
	f := func(t float64) (v, slope float64) {
		sin, cos := math.Sincos(a.a0 + t*a.da)
		r := a.r0 + t*a.dr
		if isY {
			return (a.cy + r*sin - node) * sign, (a.dr*sin + r*a.da*cos) * sign
		}
		return (a.cx + r*cos - node) * sign, (a.dr*cos - r*a.da*sin) * sign
	}
	if (v-node)*sign >= 0 {
		return s, dir
	}
	// Newton's method from the circle's answer, kept between ends that hold
	// the place; a bisection every third step for an arc's flat ends.
	lo, hi, m := s, end, a.circleCrossing(node, isY, s, end)
	r := max(math.Abs(a.r0), math.Abs(a.r0+a.dr))
	second := math.Abs(a.da) * (r*math.Abs(a.da) + 2*math.Abs(a.dr)) // of f, at most
	for n := range maxIterations {
		if n%3 == 2 || !(m > lo && m < hi) {
			m = (lo + hi) / 2
			if m <= lo || m >= hi {
				break
			}
		}
		fm, slope := f(m)
		if math.Abs(fm) <= crossingMM {
			return m, dir
		}
		if fm < 0 {
			lo = m
		} else {
			hi = m
		}
		step := fm / slope
		m -= step
		// A step of Newton's method leaves half the second derivative times
		// its square.
		if second*step*step <= crossingMM && m > lo && m < hi {
			return m, dir
		}
	}
	return hi, dir
}

// circleCrossing returns where between s and end a circle, of the radius in the
// middle, meets a grid line: of the two angles with that cosine (or sine), the one
// nearer the middle.
func (a *arc) circleCrossing(node float64, isY bool, s, end float64) float64 {
	r := a.r0 + (s+end)/2*a.dr
	c, from := (node-a.cx)/r, 0.0
	if isY {
		c, from = (node-a.cy)/r, math.Pi/2
	}
	angle := math.Acos(min(max(c, -1), 1))
	middle := a.a0 + (s+end)/2*a.da - from
	up, down := withinTurn(middle-angle), withinTurn(middle+angle)
	if math.Abs(up) < math.Abs(down) {
		return (s+end)/2 - up/a.da
	}
	return (s+end)/2 - down/a.da
}

// withinTurn takes whole turns off an angle, as near as a guess needs.
func withinTurn(angle float64) float64 {
	return angle - 2*math.Pi*math.RoundToEven(angle*(1/(2*math.Pi)))
}

// arc appends the pieces of the part from s0 to s1 of an arc, in region
// i, j and monotone in x and y, between the given ends. The second
// derivative of the height by s is, by the chain rule, at most
// curve*speed^2 + slope*acceleration; from its chord a function is off by
// at most an eighth of that times the length squared.
func (w *walk) arc(a *arc, i, j int, s0, s1, x0, y0, x1, y1 float64) {
	p := w.p
	st := p.stretch(i, j, x0, y0, x1, y1)
	if !st.good {
		w.overHole(st, s0, s1)
		return
	}
	height := func(x, y float64) float64 {
		return p.cellAt(st.i, st.j, p.x.into(st.i, x), p.y.into(st.j, y)) - p.off
	}
	r := max(math.Abs(a.r0+s0*a.dr), math.Abs(a.r0+s1*a.dr))
	across, along := r*math.Abs(a.da), math.Abs(a.dr)
	speed2 := across*across + along*along
	acceleration := math.Abs(a.da) * math.Sqrt(across*across+4*along*along)
	second := p.curveOf(st.i, st.j)*speed2 + float64(p.steep[st.j*p.cx+st.i])*acceleration

	width := s1 - s0
	dev := second * width * width / 8
	n := parts(dev, w.tol, width)
	dev /= float64(n) * float64(n)
	if w.lateral > 0 {
		dev += w.growth(st.i, st.j, x0, y0, x1, y1)
	}
	ha := w.h
	if !w.joined {
		ha = height(x0, y0)
	}
	sa := s0
	for m := 1; m <= n; m++ {
		sb, xb, yb := s1, x1, y1
		if m < n {
			sb = s0 + width*float64(m)/float64(n)
			xb, yb = a.at(sb)
		}
		hb := height(xb, yb)
		w.dst = append(w.dst, Piece{S0: sa, S1: sb, H0: ha, H1: hb, Up: dev, Down: dev, Where: st.where})
		sa, ha = sb, hb
	}
	w.h, w.joined = ha, true
}
