package drawn

import (
	"fmt"
	"math"
	"strings"

	"pgregory.net/rapid"
)

// figure draws burns, with what may stand between them; last, the last.
func (p *pen) figure(last bool) {
	t := p.t
	p.light()
	p.line("G1")
	for k := rapid.IntRange(1, 6).Draw(t, "burns"); k > 0; k-- {
		switch pick(t, "block", "line", "line", "line", "row", "curve", "arc", "dwell", "blank", "mode", "inverse", "power", "offset", "rapid", "word") {
		case "line":
			p.burn("G1 ", "")
		case "row":
			p.row()
		case "curve":
			p.curve()
		case "arc":
			p.arc()
		case "dwell":
			p.line("G4 P0.2")
		case "blank":
			if p.hasPower() {
				p.line("S0")
				p.burn("G1 ", "")
				p.line("%s", p.power())
			}
		case "mode":
			p.mode()
		case "inverse":
			if p.may(InverseTime) && !p.inverse {
				p.line("G93")
				p.inverse = true
				p.burn("G1 ", "")
				p.inverse = false
				p.line("G94 %s", p.feed(2000))
			}
		case "power":
			if p.hasPower() {
				p.burn("G1 ", " "+p.power())
			}
		case "offset":
			if !last || p.may(LastOffsets) {
				p.offset()
			}
		case "rapid":
			p.line("G0 %s", p.xy(p.to()))
			p.line("G1")
		case "word":
			p.remark()
		}
	}
	if p.hasPower() && rapid.IntRange(0, 3).Draw(t, "runs out") == 0 {
		p.line("G1 %s%s S0", p.xy(p.x+2, p.y), p.feedWord(2))
	}
}

// burn goes somewhere with the beam on.
func (p *pen) burn(motion, more string) {
	x, y := p.to()
	p.burnTo(motion, x, y, more)
}

func (p *pen) burnTo(motion string, x, y float64, more string) {
	x0, y0 := p.x, p.y
	words, lit := p.xy(x, y), p.lit()
	if more != "" { // a power of its own
		lit = lit[:max(0, strings.LastIndex(lit, "S"))]
	}
	p.line("%s%s%s%s%s", lit, motion, words, p.feedWord(math.Hypot(p.x-x0, p.y-y0)), more)
}

// row draws pixels of a raster.
func (p *pen) row() {
	x, y := p.x, p.y
	pitch := pick(p.t, "pitch", 0.1, 0.7, -0.7)
	for i := 1; i <= 25; i++ {
		power := ""
		if p.hasPower() {
			power = fmt.Sprintf(" S%d", pick(p.t, "pixel", 0, 100, 200, 300))
		}
		p.burnTo("", x+float64(i)*pitch, y, power)
	}
}

// curve draws short lines askew.
func (p *pen) curve() {
	r, a := pick(p.t, "radius", 1.0, 4, 12), between(p.t, "angle", -3, 3)
	x, y := p.x-r*math.Cos(a), p.y-r*math.Sin(a)
	for i := 1; i <= 20; i++ {
		b := a + float64(i)*0.3/r
		p.burnTo("", x+r*math.Cos(b), y+r*math.Sin(b), "")
	}
}

// arc draws a full circle about a centre beside the start, or an arc by its
// centre or its radius.
func (p *pen) arc() {
	x0, r := p.x, pick(p.t, "r", 0.2, 3, 10.0, 18)
	cx := math.Max(r, math.Min(p.o.Side-r, x0+r))
	r = math.Abs(cx - x0)
	if r < 0.05 || p.y < r || p.y > p.o.Side-r {
		return
	}
	dir := pick(p.t, "dir", "G2", "G3")
	switch pick(p.t, "arc", "full", "centre", "R") {
	case "full":
		p.line("%s%s %s%s", p.lit(), dir, p.centre(x0, p.y, cx-x0, 0), p.feedWord(2*math.Pi*r))
	case "centre":
		if words, ok := p.arcTo(2*cx-x0, p.y+r*pick(p.t, "askew", 0, 0, 0.3, -0.3), pick(p.t, "beside", 0, 0, 0.2, -0.2)); ok {
			p.line("%s%s %s%s", p.lit(), dir, words, p.feedWord(math.Pi*r))
		}
	case "R":
		p.line("%s%s %s R%.4f%s", p.lit(), dir, p.xy(x0+1.2*(cx-x0), p.y), r/p.unit(), p.feedWord(2*r))
	}
	p.line("G1")
}

// arcTo goes to a place on an arc whose centre lies so many chords beside the
// middle of its chord. It reports false, and goes nowhere, where the circle leaves
// the square.
func (p *pen) arcTo(x, y, beside float64) (words string, ok bool) {
	x0, y0 := p.x, p.y
	ends := p.xy(x, y)
	dx, dy := p.x-x0, p.y-y0
	i, j := dx/2-beside*dy, dy/2+beside*dx
	r := math.Hypot(i, j)
	if r < 0.05 || min(x0+i, y0+j) < r || max(x0+i, y0+j) > p.o.Side-r {
		p.x, p.y = x0, y0
		return "", false
	}
	return ends + " " + p.centre(x0, y0, i, j), true
}

// centre gives I and J of an arc from x0, y0 whose centre is i, j from there, in mm.
func (p *pen) centre(x0, y0, i, j float64) string {
	if p.absArcs {
		i, j = i+x0-p.ox, j+y0-p.oy
	}
	return fmt.Sprintf("I%.*f J%.*f", p.digits()+2, i/p.unit(), p.digits()+2, j/p.unit())
}

// mode changes something that lasts.
func (p *pen) mode() {
	switch pick(p.t, "mode", "distance", "distance", "units", "time") {
	case "distance":
		if p.may(Relative) {
			p.rel = !p.rel
			p.line("%s", map[bool]string{true: "G91", false: "G90"}[p.rel])
		}
	case "units":
		if p.may(Units) && !p.inverse {
			p.inch = !p.inch
			p.line("%s %s", p.unitWord(), p.feed(2000))
		}
	case "time":
		switch {
		case p.inverse:
			p.inverse = false
			p.line("G94 %s", p.feed(2000))
		case p.may(InverseTime):
			p.inverse = true
			p.line("G93")
		}
	}
}

// remark writes a line that neither moves nor burns, beam on, or a burn that says such a word
// as well.
func (p *pen) remark() {
	switch pick(p.t, "word", "(a note)", "T1", "M8", "/M8", "M0", "T1 G1", "M8 G1") {
	case "(a note)":
		p.raw("(a note)")
	case "T1":
		if p.may(Between) {
			p.line("T1")
		}
	case "T1 G1":
		if p.may(Between) {
			p.burn("T1 G1 ", "")
		}
	case "M8":
		p.line("M8")
	case "M8 G1":
		p.burn("M8 G1 ", "")
	case "/M8":
		if !p.numbers { // the slash stands before the number
			p.line("/M8")
		}
	case "M0":
		if p.may(Pauses) && p.may(Between) {
			p.line("M0")
		}
	}
}
