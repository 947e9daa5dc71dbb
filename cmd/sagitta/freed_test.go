package main

import (
	"math"

	"sagitta/internal/surface"
)

// piece is one that was cut free: where it is, and how high it stands at least and at
// most, as far as samples tell.
type piece struct {
	surface.Box
	least, most float64
}

// cut is the burn under way, and the pieces that those before have cut free.
type cut struct {
	way    []at
	shut   bool // it is back where it began
	surely bool // and encloses something
	pieces []piece
}

// apart is how far two places are apart.
func apart(a, b at) float64 { return math.Hypot(a.x-b.x, a.y-b.y) }

// frees looks whether a leg follows one that cuts a piece free, or may do so itself. Of
// one that rises from over such a piece it reports that its end alone counts.
func (r *rider) frees(l *leg) (rises bool) {
	c := &r.cut
	if r.freed == 0 || len(l.way) == 1 && !l.burn && !(l.way[0].kx && l.way[0].ky) {
		return false
	}
	end := l.way[len(l.way)-1]
	if c.shut && !(l.burn && apart(end, c.way[0]) < 0.1) {
		c.pieces = append(c.pieces, r.standing())
		c.way, c.shut, c.surely = nil, false, false
		rises = apart(l.way[0], end) == 0
	}
	if !l.burn {
		if apart(l.way[0], end) > 0 || len(l.way) == 1 {
			c.way = nil
		}
		return rises
	}
	c.way = append(c.way, l.way...)
	twice, length := 0.0, 0.0
	for k := range c.way[1:] {
		a, b := c.way[k], c.way[k+1]
		twice += (b.x - a.x) * (a.y + b.y - 2*c.way[0].y)
		length += apart(a, b)
	}
	twice += (c.way[0].x - end.x) * (end.y - c.way[0].y)
	area, gap := math.Abs(twice)/2, apart(end, c.way[0])
	c.shut = c.shut || gap < 0.13 && area > 0.05
	c.surely = c.surely || gap < 0.07 && area > 0.3+0.01*length
	return rises
}

// rests lets what the program has cut free at its end stand up for the next.
func (r *rider) rests() {
	if c := &r.cut; c.shut {
		c.pieces = append(c.pieces, r.standing())
		c.way, c.shut, c.surely = nil, false, false
	}
}

// standing is the piece that the burn under way encloses.
func (r *rider) standing() piece {
	c := &r.cut
	p := piece{Box: surface.Box{X0: math.Inf(1), Y0: math.Inf(1), X1: math.Inf(-1), Y1: math.Inf(-1)}, least: math.Inf(-1)}
	for _, w := range c.way {
		p.X0, p.Y0, p.X1, p.Y1 = min(p.X0, w.x), min(p.Y0, w.y), max(p.X1, w.x), max(p.Y1, w.y)
	}
	top := math.Inf(-1)
	n := math.Ceil(max(p.X1-p.X0, p.Y1-p.Y0)/pitch) + 1
	for i := 0.0; i <= n; i++ {
		for j := 0.0; j <= n; j++ {
			top = max(top, r.ground.height(p.X0+(p.X1-p.X0)*i/n, p.Y0+(p.Y1-p.Y0)*j/n))
		}
	}
	p.most = top + r.freed + pitch*r.ground.on.MaxSlope()
	if c.surely {
		p.least = top + r.freed
		freed++
	}
	return p
}

// freed counts the pieces that came free.
var freed int
