package order

import "math"

// plane is where the burns of a job lie: its stretches by the cells of a grid. A
// stretch has the number of its first point.
type plane struct {
	j       *Job
	pieceOf []int32  // of each point
	begins  []uint64 // bits: the point begins a chain
	size    float64  // of a cell, in steps
	cells   buckets
}

func newPlane(j *Job) *plane {
	p := &plane{j: j, pieceOf: make([]int32, len(j.pts)), begins: make([]uint64, len(j.pts)/64+1)}
	for i := range j.pieces {
		first, end := j.points(i)
		for k := first; k < end; k++ {
			p.pieceOf[k] = int32(i)
		}
	}
	for _, k := range j.chains {
		p.begins[k/64] |= 1 << (k % 64)
	}
	n, length := 0, 0.0
	for k := range j.pts {
		if s, ok := p.stretch(k); ok {
			n++
			length += s.b.sub(s.a).length()
		}
	}
	// A cell is such that a stretch lies in some four of them.
	p.size = math.Ceil(max(length/max(1, 3*float64(n)), 4*touch))
	cells := 2*n + int(length/p.size)*2
	p.cells = fill(cells, func(put func(uint32, int32)) {
		for k := range j.pts {
			if s, ok := p.stretch(k); ok {
				p.over(s, func(hash uint32) { put(hash, int32(k)) })
			}
		}
	})
	return p
}

// stretch is what begins at a point: a straight burn, or one without length; it
// reports whether anything does.
func (p *plane) stretch(k int) (stretch, bool) {
	pts := p.j.pts
	if k+1 < len(pts) && p.begins[(k+1)/64]>>((k+1)%64)&1 == 0 {
		return stretch{pts[k], pts[k+1]}, true
	}
	return stretch{pts[k], pts[k]}, p.begins[k/64]>>(k%64)&1 != 0
}

// over calls f for each cell that the stretch comes as near to as half of touch:
// where two stretches touch they share one.
func (p *plane) over(s stretch, f func(hash uint32)) {
	const r = touch/2 + 1
	ax, ay := float64(s.a.x), float64(s.a.y)
	dx, dy := float64(s.b.x)-ax, float64(s.b.y)-ay
	first, last := int32(math.Floor((min(ay, ay+dy)-r)/p.size)), int32(math.Floor((max(ay, ay+dy)+r)/p.size))
	for row := first; row <= last; row++ {
		t0, t1 := 0.0, 1.0
		if dy != 0 && first != last {
			t0 = (float64(row)*p.size - r - ay) / dy
			t1 = (float64(row+1)*p.size + r - ay) / dy
			if t0 > t1 {
				t0, t1 = t1, t0
			}
			t0, t1 = min(max(t0, 0), 1), min(max(t1, 0), 1)
		}
		x0, x1 := ax+t0*dx, ax+t1*dx
		for col := int32(math.Floor((min(x0, x1) - r) / p.size)); col <= int32(math.Floor((max(x0, x1)+r)/p.size)); col++ {
			f(cell(col, row))
		}
	}
}

// points are those of a piece, end not counted.
func (j *Job) points(i int) (first, end int) {
	chain := func(i int) int {
		if i < len(j.pieces) {
			if c := int(j.pieces[i].chain); c < len(j.chains) {
				return int(j.chains[c])
			}
		}
		return len(j.pts)
	}
	return chain(i), chain(i + 1)
}

// ends are where a piece begins and ends.
func (j *Job) ends(i int) (a, b point) {
	if first, end := j.points(i); first < end {
		return j.pts[first], j.pts[end-1]
	}
	return
}

// whole reports whether a piece is one chain.
func (j *Job) whole(i int) bool {
	next := len(j.chains)
	if i+1 < len(j.pieces) {
		next = int(j.pieces[i+1].chain)
	}
	return next-int(j.pieces[i].chain) == 1
}
