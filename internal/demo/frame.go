package demo

import (
	"math"

	"sagitta/internal/stroke"
)

// The frame's lines, by their distance from the sheet's edge in mm.
const (
	frameOuter  = 7.0
	frameSecond = 8.0
	frameInner  = 13.0
	// frameCorner is the radius of the inner frame's hollow corners.
	frameCorner = 5.0
)

// frame burns the frame in long straight lines along the sheet's edges: where
// the sheet has bowed, they are what must be cut.
func (p *pen) frame() {
	p.beam(careful, "M3", "frame, constant power")
	p.power, p.feed = 420, 1500
	for _, d := range []float64{frameOuter, frameSecond} {
		p.polyline([]stroke.Point{{X: d, Y: d}, {X: Width - d, Y: d}, {X: Width - d, Y: Height - d},
			{X: d, Y: Height - d}, {X: d, Y: d}})
	}
	p.remark("outer frame done")
	p.hollowFrame(frameInner, frameCorner)
	p.hollowFrame(frameInner+1, frameCorner)
	p.remark("inner frame done")
	p.ticks()
	p.off()
	p.beam(plain, "M4", "letters of the frame")
	p.power, p.feed = 520, 1500
	p.gridLetters()
	p.off()
}

// hollowFrame burns a frame whose corners are cut out by quarter circles.
func (p *pen) hollowFrame(d, r float64) {
	x0, y0, x1, y1 := d, d, Width-d, Height-d
	p.travel(x0+r, y0)
	p.line(x1-r, y0)
	p.arc(false, x1, y0+r, x1, y0)
	p.line(x1, y1-r)
	p.arc(false, x1-r, y1, x1, y1)
	p.line(x0+r, y1)
	p.arc(false, x0, y1-r, x0, y1)
	p.line(x0, y0+r)
	p.arc(false, x0+r, y0, x0, y0)
}

// ticks burns the scale between the frames: a short stroke every 5 mm, a long
// one every 50 mm.
func (p *pen) ticks() {
	length := func(at int) float64 {
		if at%50 == 0 {
			return frameInner - frameSecond
		}
		return 1.2
	}
	for _, y := range []float64{frameSecond, Height - frameSecond} {
		for x := 20; x <= Width-20; x += 5 {
			p.travel(float64(x), y)
			p.line(float64(x), y+math.Copysign(length(x), Height/2-y))
		}
	}
	for _, x := range []float64{frameSecond, Width - frameSecond} {
		for y := 20; y <= Height-20; y += 5 {
			p.travel(x, float64(y))
			p.line(x+math.Copysign(length(y), Width/2-x), float64(y))
		}
	}
}

// gridLetters burns a letter into each field of 50 mm below and above, a
// number left and right.
func (p *pen) gridLetters() {
	const capMM = 2.5
	for i := range 6 {
		s, x := string(rune('A'+i)), 25+50*float64(i)
		p.text(s, capMM, x-stroke.Width(s, capMM)/2, 9.9, 0)
		p.text(s, capMM, x-stroke.Width(s, capMM)/2, Height-9.9-capMM, 0)
	}
	for i := range 4 {
		s, y := string(rune('1'+i)), 25+50*float64(i)-capMM/2
		p.text(s, capMM, 9.8, y, 0)
		p.text(s, capMM, Width-9.8-stroke.Width(s, capMM), y, 0)
	}
}
