package demo

import (
	"math"

	"sagitta/internal/stroke"
)

// hill is a place, the radius of its foot in mm and what makes its shape.
type hill struct {
	x, y, foot float64
	rings      int
	phase      float64
}

// ring gives the hill's outline at a part of its height, closed, with points
// about pitch mm apart.
func (h hill) ring(part, pitch float64) []stroke.Point {
	n := int(math.Ceil(2 * math.Pi * h.foot * part / pitch))
	pts := make([]stroke.Point, 0, n+1)
	for i := range n {
		x, y := h.at(part, 360*float64(i)/float64(n))
		pts = append(pts, stroke.Point{X: x, Y: y})
	}
	return append(pts, pts[0])
}

// at gives a place on the hill: the part of the way from its top to its foot,
// in a direction in degrees.
func (h hill) at(part, deg float64) (x, y float64) {
	a := deg * math.Pi / 180
	bulge := 1 + 0.16*math.Cos(2*a+h.phase) + 0.07*math.Cos(3*a-2*h.phase) + 0.03*part*math.Cos(7*a+h.phase)
	return polar(h.x, h.y, h.foot*part*bulge, deg)
}

func hills() []hill {
	return []hill{
		{x: 46, y: 112, foot: 18, rings: 11, phase: 0.4},
		{x: 146, y: 122, foot: 16, rings: 10, phase: 2.1},
		{x: 195, y: 158, foot: 16, rings: 10, phase: 5.2},
		{x: 133, y: 43, foot: 19, rings: 12, phase: 3.6},
	}
}

// relief burns hills as contours with hachures between them, and the brook.
func (p *pen) relief() {
	p.beam(steady, "M4", "relief")
	for _, h := range hills() {
		p.power, p.feed = 380, 2000
		for k := h.rings; k > 0; k-- {
			p.polyline(h.ring(float64(k)/float64(h.rings), 0.6))
			p.remark("contour")
		}
		p.power, p.feed = 300, 1800
		p.hachures(h)
	}
	p.power, p.feed = 480, 2000
	for _, w := range waters() {
		p.polyline(w)
		p.remark("brook")
	}
	p.off()
}

// hachures burns short strokes down the slope, between every other pair of
// contours.
func (p *pen) hachures(h hill) {
	for k := h.rings; k > 1; k -= 2 {
		lo, hi := float64(k)/float64(h.rings), float64(k-1)/float64(h.rings)
		n := int(2 * math.Pi * h.foot * lo / 0.8)
		for i := range n {
			deg := 360 * float64(i) / float64(n)
			x0, y0 := h.at(hi+0.2*(lo-hi), deg)
			x1, y1 := h.at(hi+0.8*(lo-hi), deg+1)
			p.polyline([]stroke.Point{{X: x0, Y: y0}, {X: x1, Y: y1}})
		}
	}
}

// waters gives the banks of the brook, above the mere and below it.
func waters() [][]stroke.Point {
	var lines [][]stroke.Point
	banks := func(x0, y0, x1, y1, swing, turns float64) {
		dx, dy := x1-x0, y1-y0
		run := math.Hypot(dx, dy)
		n := int(run / 0.5)
		for _, off := range []float64{0.5, -0.5} {
			line := make([]stroke.Point, 0, n+1)
			for i := range n + 1 {
				t := float64(i) / float64(n)
				// The swing dies away at the ends; the bed widens.
				side := swing*math.Sin(math.Pi*t)*math.Sin(2*math.Pi*turns*t+0.7) + off*(0.5+t)
				line = append(line, stroke.Point{X: x0 + dx*t - dy/run*side, Y: y0 + dy*t + dx/run*side})
			}
			lines = append(lines, line)
		}
	}
	banks(285, 172, 262, 124, 4, 2.5)
	banks(229, 98.5, 186, 14.5, 4.5, 3.5)
	return lines
}
