package report

import (
	"image/color"
	"math"
	"slices"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// labels are the texts on a map as they are placed: none lies over another or beyond the
// edge, nor over a mark but where yield says that those of places give way.
type labels struct {
	within vg.Rectangle
	taken  boxes
	places boxes
	yield  bool
	room   vg.Length // more of it around texts
	texts  []label
}

// boxes are what is taken, by the squares that they come into.
type boxes map[[2]int][]vg.Rectangle

// label is a text with its box.
type label struct {
	text string
	box  vg.Rectangle
}

const (
	labelSize = vg.Length(7)
	// labelGap is around a text, and markGap from a mark to its text.
	labelGap = vg.Length(0.8)
	markGap  = vg.Length(1)
	// labelCell is the side of the squares that what is taken is found by.
	labelCell = vg.Length(20)
)

// behind is laid under texts, so that they are read on any height and over lines, in grey
// print as well.
var behind = color.NRGBA{0xfa, 0xfa, 0xfa, 0xd0}

// size is that of a text's box.
func size(text string) vg.Point {
	s := beside(labelSize)
	return vg.Point{X: s.Width(text) + 2*labelGap, Y: s.FontExtents().Ascent + 2*labelGap}
}

// boxOf is the box of a mark.
func boxOf(at vg.Point, radius vg.Length) vg.Rectangle {
	r := vg.Point{X: radius, Y: radius}
	return vg.Rectangle{Min: at.Sub(r), Max: at.Add(r)}
}

// squares goes through those that a box comes into, as long as visit says so.
func squares(box vg.Rectangle, visit func([2]int) bool) bool {
	cell := func(v vg.Length) int { return int(math.Floor(float64(v / labelCell))) }
	for x := cell(box.Min.X); x <= cell(box.Max.X); x++ {
		for y := cell(box.Min.Y); y <= cell(box.Max.Y); y++ {
			if !visit([2]int{x, y}) {
				return false
			}
		}
	}
	return true
}

// take keeps a box free of what comes after it.
func (b boxes) take(box vg.Rectangle) {
	squares(box, func(at [2]int) bool {
		b[at] = append(b[at], box)
		return true
	})
}

// free reports whether a box lies over nothing.
func (b boxes) free(box vg.Rectangle) bool {
	return squares(box, func(at [2]int) bool {
		return !slices.ContainsFunc(b[at], func(t vg.Rectangle) bool {
			return box.Min.X < t.Max.X && t.Min.X < box.Max.X && box.Min.Y < t.Max.Y && t.Min.Y < box.Max.Y
		})
	})
}

// free reports whether there is room for a box.
func (l *labels) free(box vg.Rectangle) bool {
	return l.within.Min.X <= box.Min.X && box.Max.X <= l.within.Max.X && l.within.Min.Y <= box.Min.Y && box.Max.Y <= l.within.Max.Y &&
		l.taken.free(vg.Rectangle{Min: box.Min.Sub(vg.Point{X: l.room, Y: l.room}), Max: box.Max.Add(vg.Point{X: l.room, Y: l.room})}) && (l.yield || l.places.free(box))
}

// put places a text with its middle at a point, and reports whether there is room.
func (l *labels) put(text string, middle vg.Point) bool {
	half := size(text).Scale(0.5)
	box := vg.Rectangle{Min: middle.Sub(half), Max: middle.Add(half)}
	if !l.free(box) {
		return false
	}
	l.taken.take(box)
	l.texts = append(l.texts, label{text, box})
	return true
}

// beside places the first of some texts for which there is room beside a mark.
func (l *labels) beside(at vg.Point, radius vg.Length, texts ...string) bool {
	for _, text := range texts {
		if text == "" {
			continue
		}
		half := size(text).Scale(0.5)
		dx, dy := radius+markGap+half.X, radius+markGap+half.Y
		// Right above, as on a map of touches, and round from there.
		for _, to := range [...]vg.Point{{X: dx, Y: half.Y}, {X: dx, Y: -half.Y}, {X: -dx, Y: half.Y}, {X: -dx, Y: -half.Y}, {Y: dy}, {Y: -dy}} {
			if l.put(text, at.Add(to)) {
				return true
			}
		}
	}
	return false
}

// draw draws what was placed.
func (l *labels) draw(c draw.Canvas) {
	style := beside(labelSize)
	style.Color = sheetInk
	for _, t := range l.texts {
		b := t.box
		c.FillPolygon(behind, []vg.Point{b.Min, {X: b.Max.X, Y: b.Min.Y}, b.Max, {X: b.Min.X, Y: b.Max.Y}})
		c.FillText(style, vg.Point{X: b.Min.X + labelGap, Y: b.Min.Y + labelGap}, t.text)
	}
}
