package demo

import (
	"math"

	"sagitta/internal/stroke"
)

// land burns the wood and the ploughed fields.
func (p *pen) land() {
	p.beam(plain, "M4", "wood")
	p.power, p.feed = 430, 1800
	for _, t := range trees() {
		p.tree(t.X, t.Y)
	}
	p.comment("fields")
	p.power, p.feed = 360, 2400
	p.field(224, 142, 22, 16, 8, 0)
	p.field(227, 161.5, 19, 17, 4, 90)
	p.off()
}

// trees gives the places of the trees of the wood beside the brook: rows that
// lean, each tree a little out of line.
func trees() []stroke.Point {
	var all []stroke.Point
	const pitchX, pitchY = 4.6, 4.2
	for j := range 13 {
		y := 20 + pitchY*float64(j)
		brook := 186 + (y-14.5)*0.51
		for x := 158.0; x < brook-10; x += pitchX {
			// The golden ratio scatters without a pattern that shows.
			n := float64(len(all)) * (math.Sqrt(5) - 1) / 2
			off := n - math.Floor(n) - 0.5
			all = append(all, stroke.Point{X: x + 1.6*off + 1.2*float64(j%2), Y: y + 1.4*off*float64(1-2*(j%2))})
		}
	}
	return all
}

// tree burns a crown of four arcs, given by their radius, and a trunk.
func (p *pen) tree(x, y float64) {
	p.travel(x-0.5, y+0.6)
	p.radiusArc(false, x-0.7, y+1.9, 0.75)
	p.radiusArc(false, x+0.7, y+1.9, 0.8)
	p.radiusArc(false, x+0.5, y+0.6, 0.75)
	p.radiusArc(false, x-0.5, y+0.6, 0.65)
	p.polyline([]stroke.Point{{X: x, Y: y + 0.2}, {X: x, Y: y - 0.7}})
}

// field burns a leaning field, its lower left corner at x, y: an outline and
// furrows in turn from side to side, along it or across it.
func (p *pen) field(x, y, width, height, lean, deg float64) {
	at := func(u, v float64) stroke.Point {
		return stroke.Point{X: x + u*width + v*lean*(1-u), Y: y + v*height + u*1.5}
	}
	p.polyline([]stroke.Point{at(0, 0), at(1, 0), at(1, 1), at(0, 1), at(0, 0)})
	const furrows = 14
	for i := 1; i < furrows; i++ {
		t := float64(i) / furrows
		from, to := at(0.03, t), at(0.97, t)
		if deg == 90 {
			from, to = at(t, 0.03), at(t, 0.97)
		}
		if i%2 == 0 {
			from, to = to, from
		}
		p.polyline([]stroke.Point{from, to})
	}
}
