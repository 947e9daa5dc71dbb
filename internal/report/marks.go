package report

import (
	"image/color"
	"math"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// glyph is a mark of lines: black with white below, so that it shows on dark and light.
type glyph struct {
	radius vg.Length
	lines  func(at vg.Point, r vg.Length) []vg.Path
}

var (
	touchedMark = glyph{1.6, ring}
	leftOutMark = glyph{3.6, cross}
	doubtMark   = glyph{4.4, square}
	datumMark   = glyph{6, target}
	dotMark     = glyph{0.8, disc}
)

// draw draws the mark.
func (g glyph) draw(c draw.Canvas, at vg.Point) {
	for _, s := range [...]draw.LineStyle{{Color: color.White, Width: 2.4}, {Color: color.Black, Width: 0.9}} {
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
