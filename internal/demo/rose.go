package demo

import (
	"math"

	"sagitta/internal/stroke"
)

// The compass rose, in mm.
const (
	roseX, roseY = 251.0, 51.0
	roseRadius   = 24.0
)

// rose burns the compass rose: full circles, petals of arcs given by their
// radius, points of straight lines, degrees.
func (p *pen) rose() {
	p.beam(small, "M4", "compass rose")
	p.power, p.feed = 560, 1800
	p.circle(true, roseX, roseY, roseRadius)
	p.circle(false, roseX, roseY, roseRadius-1.2)
	p.circle(true, roseX, roseY, 0.6*roseRadius)
	p.circle(false, roseX, roseY, 2.5)
	p.remark("circles done")
	for i := range 120 {
		length := 1.2
		if i%10 == 0 {
			length = 2.6
		}
		x0, y0 := polar(roseX, roseY, roseRadius, 3*float64(i))
		x1, y1 := polar(roseX, roseY, roseRadius-length, 3*float64(i))
		p.polyline([]stroke.Point{{X: x0, Y: y0}, {X: x1, Y: y1}})
	}
	for i := range 8 {
		deg := 45 * float64(i)
		if i%2 == 0 {
			p.point(deg)
		} else {
			p.petal(deg)
		}
	}
	p.north()
	for i, s := range []string{"E", "N", "W", "S"} {
		if s == "N" {
			continue
		}
		const capMM = 4
		x, y := polar(roseX, roseY, roseRadius+4, 90*float64(i))
		p.text(s, capMM, x-stroke.Width(s, capMM)/2, y-capMM/2, 0)
	}
	p.off()
}

// point burns a long point in a direction, one half of it hatched.
func (p *pen) point(deg float64) {
	tipX, tipY := polar(roseX, roseY, roseRadius-3, deg)
	for _, side := range []float64{45, -45} {
		x, y := polar(roseX, roseY, 5, deg+side)
		p.polyline([]stroke.Point{{X: roseX, Y: roseY}, {X: x, Y: y}, {X: tipX, Y: tipY}})
	}
	p.line(roseX, roseY)
	midX, midY := polar(roseX, roseY, 5, deg+45)
	for i := 1; i < 20; i++ {
		t := float64(i) / 20
		x0, y0 := roseX+(tipX-roseX)*t, roseY+(tipY-roseY)*t
		// From the spine to the edge, as far as the edge reaches there.
		x1, y1 := midX+(tipX-midX)*t, midY+(tipY-midY)*t
		p.polyline([]stroke.Point{{X: x0, Y: y0}, {X: x1, Y: y1}})
	}
}

// petal burns a leaf between two arcs.
func (p *pen) petal(deg float64) {
	const bend = 12.0
	x0, y0 := polar(roseX, roseY, 2.5, deg)
	x1, y1 := polar(roseX, roseY, 0.6*roseRadius, deg)
	p.travel(x0, y0)
	p.radiusArc(true, x1, y1, bend)
	p.radiusArc(true, x0, y0, bend)
	p.remark("petal")
}

// north burns the mark over the north point: a ring almost closed, on a stem.
func (p *pen) north() {
	const capMM = 4.5
	x, y := roseX, roseY+roseRadius+1
	p.travel(x-0.8, y)
	p.radiusArc(false, x+0.8, y, -1.6)
	p.remark("the longer way round")
	p.text("N", capMM, x-stroke.Width("N", capMM)/2, y+math.Sqrt(1.6*1.6-0.8*0.8)+2.8, 0)
}
