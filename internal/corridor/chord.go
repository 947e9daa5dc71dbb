package corridor

import "math"

// chords chooses the corners of the written path up to gate end, all on the rounded path:
// every end of a move is one, for nothing, and inside a move as few as are needed for each
// link to stay in the tube and to turn no more than the head takes. Between links that
// follow a path whose slope changes slowly, it changes no faster on average.
//
// It reports whether every link stays in the whole depth.
func (r *rounder) chords(end int) bool {
	p := r.p
	p.nodes = append(p.nodes[:0], r.node(0, false))
	slope := p.from.Slope
	ok := true
	for i := 0; i < end; {
		e := p.nextEnd(i)
		at := 0.0
		for i < e {
			j, forced := r.link(i, e, at, slope)
			if forced && !r.inside(i, j) {
				ok = false
			}
			if slope = 0; r.length(i, j) > 0 {
				slope = (r.c[j] - r.c[i]) / r.length(i, j)
			}
			p.nodes = append(p.nodes, r.node(j, forced))
			i, at = j, p.gates[j].S
		}
	}
	p.plan.Slope, p.plan.AnySlope, p.plan.Even = slope, isInf(r.bend[end]), r.even[end]
	if end > 0 && Stands(p.gates, end) {
		p.plan.Even = 1
	}
	return ok
}

// node is a corner of the path at gate k.
func (r *rounder) node(k int, forced bool) node {
	n := node{gate: k, forced: forced}
	n.w.Lo, n.w.Hi = r.c[k], r.c[k]
	return n
}

// length is how far it is from gate i to gate j.
func (r *rounder) length(i, j int) (sum float64) {
	for k := i + 1; k <= j; k++ {
		sum += r.along[k]
	}
	return sum
}

// Longer is how many times longer the burn before gate k of the last plan takes for corners
// to be rounded, 1 where it goes at its feed.
func (p *Planner) Longer(k int) float64 {
	if p.Inertia == nil || !p.rounded {
		return 1
	}
	return p.rounder.even[k]
}

// link finds the furthest gate, up to e where the move ends, that a straight link leads to
// from gate i, at a fraction of the move: in the tube, turning by no more than the head
// takes where it begins, after a link of this slope, and where it ends, if the path goes on
// from there. Forced tells that none does, and the next corner is taken.
func (r *rounder) link(i, e int, at, before float64) (to int, forced bool) {
	p := r.p
	if e == i+1 {
		return e, false
	}
	turns := func(k int) bool {
		s, length := p.gates[k].S, p.gates[e].Length
		return (s-at)*length >= ClosestCut && (1-s)*length >= ClosestCut
	}
	to = -1
	least, most, length := math.Inf(-1), math.Inf(1), 0.0
	for j := i + 1; j <= e; j++ {
		length += r.along[j]
		if least > most || length == 0 {
			break
		}
		slope := (r.c[j] - r.c[i]) / length
		if least <= slope && slope <= most && (j == e || turns(j)) &&
			math.Abs(slope-before) <= r.bend[i]*(1+slopeSlack) && (j == r.last || r.along[j+1] == 0 ||
			math.Abs((r.c[j+1]-r.c[j])/r.along[j+1]-slope) <= r.bend[j]*(1+slopeSlack)) {
			to = j
		}
		least, most = max(least, (r.lo[j]-r.c[i])/length), min(most, (r.hi[j]-r.c[i])/length)
	}
	if to >= 0 {
		return to, false
	}
	for to = i + 1; to < e && !turns(to); to++ {
	}
	return to, true
}

// inside reports whether the link from gate i to gate j stays in the whole depth.
func (r *rounder) inside(i, j int) bool {
	length := r.length(i, j)
	d := 0.0
	for k := i + 1; k < j; k++ {
		d += r.along[k]
		c := r.c[i] + (r.c[j]-r.c[i])*d/length
		if w := r.p.gates[k].Window(r.p.Depth, 1); c < w.Lo-rounding || c > w.Hi+rounding {
			return false
		}
	}
	return true
}
