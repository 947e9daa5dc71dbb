package surface

import "math"

const (
	// rangeSlackMM is how far the range of a bicubic surface may be overstated.
	rangeSlackMM = 1e-4
	// rangeHalvings and rangeWork end the search for the extremes of one bicubic
	// patch, and of all: what is left then counts with its bound.
	rangeHalvings = 12
	rangeWork     = 2_000_000
)

// Range returns the least and the greatest height over the datum, in mm,
// and their places in program XY. On a bilinear surface they are those of
// its nodes, exactly. On a bicubic one no height between the nodes is
// beyond them, and they overstate by 1e-4 mm at most, but for surfaces so
// wild that bounding them that well takes too long.
func (p *Placed) Range() (min, max float64, minAt, maxAt [2]float64) {
	minAt[0], minAt[1] = p.Program(p.lowAt[0], p.lowAt[1])
	maxAt[0], maxAt[1] = p.Program(p.highAt[0], p.highAt[1])
	return p.low - p.off, p.high - p.off, minAt, maxAt
}

// measure fills the range and the greatest slope.
func (p *Placed) measure() {
	p.low, p.high = math.Inf(1), math.Inf(-1)
	for k, h := range p.z {
		at := [2]float64{p.x.node[k%p.nx], p.y.node[k/p.nx]}
		if h < p.low {
			p.low, p.lowAt = h, at
		}
		if h > p.high {
			p.high, p.highAt = h, at
		}
	}
	if p.cubic != nil {
		p.bound = make([]cellBound, p.cx*p.y.cells())
		for k := range p.bound {
			i, j := k%p.cx, k/p.cx
			n := p.net(i, j)
			p.bound[k] = n.bounds(p.x.inv[i], p.y.inv[j])
		}
	}
	p.steep = make([]float32, p.cx*p.y.cells())
	for k := range p.steep {
		g := p.slopeOf(k%p.cx, k/p.cx)
		p.slope = max(p.slope, g)
		p.steep[k] = float32(g)
		if float64(p.steep[k]) < g {
			p.steep[k] = math.Nextafter32(p.steep[k], math.MaxFloat32)
		}
	}
	if p.cubic == nil {
		return
	}
	high := summitOf(p, 1, p.high, p.highAt)
	low := summitOf(p, -1, -p.low, p.lowAt)
	p.high, p.highAt = high.bound, high.at
	p.low, p.lowAt = -low.bound, low.at
}

// summit is the search for the highest point of patches.
type summit struct {
	best  float64 // of the points looked at
	at    [2]float64
	bound float64 // nothing is above it
	work  int
}

// summitOf searches all patches, times sign, from the best of the nodes on; first the one
// that may reach highest, which spares the search of others.
func summitOf(p *Placed, sign, best float64, at [2]float64) summit {
	e := summit{best: best, at: at, bound: best}
	reach := func(k int) float64 { return max(sign*p.bound[k].low, sign*p.bound[k].high) }
	first := 0
	for k := range p.bound {
		if reach(k) > reach(first) {
			first = k
		}
	}
	for k := range p.bound {
		k := (k + first) % len(p.bound)
		if top := reach(k); top <= e.best+rangeSlackMM {
			e.bound = max(e.bound, top)
			continue
		}
		i, j := k%p.cx, k/p.cx
		n := p.net(i, j)
		for b := range n {
			for a := range n[b] {
				n[b][a] *= sign
			}
		}
		e.search(&n, p.x.node[i], p.y.node[j], p.x.node[i+1], p.y.node[j+1], rangeHalvings)
	}
	return e
}

// search bounds one patch over x0 to x1, y0 to y1, halving it as long as
// its coefficients allow more than what was found, but so many times at most.
func (e *summit) search(n *net, x0, y0, x1, y1 float64, halvings int) {
	xs, ys := [3]float64{x0, (x0 + x1) / 2, x1}, [3]float64{y0, (y0 + y1) / 2, y1}
	for c := range 4 {
		a, b := c&1, c>>1
		if h := n[3*b][3*a]; h > e.best {
			e.best, e.at = h, [2]float64{xs[2*a], ys[2*b]}
		}
	}
	most := n[0][0]
	for b := range n {
		most = max(most, n[b][0], n[b][1], n[b][2], n[b][3])
	}
	if most <= e.best+rangeSlackMM || halvings == 0 || e.work > rangeWork {
		e.bound = max(e.bound, most)
		return
	}
	e.work++
	for c := range 4 {
		a, b := c&1, c>>1
		u, v := float64(a)/2, float64(b)/2
		part := n.restrictTo(u, u+0.5, v, v+0.5)
		e.search(&part, xs[a], ys[b], xs[a+1], ys[b+1], halvings-1)
	}
}
