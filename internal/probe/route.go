package probe

import (
	"slices"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"
)

// improveRounds bounds the improvement of the route: few are needed after a
// start that goes along rows.
const improveRounds = 8

// route puts places into a short order that begins at the one nearest to at
// and comes back to it at the end: nearest neighbours first, then as long as
// it helps, a stretch is turned round (2-opt: G. Croes, Operations Research 6
// (1958) 791).
func route(p []orb.Point, at orb.Point) {
	for k := range p {
		best := k
		for m := k + 1; m < len(p); m++ {
			if d, e := planar.DistanceSquared(at, p[m]), planar.DistanceSquared(at, p[best]); d < e*(1-1e-12) {
				best = m
			}
		}
		p[k], p[best] = p[best], p[k]
		at = p[k]
	}
	n := len(p)
	d := func(a, b int) float64 { return planar.Distance(p[a%n], p[b%n]) }
	for range improveRounds {
		better := false
		for i := 0; i+2 < n; i++ {
			for j := i + 2; j < n; j++ {
				if gain := d(i, i+1) + d(j, j+1) - d(i, j) - d(i+1, j+1); gain > 1e-9 {
					slices.Reverse(p[i+1 : j+1])
					better = true
				}
			}
		}
		if !better {
			return
		}
	}
}

// Travel is the length of the route, back to its start, mm.
func (p *Probing) Travel() float64 {
	sum := 0.0
	for k := range p.Places {
		sum += planar.Distance(p.Places[k], p.Places[(k+1)%len(p.Places)])
	}
	return sum
}
