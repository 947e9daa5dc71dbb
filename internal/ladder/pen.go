package ladder

import (
	"math"
	"strconv"
	"strings"

	"sagitta/internal/phrase"
	"sagitta/internal/program"
	"sagitta/internal/stroke"
)

const (
	// leastDecimalsMM and leastDecimalsInch of X and Y: digits of half a
	// millimetre want hundredths, whatever decimals the bench's Z has.
	leastDecimalsMM, leastDecimalsInch = 2, 4
	// powerDecimals are enough for a hundredth of a percent where full power
	// is 1.
	powerDecimals = 4
	// feedDecimals are enough for the slowest feed in inches.
	feedDecimals = 3
	// commentWidth is where comments are broken, in characters.
	commentWidth = 76
)

// pen writes the program. The head's place is kept in units of the last
// decimal, so that every figure is the same to that decimal.
type pen struct {
	plan *Plan
	b    *Bench
	out  []byte
	line int
	unit float64 // of the program, in mm
	dec  int8    // of X and Y
	x, y int64
	z    float64 // offset in mm
	// placed tells that X and Y have been said, fed that F has.
	placed, fed bool
	dark        bool  // S0 holds
	err         error // sticky
}

func newPen(p *Plan) *pen {
	w := &pen{plan: p, b: &p.opt.Bench, unit: 1, dec: max(p.opt.Bench.DecimalsMM, leastDecimalsMM)}
	if w.b.Machine.Inches {
		w.unit, w.dec = 25.4, max(p.opt.Bench.DecimalsInch, leastDecimalsInch)
	}
	return w
}

// block writes a line of words.
func (w *pen) block(text string) {
	w.line++
	if w.b.Numbered {
		text = "N" + strconv.Itoa(w.line) + " " + text
	}
	if most := w.b.LineMax; most > 0 && len(text) > most && w.err == nil {
		w.err = overLimit("", "the profile's line_max of %d characters is too short for a line such as %q", most, text)
	}
	w.out = append(append(w.out, text...), '\n')
}

// comment writes comment lines, broken between words, where the bench takes
// them. A word that does not fit a line is left out.
func (w *pen) comment(text string) {
	if !w.b.Comments {
		return
	}
	width := commentWidth
	if w.b.LineMax > 0 {
		width = min(width, w.b.LineMax)
	}
	width -= len("()")
	line := ""
	flush := func() {
		if line != "" {
			w.out = append(append(append(w.out, '('), line...), ")\n"...)
		}
		line = ""
	}
	for _, word := range strings.Fields(plainText(text)) {
		if len(line)+1+len(word) > width {
			flush()
		}
		if len(word) > width {
			continue
		}
		if line != "" {
			line += " "
		}
		line += word
	}
	flush()
}

// plainText keeps what a comment in brackets can hold on any controller.
func plainText(s string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case r == '(' || r == ')' || r == ';' || r == '%':
			return ' '
		case r < ' ' || r > '~':
			return '?'
		}
		return r
	}, s)
}

// units gives a length in mm in units of the last decimal.
func (w *pen) units(mm float64) int64 { return program.Round(mm/w.unit, w.dec).Mant }

func (w *pen) coordinate(letter byte, v int64) string {
	return " " + string(letter) + program.Number{Mant: v, Dec: w.dec}.Trim().String()
}

// power gives the word of a power in percent.
func (w *pen) power(pct float64) string {
	return string(w.b.Machine.PowerWord) + program.Round(pct/100*w.b.SMax, powerDecimals).Trim().String()
}

// off puts the beam off.
func (w *pen) off() { w.block("M" + strconv.Itoa(w.b.Machine.BeamOff[0])) }

// on allows the beam, at no power yet: it fires with the first burn, never
// standing still.
func (w *pen) on() {
	word := w.b.Machine.BeamOn[0]
	if f := w.b.Machine.PowerFollows; len(f) > 0 {
		word = f[0] // corners and short strokes then burn like long ones
	}
	w.block("M" + strconv.Itoa(word) + " " + string(w.b.Machine.PowerWord) + "0")
	w.dark = true
}

// travel goes to a place with no power.
func (w *pen) travel(x, y int64) {
	if w.placed && x == w.x && y == w.y {
		return
	}
	text := "G0" + w.coordinate('X', x) + w.coordinate('Y', y)
	if !w.dark {
		text += " " + string(w.b.Machine.PowerWord) + "0"
		w.dark = true
	}
	w.block(text)
	w.x, w.y, w.placed = x, y, true
}

// burn burns to a place. What rounding has made no move is left out.
func (w *pen) burn(x, y int64, power string) {
	if x == w.x && y == w.y {
		return
	}
	text := "G1"
	if x != w.x {
		text += w.coordinate('X', x)
	}
	if y != w.y {
		text += w.coordinate('Y', y)
	}
	if w.dark {
		text += " " + power
		w.dark = false
	}
	if !w.fed {
		text += " F" + program.Round(w.plan.opt.FeedMMMin/w.unit, feedDecimals).Trim().String()
		w.fed = true
	}
	w.block(text)
	w.x, w.y = x, y
}

// strokes burns lines whose origin lies at x, y in units.
func (w *pen) strokes(lines []stroke.Polyline, x, y int64, power string) {
	for _, l := range lines {
		w.travel(x+w.units(l[0].X), y+w.units(l[0].Y))
		for _, q := range l[1:] {
			w.burn(x+w.units(q.X), y+w.units(q.Y), power)
		}
	}
}

// lens takes the lens to an offset, beam off, nothing else moving.
func (w *pen) lens(off float64) {
	w.z = off
	w.block("G0 " + string(w.b.Machine.ZAxis) + w.plan.z(off).String())
}

// crank says how to turn the crank by so many mm.
func (w *pen) crank(mm float64) string {
	text := num(math.Abs(mm)) + " mm "
	if mm < 0 {
		text += "nearer"
	} else {
		text += "further off"
	}
	if c := w.b.CrankMM; c > 0 {
		text += ", " + phrase.Count(int(math.Round(math.Abs(mm)/c)), "division")
	}
	return text
}

// pause waits until the lens has been taken to an offset by hand. Where it has
// to go up, it goes past its place and comes back down.
func (w *pen) pause(off, past float64) {
	if off != w.z {
		w.comment("pause: lens " + w.crank(off-w.z) + ", to " + w.plan.offsetText(off))
	} else {
		w.comment("pause: lens to stay at " + w.plan.offsetText(off))
	}
	if past > 0 {
		w.comment("go " + w.crank(past) + " past it and come back")
	}
	w.block("M0")
	w.z = off
}
