// Package svg draws pictures to be printed at their true size, and drawings to scale on
// pages of A4: all lengths are in mm of paper, y runs down the page.
package svg

import (
	"bytes"
	"encoding/xml"
	"fmt"

	"sagitta/internal/phrase"
)

const (
	// CharWidth is how wide a character is on average in parts of the letter
	// height, for a sans-serif face, with some to spare.
	CharWidth = 0.54
	// BoldWidth is the same for bold digits, none of which is narrow.
	BoldWidth = 0.7
	// leading is from one line of text to the next, in parts of the letter
	// height.
	leading = 1.4
)

// Attributes that texts take.
const (
	Bold   = ` font-weight="bold"`
	Middle = ` text-anchor="middle"`
	End    = ` text-anchor="end"`
)

// Canvas gathers the elements of a picture.
type Canvas struct{ bytes.Buffer }

// at rounds a length for the file: a micrometre, so that the finest lines are
// not to move against each other.
func at(v float64) string { return phrase.Trimmed(v, 3) }

// Text writes one line, its base line beginning at x, y; attributes are put in
// as they are.
func (c *Canvas) Text(x, y, size float64, colour, attributes, s string) {
	fmt.Fprintf(c, `<text x="%s" y="%s" font-size="%s" fill="%s"%s>`, at(x), at(y), at(size), colour, attributes)
	_ = xml.EscapeText(c, []byte(s)) // a buffer takes everything
	c.WriteString("</text>\n")
}

// Paragraph writes text broken to a width and gives the y of the next line.
func (c *Canvas) Paragraph(x, y, width, size float64, colour, s string) float64 {
	for _, line := range phrase.Fold(s, int(width/(CharWidth*size)), "", "") {
		c.Text(x, y, size, colour, "", line)
		y += leading * size
	}
	return y
}

// Rect draws a rectangle.
func (c *Canvas) Rect(x, y, w, h float64, fill, stroke string, width float64) {
	fmt.Fprintf(c, `<rect x="%s" y="%s" width="%s" height="%s" fill="%s" stroke="%s" stroke-width="%s"/>`+"\n",
		at(x), at(y), at(w), at(h), fill, stroke, at(width))
}

// Circle draws a circle.
func (c *Canvas) Circle(x, y, r float64, fill, stroke string, width float64) {
	fmt.Fprintf(c, `<circle cx="%s" cy="%s" r="%s" fill="%s" stroke="%s" stroke-width="%s"/>`+"\n", at(x), at(y), at(r), fill, stroke, at(width))
}

// Line draws a straight line.
func (c *Canvas) Line(x0, y0, x1, y1 float64, colour string, width float64) {
	c.Path([][2]float64{{x0, y0}, {x1, y1}}, colour, width)
}

// Path draws straight lines from point to point.
func (c *Canvas) Path(points [][2]float64, colour string, width float64) {
	c.Paths(fmt.Sprintf(` stroke="%s" stroke-width="%s" fill="none"`, colour, at(width)), points)
}

// Paths draws lines as Path does, in one element; attributes are put in as they
// are.
func (c *Canvas) Paths(attributes string, lines ...[][2]float64) {
	c.WriteString(`<path d="`)
	for _, points := range lines {
		for i, p := range points {
			c.WriteByte("ML"[min(i, 1)])
			c.WriteString(at(p[0]) + " " + at(p[1]))
		}
	}
	fmt.Fprintf(c, `"%s/>`+"\n", attributes)
}

// Page gives the picture at its true size, on white.
func (c *Canvas) Page(width, height float64) []byte {
	var out bytes.Buffer
	w, h := at(width), at(height)
	fmt.Fprintf(&out, `<svg xmlns="http://www.w3.org/2000/svg" width="%smm" height="%smm" viewBox="0 0 %s %s" font-family="Helvetica, Arial, sans-serif">`+"\n", w, h, w, h)
	fmt.Fprintf(&out, `<rect width="%s" height="%s" fill="#ffffff"/>`+"\n", w, h)
	out.Write(c.Bytes())
	out.WriteString("</svg>\n")
	return out.Bytes()
}
