package report

import (
	"fmt"
	"math"
	"strings"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"sagitta/internal/phrase"
)

// note is a line of what marks of a picture mean, with a sample of the mark, if it has one.
type note struct {
	sample sample
	text   string
}

// sample draws a mark in the room before a note.
type sample func(c draw.Canvas, room vg.Rectangle)

// sampleOf is a mark as a sample, as large as there is room.
func (g glyph) sample(c draw.Canvas, room vg.Rectangle) {
	g.radius = min(g.radius, noteLine*0.42)
	g.draw(c, middle(room))
}

// sampleLine is a line as a sample.
func sampleLine(styles ...draw.LineStyle) sample {
	return func(c draw.Canvas, room vg.Rectangle) {
		y := middle(room).Y
		for _, s := range styles {
			c.StrokeLines(s, []vg.Point{{X: room.Min.X, Y: y}, {X: room.Max.X, Y: y}})
		}
	}
}

// onSheet is a sample as it looks on a map.
func onSheet(of sample) sample {
	return func(c draw.Canvas, room vg.Rectangle) {
		c.SetColor(light(scale)[3])
		c.Fill(vg.Rectangle{Min: room.Min.Sub(vg.Point{X: 1}), Max: room.Max.Add(vg.Point{X: 1})}.Path())
		of(c, room)
	}
}

func middle(r vg.Rectangle) vg.Point { return r.Min.Add(r.Max).Scale(0.5) }

const (
	noteSize = vg.Length(8)
	noteLine = vg.Length(11)
	noteMark = vg.Length(18) // room for the mark
	// noteWide is how wide a letter is on average in parts of the size.
	noteWide = 0.52
)

// notes are lines that are folded to a width.
type notes struct {
	width vg.Length
	lines []note
}

// say adds a note, with a sample or nil.
func (n *notes) say(of sample, text string) {
	for k, line := range fold(text, noteSize, n.width-noteMark) {
		if k > 0 {
			of = nil
		}
		n.lines = append(n.lines, note{of, line})
	}
}

// fold breaks a text into lines that have room in a width.
func fold(text string, size, width vg.Length) []string {
	return phrase.Fold(text, max(int(float64(width/size)/noteWide), 1), "", "")
}

// notes are those of a map, folded to a width.
func (m *Map) notes(g *sampled, width vg.Length) []note {
	n := &notes{width: width}
	switch step := interval(g.low, g.high); {
	case !(g.low <= g.high):
		n.say(nil, "no heights are known here")
	case g.flat():
		n.say(nil, fmt.Sprintf("flat: every height is %s mm, so there are no contours", phrase.Trimmed(g.low, 3)))
	default:
		n.say(nil, fmt.Sprintf("contours every %g mm, with their heights", step))
	}
	if g.mask != nil && g.low <= g.high {
		n.say(nil, "left white: no height is known there")
	}
	if x, y := m.per(); math.Abs(x-y) > 1e-6*x {
		n.say(nil, fmt.Sprintf("x is drawn at %.2g and y at %.2g mm of paper for a mm", x, y))
	}
	if m.Over != nil {
		m.Over.notes(n)
	}
	if len(m.Places) > 0 {
		n.say(touchedMark.sample, "touched: number of the place, and mm off the surface if 0.001 or more; thinned where crowded")
	}
	if m.Sure != nil {
		n.say(dotMark.sample, m.Sure.note())
	}
	if m.Datum != nil {
		mark := sample(datumMark.sample)
		if m.Over != nil {
			mark = onSheet(mark)
		}
		n.say(mark, "datum: heights count from here")
	}
	if len(m.LeftOut) > 0 {
		n.say(leftOutMark.sample, fmt.Sprintf("left out: %s, with how many mm off", phrase.Count(len(m.LeftOut), "touch")))
	}
	for k, d := range m.Doubts {
		n.say(doubtMark.sample, strings.TrimSuffix(letter(k), "?")+": "+d.What+"; "+d.Mend)
	}
	if len(m.Outline) > 0 {
		n.say(onSheet(sampleLine(outlineStyles...)), "around what the job burns")
	}
	return n.lines
}

// drawNotes writes notes from the top of a canvas.
func drawNotes(c draw.Canvas, notes []note) {
	style := beside(noteSize)
	for k, n := range notes {
		y := c.Max.Y - noteLine*vg.Length(k+1)
		if n.sample != nil {
			at := vg.Point{X: c.Min.X + 1, Y: y + noteSize*0.36 - noteLine*0.42}
			n.sample(c, vg.Rectangle{Min: at, Max: at.Add(vg.Point{X: noteMark - 4, Y: noteLine * 0.84})})
		}
		c.FillText(style, vg.Point{X: c.Min.X + noteMark, Y: y}, n.text)
	}
}

const (
	titleSize = vg.Length(11)
	titleLine = vg.Length(14)
	// titleLines is how many lines of a title are shown.
	titleLines = 7
)

// drawTitle writes the lines of a title from the top of a canvas.
func drawTitle(c draw.Canvas, lines []string) {
	for k, line := range lines {
		c.FillText(beside(titleSize), vg.Point{X: c.Min.X, Y: c.Max.Y - titleLine*vg.Length(k) - titleSize}, line)
	}
}

// titled are the lines of a title in a width: of what is longer, the beginning.
func titled(text string, width vg.Length) []string {
	style := beside(titleSize)
	lines := fold(phrase.Printable(text), titleSize, width)
	if len(lines) > titleLines {
		lines = lines[:titleLines]
		lines[titleLines-1] += " …"
	}
	for k := range lines {
		lines[k] = fitted(lines[k], style, width)
	}
	return lines
}

// fitted is a text that has room in a width: of what is longer, the beginning.
func fitted(text string, style draw.TextStyle, width vg.Length) string {
	r := []rune(text)
	if mostRunes := int(width); len(r) > mostRunes { // no letter is so narrow
		r = append(r[:max(mostRunes, 0)], '…')
	}
	for len(r) > 1 && style.Width(string(r)) > width {
		r = append(r[:len(r)-2], '…')
	}
	return string(r)
}
