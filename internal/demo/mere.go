package demo

import (
	"math"

	"sagitta/internal/program"
	"sagitta/internal/stroke"
)

// The mere's picture, in mm: its middle, half its sides, the pitch of its
// lines and of the dots along them, and how far the head runs beyond the
// picture before it turns.
const (
	mereX, mereY         = 246.0, 111.0
	mereHalfX, mereHalfY = 30.0, 15.0
	merePitch            = 0.25
	mereRunOut           = 2.5
)

// mereEdge gives the shore in a direction, in radians, as a part of the
// picture's half sides.
func mereEdge(a float64) float64 {
	return 0.86 + 0.06*math.Cos(2*a+0.4) + 0.05*math.Cos(3*a-1) + 0.03*math.Cos(5*a+2)
}

// merePower gives the power at a place: 0 on land, on the islet and on the
// glints between the ripples, and more over deeper water.
func merePower(x, y float64) int64 {
	u, v := (x-mereX)/mereHalfX, (y-mereY)/mereHalfY
	depth := 1 - math.Hypot(u, v)/mereEdge(math.Atan2(v, u))
	if depth <= 0.02 || math.Hypot((x-mereX+9)/4, (y-mereY-2)/2) < 1 {
		return 0
	}
	ripple := math.Sin(2 * math.Pi * (v*4 + 0.25*math.Sin(5*u) + 1.2*depth))
	if ripple > 0.9 && depth < 0.6 {
		return 0
	}
	const step = 10 // of power: finer than the eye can tell apart on plywood
	s := 170 + 430*math.Pow(depth, 0.8) + 90*ripple
	return int64(math.Round(s/step)) * step
}

// mere burns the shore and then the water, line by line, back and forth.
func (p *pen) mere() {
	p.beam(steady, "M4", "shore of the mere")
	p.power, p.feed = 560, 2000
	for _, scale := range []float64{1, 1.03} {
		p.polyline(shore(scale))
	}
	p.off()
	p.beam(compact, "M4", "water of the mere: 0.25 mm lines")
	p.feed = 2600
	lines := int(2 * mereHalfY / merePitch)
	for i := range lines {
		p.waterLine(mereY-mereHalfY+(float64(i)+0.5)*merePitch, i%2 == 1)
	}
	p.off()
}

// shore gives the mere's outline, larger by a factor.
func shore(factor float64) []stroke.Point {
	const n = 260 // points: about 0.6 mm apart
	pts := make([]stroke.Point, 0, n+1)
	for i := range n {
		a := 2 * math.Pi * float64(i) / n
		r := mereEdge(a) * factor
		// The angle is that of the picture pressed to a square.
		sin, cos := math.Sincos(a)
		pts = append(pts, stroke.Point{X: mereX + mereHalfX*r*cos, Y: mereY + mereHalfY*r*sin})
	}
	return append(pts, pts[0])
}

// waterLine burns one line of the picture. The power changes along it; dots of
// the same power are one move, and dry land is a move at S0.
func (p *pen) waterLine(y float64, back bool) {
	dots := int(2 * mereHalfX / merePitch)
	power := make([]int64, dots)
	first, last := dots, -1
	for i := range dots {
		if power[i] = merePower(mereX-mereHalfX+(float64(i)+0.5)*merePitch, y); power[i] > 0 {
			first, last = min(first, i), i
		}
	}
	if last < 0 {
		return
	}
	// The wet part of the line, in the order of burning; from is where a dot
	// is entered.
	dir, i, end := 1.0, first, last
	from := func(i int) float64 { return mereX - mereHalfX + float64(i)*merePitch }
	if back {
		dir, i, end = -1, last, first
		from = func(i int) float64 { return mereX - mereHalfX + float64(i+1)*merePitch }
	}
	p.travel(from(i)-dir*mereRunOut, y)
	p.power = 0
	p.line(from(i), y)
	for step := int(dir); ; i += step {
		p.power = power[i]
		if i == end {
			p.line(from(i+step), y)
			break
		}
		if power[i+step] != power[i] {
			p.line(from(i+step), y)
		}
	}
	p.power = 0
	p.line(from(end)+dir*(merePitch+mereRunOut), y)
	p.powerNow = program.Int(0)
}
