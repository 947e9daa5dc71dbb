package ladder

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"strings"
)

// Sizes of the sheet in mm: A4 upright, longer only where a large ladder needs
// it.
const (
	sheetWidth, sheetHeight = 210.0, 297.0
	sheetMargin             = 14.0
	sheetInner              = sheetWidth - 2*sheetMargin
)

// The sheet's inks. It has to come off any printer, so nothing hangs on them.
const (
	ink    = "#1c1c1c"
	faint  = "#8a8a8a"
	accent = "#7a3b12"
	tint   = "#f6ede4"
)

// charWidth is how wide a character is on average in parts of the letter
// height, for a sans-serif face, with some to spare.
const charWidth = 0.54

// boldWidth is the same for bold digits, none of which is narrow.
const boldWidth = 0.7

// canvas gathers the body of an SVG whose units are mm.
type canvas struct{ bytes.Buffer }

func escape(s string) string {
	var b strings.Builder
	_ = xml.EscapeText(&b, []byte(s)) // a Builder takes everything
	return b.String()
}

// at rounds a length for the file: a hundredth of a mm is finer than print.
func at(v float64) string { return trimZeros(fmt.Sprintf("%.2f", v)) }

func trimZeros(s string) string {
	s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	if s == "-0" {
		return "0"
	}
	return s
}

// text writes one line, its base line beginning at x, y.
func (c *canvas) text(x, y, size float64, colour, more, s string) {
	fmt.Fprintf(c, `<text x="%s" y="%s" font-size="%s" fill="%s"%s>%s</text>`+"\n", at(x), at(y), at(size), colour, more, escape(s))
}

const (
	bold   = ` font-weight="bold"`
	middle = ` text-anchor="middle"`
)

// paragraph writes text broken to a width and gives the y of the next line.
func (c *canvas) paragraph(x, y, width, size float64, s string) float64 {
	most := int(width / (charWidth * size))
	line := ""
	for _, word := range strings.Fields(s) {
		if line != "" && len([]rune(line))+1+len([]rune(word)) > most {
			c.text(x, y, size, ink, "", line)
			y += 1.4 * size
			line = ""
		}
		if line != "" {
			line += " "
		}
		line += word
	}
	c.text(x, y, size, ink, "", line)
	return y + 1.4*size
}

func (c *canvas) rect(x, y, w, h float64, fill, stroke string, width float64) {
	fmt.Fprintf(c, `<rect x="%s" y="%s" width="%s" height="%s" fill="%s" stroke="%s" stroke-width="%s"/>`+"\n",
		at(x), at(y), at(w), at(h), fill, stroke, at(width))
}

func (c *canvas) line(x0, y0, x1, y1 float64, colour string, width float64) {
	fmt.Fprintf(c, `<path d="M%s %sL%s %s" stroke="%s" stroke-width="%s" fill="none"/>`+"\n",
		at(x0), at(y0), at(x1), at(y1), colour, at(width))
}

// blank is a line to write on, with what goes there before it.
func (c *canvas) blank(x, y, width float64, what string) float64 {
	const size = 3.2
	c.text(x, y, size, ink, "", what)
	c.line(x+float64(len([]rune(what)))*charWidth*size+1.5, y+0.8, x+width, y+0.8, faint, 0.2)
	return y + 8
}

// page closes the SVG at its true size.
func (c *canvas) page(height float64) []byte {
	var out bytes.Buffer
	fmt.Fprintf(&out, `<svg xmlns="http://www.w3.org/2000/svg" width="%smm" height="%smm" viewBox="0 0 %s %s" font-family="Helvetica, Arial, sans-serif">`+"\n",
		at(sheetWidth), at(height), at(sheetWidth), at(height))
	fmt.Fprintf(&out, `<rect width="%s" height="%s" fill="#ffffff"/>`+"\n", at(sheetWidth), at(height))
	out.Write(c.Bytes())
	out.WriteString("</svg>\n")
	return out.Bytes()
}
