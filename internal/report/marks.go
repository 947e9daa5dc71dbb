package report

import (
	"math"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// glyph is a mark of lines: black with white below, so that it shows on dark and light.
type glyph struct {
	radius vg.Length
	lines  func(at vg.Point, r vg.Length) []vg.Path
	faint  bool // of a thin line alone
}

var (
	touchedMark = glyph{1.6, ring, false}
	leftOutMark = glyph{3.6, cross, false}
	doubtMark   = glyph{4.4, square, false}
	datumMark   = glyph{6, target, false}
	dotMark     = glyph{0.8, disc, false}
	// measuredMark is where a height was measured, under a job.
	measuredMark = glyph{1.3, cross, true}
	waitMark     = glyph{2.6, square, false}
	focusMark    = glyph{5, diamond, false}
	worstMark    = glyph{6, rings, false}
	stepMark     = glyph{2.6, ring, false}
)

// draw draws the mark.
func (g glyph) draw(c draw.Canvas, at vg.Point) {
	styles := []draw.LineStyle{{Color: sheetPaper, Width: 2.4}, {Color: sheetInk, Width: 0.9}}
	if g.faint {
		styles = []draw.LineStyle{{Color: faint, Width: 0.5}}
	}
	for _, s := range styles {
		c.SetLineStyle(s)
		for _, line := range g.lines(at, g.radius) {
			c.Stroke(line)
		}
	}
}

func ring(at vg.Point, r vg.Length) []vg.Path {
	var p vg.Path
	p.Move(vg.Point{X: at.X + r, Y: at.Y})
	p.Arc(at, r, 0, 2*math.Pi)
	p.Close()
	return []vg.Path{p}
}

func stroke(a, b vg.Point) vg.Path {
	return vg.Path{{Type: vg.MoveComp, Pos: a}, {Type: vg.LineComp, Pos: b}}
}

// disc is a ring without a hole.
func disc(at vg.Point, r vg.Length) []vg.Path { return append(ring(at, r), ring(at, r/4)...) }

func cross(at vg.Point, r vg.Length) []vg.Path {
	return []vg.Path{
		stroke(vg.Point{X: at.X - r, Y: at.Y - r}, vg.Point{X: at.X + r, Y: at.Y + r}),
		stroke(vg.Point{X: at.X - r, Y: at.Y + r}, vg.Point{X: at.X + r, Y: at.Y - r}),
	}
}

func square(at vg.Point, r vg.Length) []vg.Path {
	var p vg.Path
	p.Move(vg.Point{X: at.X - r, Y: at.Y - r})
	p.Line(vg.Point{X: at.X + r, Y: at.Y - r})
	p.Line(vg.Point{X: at.X + r, Y: at.Y + r})
	p.Line(vg.Point{X: at.X - r, Y: at.Y + r})
	p.Close()
	return []vg.Path{p}
}

// target is a ring with cross hairs.
func target(at vg.Point, r vg.Length) []vg.Path {
	return append(ring(at, r*0.6), stroke(vg.Point{X: at.X - r, Y: at.Y}, vg.Point{X: at.X + r, Y: at.Y}),
		stroke(vg.Point{X: at.X, Y: at.Y - r}, vg.Point{X: at.X, Y: at.Y + r}))
}

// rings are two, one within the other.
func rings(at vg.Point, r vg.Length) []vg.Path { return append(ring(at, r), ring(at, r*0.55)...) }

// diamond is a square on its corner with a cross in it.
func diamond(at vg.Point, r vg.Length) []vg.Path {
	var p vg.Path
	p.Move(vg.Point{X: at.X, Y: at.Y - r})
	p.Line(vg.Point{X: at.X + r, Y: at.Y})
	p.Line(vg.Point{X: at.X, Y: at.Y + r})
	p.Line(vg.Point{X: at.X - r, Y: at.Y})
	p.Close()
	return append(cross(at, r/3), p)
}
