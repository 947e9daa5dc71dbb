package zone

import (
	"math"

	"sagitta/internal/machine"
	"sagitta/internal/surface"
)

// stretch is a part of a burn up to fraction s1 that the same zones serve.
type stretch struct {
	s1     float64
	z      int32
	n      int
	miss   float64 // by how much the nearest zone misses it, in mm
	middle bool    // it begins in the middle of where its zones serve
}

// cutter divides burns that no zone serves as a whole.
type cutter struct {
	opt       *Options
	tol       float64
	pieces    []surface.Piece
	stretches []stretch
	edges     []float64
}

// closestCut is the least distance in mm of a cut from another point, where
// the zones leave a choice.
const closestCut = 0.05

// divide gives the stretches of a burn in order. Where two zones serve a
// stretch it is given in halves, so that the path may change in its middle.
func (c *cutter) divide(m *machine.Move, bs *bands) []stretch {
	c.pieces = appendPieces(c.pieces[:0], c.opt.Surface, m, c.tol, c.opt.lateral())
	c.stretches = c.stretches[:0]
	for k := range c.pieces {
		c.piece(&c.pieces[k], bs)
	}
	c.halve(m)
	return c.stretches
}

// piece adds the stretches of a piece: it is cut where its height, less or
// plus what is not certain of it, passes an end of a zone.
func (c *cutter) piece(pc *surface.Piece, bs *bands) {
	lo, hi := min(pc.H0, pc.H1)-pc.Down, max(pc.H0, pc.H1)+pc.Up
	rise := pc.H1 - pc.H0
	c.edges = append(c.edges[:0], 0)
	if math.Abs(rise) > rounding {
		for i := range bs.of {
			b := &bs.of[i]
			if b.hi < lo || b.lo > hi {
				continue
			}
			for _, e := range [2]float64{b.lo + pc.Down, b.hi - pc.Up} {
				if t := (e - pc.H0) / rise; t > 0 && t < 1 {
					c.edges = append(c.edges, t)
				}
			}
		}
	}
	c.edges = append(c.edges, 1)
	sortFew(c.edges)
	for i := range c.edges[1:] {
		t0, t1 := c.edges[i], c.edges[i+1]
		if t1 <= t0 {
			continue
		}
		h0, h1 := pc.H0+rise*t0, pc.H0+rise*t1
		// The ends are on the ends of zones but for rounding.
		a, b := min(h0, h1)-pc.Down+rounding, max(h0, h1)+pc.Up-rounding
		if a > b {
			a = (a + b) / 2
			b = a
		}
		s := stretch{s1: pc.S0 + (pc.S1-pc.S0)*t1}
		if t1 == 1 {
			s.s1 = pc.S1
		}
		if s.z, s.n = bs.fit(a, b); s.n == 0 {
			s.z, s.n, s.miss = bs.nearest(a, b)
		}
		c.push(s)
	}
}

// push adds a stretch, or lets the last go on with it.
func (c *cutter) push(s stretch) {
	if n := len(c.stretches); n > 0 {
		if l := &c.stretches[n-1]; l.z == s.z && l.n == s.n {
			l.s1, l.miss = s.s1, max(l.miss, s.miss)
			return
		}
	}
	c.stretches = append(c.stretches, s)
}

// nearest gives the zone that misses the heights a to b by least.
func (bs *bands) nearest(a, b float64) (z int32, n int, miss float64) {
	best := math.Inf(1)
	for i := range bs.of {
		if m := max(bs.of[i].lo-a, b-bs.of[i].hi); m < best {
			z, best = bs.base+int32(i), m
		}
	}
	return z, 1, best
}

// halve divides the stretches that several zones serve, at their middle or
// as near to it as keeps the cut clear of the burn's ends.
func (c *cutter) halve(m *machine.Move) {
	extra := 0
	for i := range c.stretches {
		if c.stretches[i].n > 1 {
			extra++
		}
	}
	n := len(c.stretches)
	for range extra {
		c.stretches = append(c.stretches, stretch{})
	}
	margin := 0.0
	if m.Length > 2*closestCut {
		margin = closestCut / m.Length
	}
	at := len(c.stretches) - 1
	for i := n - 1; i >= 0; i-- {
		s := c.stretches[i]
		if s.n > 1 {
			s0 := 0.0
			if i > 0 {
				s0 = c.stretches[i-1].s1
			}
			mid := (s0 + s.s1) / 2
			mid = min(max(mid, min(margin, s.s1)), max(1-margin, s0))
			second := s
			second.middle = true
			c.stretches[at] = second
			at--
			s.s1 = mid
		}
		c.stretches[at] = s
		at--
	}
}

// sortFew sorts a short list.
func sortFew(v []float64) {
	for i := 1; i < len(v); i++ {
		for k := i; k > 0 && v[k] < v[k-1]; k-- {
			v[k], v[k-1] = v[k-1], v[k]
		}
	}
}
