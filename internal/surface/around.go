package surface

import "math"

// AroundLine bounds the heights along a straight move (program XY, mm) as one
// piece, from the heights at n+1 places of it and the steepest slope
// around it: looser than AppendLine, and much quicker. It reports false where
// the move may leave the surface, or the surface has holes.
func (p *Placed) AroundLine(x0, y0, x1, y1 float64, n int) (Piece, bool) {
	slope, ok := p.slopeWithin((x0+x1)/2, (y0+y1)/2, math.Hypot(x1-x0, y1-y0)/2)
	if !ok && (p.hold != nil || !p.inside(x0, y0, 0) || !p.inside(x1, y1, 0)) {
		return Piece{}, false
	}
	h0, _ := p.At(x0, y0)
	h1, _ := p.At(x1, y1)
	pc := Piece{S1: 1, H0: h0, H1: h1}
	for k := 1; k < n; k++ {
		s := float64(k) / float64(n)
		h, _ := p.At(x0+s*(x1-x0), y0+s*(y1-y0))
		pc.widen(s, h)
	}
	pc.slack(slope * math.Hypot(x1-x0, y1-y0) / float64(2*n))
	return pc, true
}

// mostPlaces bounds the places that AroundArc looks at.
const mostPlaces = 16

// AroundArc is AroundLine for an arc as AppendArc takes it, from mostPlaces places
// at most.
func (p *Placed) AroundArc(cx, cy, r0, r1, a0, sweep float64, n int) (Piece, bool) {
	r := max(math.Abs(r0), math.Abs(r1))
	slope, ok := p.slopeWithin(cx, cy, r)
	if !ok || !(math.Abs(sweep) <= maxSweep) {
		return Piece{}, false
	}
	n = min(n, mostPlaces)
	var h [mostPlaces + 1]float64
	sin, cos := math.Sincos(a0)
	turnSin, turnCos := math.Sincos(sweep / float64(n))
	for k := range n + 1 {
		at := r0 + (r1-r0)*float64(k)/float64(n)
		h[k], _ = p.At(cx+at*cos, cy+at*sin)
		cos, sin = cos*turnCos-sin*turnSin, sin*turnCos+cos*turnSin
	}
	pc := Piece{S1: 1, H0: h[0], H1: h[n]}
	for k := 1; k < n; k++ {
		pc.widen(float64(k)/float64(n), h[k])
	}
	pc.slack(slope * math.Hypot(r*sweep, r1-r0) / float64(2*n))
	return pc, true
}

// halfTurn is half the length of half a turn over its radius, and a little.
const halfTurn = math.Pi/2 + 0.03

// AroundPath bounds the heights along any path of a length from program XY x0, y0,
// where the height is h0, to x1, y1 that stays within r of a place cx, cy, all
// in mm. It returns the height at its end and how far those on the way may be
// off the straight line over its length, on either side. It reports false
// where the path may leave the surface, or the surface has holes.
//
// Heights that change by slope m at most lie, on a path of length l that ends d
// higher, within (m²l² - d²)/2ml of the line between its ends.
func (p *Placed) AroundPath(x0, y0, h0, x1, y1, length, cx, cy, r float64) (h1, off float64, ok bool) {
	// No place is further than half the length from the middle of the ends. Up
	// to some more than half a turn that is near enough; taken as it comes,
	// which is less would be a toss-up for each arc.
	if half := length / 2; half < halfTurn*r {
		cx, cy, r = (x0+x1)/2, (y0+y1)/2, half
	}
	x, y := p.Local(cx, cy)
	if p.hold != nil || !p.holds(x, y, r) {
		return 0, 0, false
	}
	// As cellsOf, which clamps, and which the compiler does not inline.
	i0, i1, j0, j1 := p.x.before(x-r), p.x.guess(x+r), p.y.before(y-r), p.y.guess(y+r)
	if p.x.node[i1] > x+r {
		i1 = p.x.search(x + r)
	}
	if p.y.node[j1] > y+r {
		j1 = p.y.search(y + r)
	}
	h1, _ = p.At(x1, y1)
	if most := p.steepestOf(i0, j0, i1, j1) * length; most > 0 {
		off = max(0, (most-(h1-h0)*((h1-h0)/most))/2)
	}
	return h1, off, true
}

// slopeWithin gives the steepest slope within r mm of program XY. It reports
// false where places there may be off the surface, or the surface has holes.
func (p *Placed) slopeWithin(x, y, r float64) (slope float64, ok bool) {
	x, y = p.Local(x, y)
	if p.hold != nil || !p.holds(x, y, r) {
		return p.slope, false
	}
	return p.steepest(x-r, y-r, x+r, y+r), true
}

// inside tells whether all places within r mm of program XY are on the
// surface.
func (p *Placed) inside(x, y, r float64) bool {
	x, y = p.Local(x, y)
	return p.holds(x, y, r)
}

// holds is inside for a place in the surface's own coordinates.
func (p *Placed) holds(x, y, r float64) bool {
	return x-r >= p.x.start && x+r <= p.x.end && y-r >= p.y.start && y+r <= p.y.end
}

// widen takes the height h at fraction s into the bounds.
func (pc *Piece) widen(s, h float64) {
	off := h - (pc.H0 + s*(pc.H1-pc.H0))
	pc.Up, pc.Down = max(pc.Up, off), max(pc.Down, -off)
}

// slack allows for what lies between the places: from the straight line
// between two of them the height is off by half the slope times their
// distance at most.
func (pc *Piece) slack(d float64) {
	pc.Up += d
	pc.Down += d
}
