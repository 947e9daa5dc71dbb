package report

import (
	"fmt"
	"image/color"
	"math"
	"strings"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"sagitta/internal/phrase"
)

// note is a line of what the marks of a map mean, with the mark, if it has one.
type note struct {
	mark *glyph
	dash bool
	text string
}

const (
	noteSize = vg.Length(8)
	noteLine = vg.Length(11)
	noteMark = vg.Length(18) // room for the mark
	// noteWide is how wide a letter is on average in parts of the size.
	noteWide = 0.52
)

// notes are those of a map, folded to a width.
func (m *Map) notes(g *sampled, width vg.Length) (all []note) {
	say := func(mark *glyph, dash bool, text string) {
		for k, line := range phrase.Fold(text, int(float64((width-noteMark)/noteSize)/noteWide), "", "") {
			if k > 0 {
				mark, dash = nil, false
			}
			all = append(all, note{mark, dash, line})
		}
	}
	if step := interval(g.low, g.high); g.flat() {
		say(nil, false, fmt.Sprintf("flat: every height is %s mm, so there are no contours", phrase.Trimmed(g.low, 3)))
	} else {
		say(nil, false, fmt.Sprintf("contours every %g mm, with their heights", step))
	}
	if x, y := m.per(); math.Abs(x-y) > 1e-6*x {
		say(nil, false, fmt.Sprintf("x is drawn at %.2g and y at %.2g mm of paper for a mm", x, y))
	}
	if len(m.Places) > 0 {
		say(&touchedMark, false, "touched: number of the place, and mm off the surface if 0.001 or more; thinned where crowded")
	}
	if m.Sure != nil {
		say(&dotMark, false, m.Sure.note())
	}
	if m.Datum != nil {
		say(&datumMark, false, "datum: heights count from here")
	}
	if len(m.LeftOut) > 0 {
		say(&leftOutMark, false, fmt.Sprintf("left out: %s, with how many mm off", phrase.Count(len(m.LeftOut), "touch")))
	}
	for k, d := range m.Doubts {
		say(&doubtMark, false, strings.TrimSuffix(letter(k), "?")+": "+d.What+"; "+d.Mend)
	}
	if len(m.Outline) > 0 {
		say(nil, true, "around what the job burns")
	}
	return all
}

// drawNotes writes notes from the top of a canvas.
func drawNotes(c draw.Canvas, notes []note) {
	style := beside(noteSize)
	style.Color = color.Black
	for k, n := range notes {
		y := c.Max.Y - noteLine*vg.Length(k+1)
		middle := vg.Point{X: c.Min.X + noteMark/2, Y: y + noteSize*0.36}
		if n.mark != nil {
			small := *n.mark
			small.radius = min(small.radius, noteLine*0.42)
			small.draw(c, middle)
		}
		if n.dash {
			c.StrokeLines(outlineStyles[1], []vg.Point{{X: c.Min.X + 1, Y: middle.Y}, {X: c.Min.X + noteMark - 3, Y: middle.Y}})
		}
		c.FillText(style, vg.Point{X: c.Min.X + noteMark, Y: y}, n.text)
	}
}
