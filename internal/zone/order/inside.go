package order

import (
	"cmp"
	"math"
	"slices"
)

// mostInside is how much is done at most to find what lies inside of loops.
const mostInside = 1_500_000_000

// inside finds what lies inside of loops.
type inside struct {
	t       *touches
	loops   []loop
	samples []int32 // a point of each chain
	size    float64 // of a cell of samples, in steps
	cells   buckets
	work    int

	// Of the loop in hand.
	pts    []point
	member []int32 // by figure: the last loop that it is part of
	found  []int32 // by figure: the last loop that it was found in
	low    point
	high   point
	slabs  []int32 // edges by bands of y, as of buckets
	start  []int32
	band   float64
}

// each calls f for each figure with a point inside of a loop of others. It
// reports whether it could.
func (n *inside) each(f func(figure int32, in loop)) bool {
	j := n.t.pl.j
	if len(n.loops) == 0 {
		return true
	}
	n.scatter()
	n.member, n.found = make([]int32, len(n.t.figs)), make([]int32, len(n.t.figs))
	crossings := n.t.crossings
	slices.SortStableFunc(crossings, func(a, b crossing) int { return cmp.Compare(a.loop, b.loop) })
	for i, l := range n.loops {
		mark := int32(i) + 1
		n.draw(l)
		for _, s := range l.sides {
			n.member[s/2] = mark
		}
		try := func(fig int32, p point) {
			if n.member[fig] != mark && n.found[fig] != mark && n.holds(p) && !n.near(p, mark) {
				n.found[fig] = mark
				f(fig, l)
			}
		}
		n.within(func(k int32) {
			p := j.pts[k]
			if s, _ := n.t.pl.stretch(int(k)); s.a != s.b {
				p = s.along(0.5)
			}
			try(j.pieces[n.t.pl.pieceOf[k]].figure, p)
		})
		for _, s := range l.sides {
			at, _ := slices.BinarySearchFunc(crossings, s/2, func(c crossing, loop int32) int { return cmp.Compare(c.loop, loop) })
			for ; at < len(crossings) && crossings[at].loop == s/2; at++ {
				n.work++
				try(crossings[at].figure, crossings[at].at)
			}
		}
		if n.work > mostInside {
			return false
		}
	}
	return true
}

// scatter puts a point of each chain into a grid.
func (n *inside) scatter() {
	j := n.t.pl.j
	n.samples = j.chains
	low, high := bounds(j.pts)
	area := (float64(high.x-low.x) + 1) * (float64(high.y-low.y) + 1)
	n.size = math.Ceil(math.Sqrt(area/float64(len(n.samples))) + 1)
	n.cells = fill(2*len(n.samples), func(put func(uint32, int32)) {
		for _, k := range n.samples {
			s, _ := n.t.pl.stretch(int(k))
			p := s.along(0.5)
			put(cell(n.cell(p.x), n.cell(p.y)), k)
		}
	})
}

func (n *inside) cell(x int32) int32 { return int32(math.Floor(float64(x) / n.size)) }

// within calls f for each sample in the bounds of the loop in hand, and some more.
func (n *inside) within(f func(k int32)) {
	c0, c1, r0, r1 := n.cell(n.low.x), n.cell(n.high.x), n.cell(n.low.y), n.cell(n.high.y)
	if float64(c1-c0+1)*float64(r1-r0+1) > float64(len(n.samples)) {
		n.work += len(n.samples)
		for _, k := range n.samples {
			f(k)
		}
		return
	}
	for c := c0; c <= c1; c++ {
		for r := r0; r <= r1; r++ {
			items := n.cells.in(cell(c, r))
			n.work += len(items) + 1
			for _, k := range items {
				f(k)
			}
		}
	}
}

// draw makes a loop the one in hand.
func (n *inside) draw(l loop) {
	j := n.t.pl.j
	n.pts = n.pts[:0]
	for _, s := range l.sides {
		first, end := j.span(&n.t.figs[s/2])
		at := len(n.pts)
		if l.end > 0 {
			first, end = l.first, l.end
		}
		n.pts = append(n.pts, j.pts[first:end]...)
		if s%2 == 1 {
			slices.Reverse(n.pts[at:])
		}
	}
	n.low, n.high = bounds(n.pts)
	// Bands of y such that an edge is in few of them.
	height, climb := float64(n.high.y-n.low.y)+1, 1.0
	for i := range n.pts {
		a, b := n.edge(i)
		climb += math.Abs(float64(b.y - a.y))
	}
	count := int(min(float64(len(n.pts)), 1+2*float64(len(n.pts))*height/climb))
	n.band = height / float64(count)
	n.start = append(n.start[:0], make([]int32, count+1)...)
	for i := range n.pts {
		r0, r1 := n.bands(i)
		for r := r0; r <= r1; r++ {
			n.start[r+1]++
		}
	}
	for r := range count {
		n.start[r+1] += n.start[r]
	}
	n.slabs = slices.Grow(n.slabs[:0], int(n.start[count]))[:n.start[count]]
	for i := len(n.pts) - 1; i >= 0; i-- {
		r0, r1 := n.bands(i)
		for r := r0; r <= r1; r++ {
			n.start[r+1]--
			n.slabs[n.start[r+1]] = int32(i)
		}
	}
	// Each start is now that of the band before it: n.start[r+1] begins band r.
	copy(n.start, n.start[1:])
	n.start[count] = int32(len(n.slabs))
	n.work += len(n.pts) + len(n.slabs)
}

// edge is the edge at a point of the loop in hand.
func (n *inside) edge(i int) (a, b point) { return n.pts[i], n.pts[(i+1)%len(n.pts)] }

func (n *inside) bands(i int) (first, last int) {
	a, b := n.edge(i)
	return n.bandOf(min(a.y, b.y)), n.bandOf(max(a.y, b.y))
}

func (n *inside) bandOf(y int32) int {
	return min(max(int(float64(y-n.low.y)/n.band), 0), len(n.start)-2)
}

// holds reports whether the loop in hand goes around a point, once or more
// often.
func (n *inside) holds(p point) bool {
	if p.x < n.low.x || p.x > n.high.x || p.y < n.low.y || p.y > n.high.y {
		return false
	}
	turns := 0
	r := n.bandOf(p.y)
	items := n.slabs[n.start[r]:n.start[r+1]]
	n.work += len(items)
	for _, i := range items {
		a, b := n.edge(int(i))
		switch {
		case a.y <= p.y && b.y > p.y && turn(a, b, p) > 0:
			turns++
		case b.y <= p.y && a.y > p.y && turn(a, b, p) < 0:
			turns--
		}
	}
	return turns != 0
}

// near reports whether a point touches the loop in hand.
func (n *inside) near(p point, mark int32) bool {
	near := false
	pl := n.t.pl
	pl.over(stretch{p, p}, func(hash uint32) {
		items := pl.cells.in(hash)
		n.work += len(items)
		for _, e := range items {
			if near {
				return
			}
			if n.member[pl.j.pieces[pl.pieceOf[e]].figure] == mark {
				s, _ := pl.stretch(int(e))
				near = s.near(p)
			}
		}
	})
	return near
}

// bounds are the least and the greatest coordinates of points.
func bounds(pts []point) (low, high point) {
	low, high = pts[0], pts[0]
	for _, p := range pts {
		low = point{min(low.x, p.x), min(low.y, p.y)}
		high = point{max(high.x, p.x), max(high.y, p.y)}
	}
	return
}
