package demo

import (
	"math"

	"sagitta/internal/stroke"
)

// leg is a straight of the canal, or a bend where radius is above zero.
type leg struct {
	length float64 // of a straight, in mm
	radius float64 // of a bend's middle, in mm
	turn   float64 // of a bend, in degrees, to the left positive
}

// The canal's way: where it begins, in mm and degrees, and half its width.
const (
	courseX, courseY = 14.0, 62.0
	courseHalf       = 1.5
)

// course gives the canal's middle from the wharf to the mere, as the surveyors
// of canals laid them out: straights and bends of one radius.
func course() []leg {
	return []leg{
		{length: 21}, {radius: 35, turn: 50}, {length: 18}, {radius: 28, turn: -85}, {length: 12},
		{radius: 30, turn: 75}, {length: 21.4}, {radius: 40, turn: -40}, {length: 18},
	}
}

// span is a leg in its place: where it begins and its direction there.
type span struct {
	leg
	x, y, deg float64
}

// side gives the place beside the leg after the part s of it, off mm to the
// left, and the direction of the canal there.
func (l span) side(s, off float64) (x, y, deg float64) {
	if l.radius == 0 {
		x, y = polar(l.x, l.y, s*l.length, l.deg)
		x, y = polar(x, y, off, l.deg+90)
		return x, y, l.deg
	}
	cx, cy := l.centre()
	toward := math.Copysign(90, l.turn)
	deg = l.deg + s*l.turn
	x, y = polar(cx, cy, l.radius-off*math.Copysign(1, l.turn), deg-toward)
	return x, y, deg
}

// centre gives the middle of a bend.
func (l span) centre() (x, y float64) {
	return polar(l.x, l.y, l.radius, l.deg+math.Copysign(90, l.turn))
}

// along gives the length of a leg's middle in mm.
func (l span) along() float64 {
	if l.radius == 0 {
		return l.length
	}
	return l.radius * math.Abs(l.turn) * math.Pi / 180
}

// lay puts legs one behind the other.
func lay(legs []leg) []span {
	spans := make([]span, 0, len(legs))
	x, y, deg := courseX, courseY, 0.0
	for _, l := range legs {
		s := span{leg: l, x: x, y: y, deg: deg}
		spans = append(spans, s)
		x, y, deg = s.side(1, 0)
	}
	return spans
}

// beside gives the place after the part t of the whole course, off mm to the
// left.
func beside(legs []leg, t, off float64) (x, y float64) {
	x, y, _ = station(lay(legs), t, off)
	return x, y
}

// station gives the same of legs in their places, and the direction there.
func station(spans []span, t, off float64) (x, y, deg float64) {
	total := 0.0
	for _, s := range spans {
		total += s.along()
	}
	rest := t * total
	for _, s := range spans {
		n := s.along()
		if rest <= n {
			return s.side(rest/n, off)
		}
		rest -= n
	}
	return spans[len(spans)-1].side(1, off)
}

// canal burns the canal: banks as straights and true arcs, the towing path as
// dashes, locks and bridges.
func (p *pen) canal() {
	p.beam(steady, "M4", "the cut")
	p.power, p.feed = 600, 2000
	spans := lay(course())
	for _, off := range []float64{courseHalf, -courseHalf} {
		x, y, _ := spans[0].side(0, off)
		p.travel(x, y)
		for _, s := range spans {
			p.along(s, 1, off)
		}
		p.remark("bank")
	}
	p.power = 450
	p.towpath(spans)
	for _, t := range []float64{0.37, 0.72} {
		for i := range 3 {
			p.lock(spans, t+0.008*float64(i))
		}
	}
	for _, t := range []float64{0.235, 0.9} {
		for _, d := range []float64{-0.004, 0.004} {
			x, y, _ := station(spans, t+d, 3.5)
			u, v, _ := station(spans, t+d, -3.5)
			p.polyline([]stroke.Point{{X: x, Y: y}, {X: u, Y: v}})
		}
		p.remark("bridge")
	}
	p.off()
}

// along burns beside a leg to the part s of it.
func (p *pen) along(l span, s, off float64) {
	x, y, _ := l.side(s, off)
	if l.radius == 0 {
		p.line(x, y)
		return
	}
	cx, cy := l.centre()
	p.arc(l.turn > 0, x, y, cx, cy)
}

// towpath burns dashes beside the left bank.
func (p *pen) towpath(spans []span) {
	const off, dash = courseHalf + 1.3, 2.2 // mm
	for _, l := range spans {
		n := math.Floor(l.along() / dash)
		for i := 0.0; i+0.6 < n; i++ {
			x, y, _ := l.side((i+0.1)/n, off)
			p.travel(x, y)
			p.along(l, (i+0.6)/n, off)
		}
	}
}

// lock burns a pair of gates that point uphill.
func (p *pen) lock(spans []span, t float64) {
	x0, y0, deg := station(spans, t, courseHalf)
	x2, y2, _ := station(spans, t, -courseHalf)
	x1, y1, _ := station(spans, t, 0)
	x1, y1 = polar(x1, y1, 1.2, deg)
	p.polyline([]stroke.Point{{X: x0, Y: y0}, {X: x1, Y: y1}, {X: x2, Y: y2}})
	p.remark("gates")
}
