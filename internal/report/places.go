package report

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"sagitta/internal/fit"
	"sagitta/internal/phrase"
	"sagitta/internal/surface"
)

// Place is one that was touched, with its number in the order of touching, 0 where it has
// none.
type Place struct {
	surface.Point
	Number int
}

// LeftOut is a touch that was left out, with the number of its place.
type LeftOut struct {
	fit.LeftOut
	Number int
	From   string // where it was read
}

// said are the long and the short of it.
func (b *LeftOut) said() (long, short string) {
	short = "left out"
	if b.Line > 0 {
		short = b.From + " left out"
	}
	if b.Number > 0 {
		short = fmt.Sprintf("%d, %s", b.Number, short)
	}
	return short + ": " + signed(b.OffMM, 2), short
}

// crowded is how near to each other marks of places are before one is left out: they would
// hide the heights.
const crowded = vg.Length(12)

// mostNumbered is how many places may all have their numbers: with more of them the map
// would be hidden.
const mostNumbered = 200

// outline draws the outline of a job, dashed.
func (p *panel) outline() {
	if len(p.m.Outline) == 0 {
		return
	}
	line := make([]vg.Point, len(p.m.Outline))
	for k, q := range p.m.Outline {
		line[k] = p.at(q[0], q[1])
	}
	for _, s := range outlineStyles {
		p.canvas.StrokeLines(s, p.canvas.ClipLinesXY(line)...)
	}
}

var outlineStyles = []draw.LineStyle{
	{Color: sheetPaper, Width: 2.4},
	{Color: sheetInk, Width: 1.1, Dashes: []vg.Length{6, 3}},
}

// particular draws what a person should look at, and so has its texts first: datum, touches
// left out, and doubts, by their letters.
func (p *panel) particular() {
	if d := p.m.Datum; d != nil {
		at := p.at(d[0], d[1])
		p.mark(datumMark, at)
		p.labels.beside(at, datumMark.radius, p.named(*d)+"datum")
	}
	for _, b := range p.m.LeftOut {
		at := p.at(b.X, b.Y)
		p.mark(leftOutMark, at)
		long, short := b.said()
		p.labels.beside(at, leftOutMark.radius, long, short)
	}
	for k, d := range p.m.Doubts {
		for _, q := range d.Places {
			at := p.at(q.X, q.Y)
			p.mark(doubtMark, at)
			p.labels.beside(at, doubtMark.radius, p.named([2]float64{q.X, q.Y})+letter(k), letter(k))
		}
	}
}

// named is the number of the place at x, y, with a blank, "" where none is there: it is not
// to be written again.
func (p *panel) named(xy [2]float64) string {
	k := slices.IndexFunc(p.m.Places, func(q Place) bool {
		return q.Number > 0 && math.Hypot(q.X-xy[0], q.Y-xy[1]) < nearMM
	})
	if k < 0 {
		return ""
	}
	p.has[p.m.Places[k].Number] = true
	return strconv.Itoa(p.m.Places[k].Number) + " "
}

// letter is what doubt k is called.
func letter(k int) string { return string(rune('a'+k%26)) + strings.Repeat("'", k/26) + "?" }

// mark draws a mark where it is within the axes, and keeps texts off it.
func (p *panel) mark(g glyph, at vg.Point) {
	if p.inside(at) {
		g.draw(p.canvas, at)
		p.labels.taken.take(boxOf(at, g.radius))
	}
}

// places draws those that were touched: where they are crowded some of them. It comes before
// texts are placed, for they keep off marks.
func (p *panel) places() {
	shown := boxes{}
	for _, q := range p.m.Places {
		at := p.at(q.X, q.Y)
		room := boxOf(at, crowded/2)
		if !p.inside(at) || !shown.free(room) {
			continue
		}
		shown.take(room)
		touchedMark.draw(p.canvas, at)
		p.labels.places.take(boxOf(at, touchedMark.radius))
		p.shown = append(p.shown, q)
	}
}

// numbers writes the numbers of places that are shown beside them, and how far they are off
// the surface, where there is room.
func (p *panel) numbers() {
	if len(p.shown) > mostNumbered {
		p.labels.room = crowded
	}
	for _, q := range p.shown {
		if p.has[q.Number] {
			continue
		}
		number, off := "", ""
		if q.Number > 0 {
			number = strconv.Itoa(q.Number)
		}
		if h, there := p.m.At(q.X, q.Y); there {
			off = offBy(q.Z - h)
		}
		p.labels.beside(p.at(q.X, q.Y), touchedMark.radius, strings.TrimSpace(number+" "+off), number, off)
	}
}

// offBy is how far a place is off the surface, "" where that is nothing in the last decimal.
func offBy(mm float64) string {
	const decimals, last = 3, 0.001
	if math.Abs(mm) < last/2 {
		return ""
	}
	return signed(mm, decimals)
}

// signed writes a length with its sign, which is as wide either way.
func signed(mm float64, decimals int) string {
	return strings.Replace(phrase.Signed(mm, decimals), "-", minus, 1)
}
