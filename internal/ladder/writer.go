package ladder

import (
	"math"
	"strconv"

	"sagitta/internal/compose"
	"sagitta/internal/phrase"
	"sagitta/internal/program"
	"sagitta/internal/record"
	"sagitta/internal/stroke"
)

const (
	// leastDecimalsMM and leastDecimalsInch of X and Y: digits of half a
	// millimetre want hundredths, whatever decimals the bench's Z has.
	leastDecimalsMM, leastDecimalsInch = 2, 4
	// powerDecimals are enough for a hundredth of a percent where full power
	// is 1.
	powerDecimals = 4
)

// writer burns with the head. Its place is kept in units of the last decimal, so
// that every figure is the same to that decimal.
type writer struct {
	*compose.Writer
	ladder *Ladder
	z      float64 // offset in mm
	// said are the words in force, by letter.
	said map[byte]string
}

func newWriter(l *Ladder) *writer {
	w := &writer{Writer: compose.New(l.opt.Machine), ladder: l, said: map[byte]string{}}
	w.Finest(leastDecimalsMM, leastDecimalsInch)
	return w
}

// say puts a word into force, and gives it, or none where it is.
func (w *writer) say(word string) string {
	if w.said[word[0]] == word {
		return ""
	}
	w.said[word[0]] = word
	return word
}

// power gives the word of a power in percent.
func (w *writer) power(pct float64) string {
	m := w.ladder.opt.Machine
	return m.PowerWord + program.Round(pct/100*m.SMax, powerDecimals).Trim().String()
}

// on allows the beam, at no power yet: it fires with the first burn, never
// standing still.
func (w *writer) on() {
	m := w.ladder.opt.Machine
	word := m.BeamOn[0]
	if f := m.PowerFollowsSpeed; len(f) > 0 {
		word = f[0] // corners and short strokes then burn like long ones
	}
	w.Block("M"+strconv.Itoa(word), w.Dark())
	w.say(w.Dark())
}

// travel goes to a place with no power.
func (w *writer) travel(x, y int64) {
	atX, atY := w.At('X', x), w.At('Y', y)
	if moved := w.say(atX) + w.say(atY); moved != "" {
		w.Block("G0", atX, atY, w.say(w.Dark()))
	}
}

// burn burns to a place. What rounding has made no move is left out.
func (w *writer) burn(x, y int64, power string) {
	atX, atY := w.say(w.At('X', x)), w.say(w.At('Y', y))
	if atX+atY != "" {
		w.Block("G1", atX, atY, w.say(power), w.say(w.Feed(w.ladder.opt.FeedMMMin)))
	}
}

// strokes burns lines whose origin lies at x, y in units.
func (w *writer) strokes(lines []stroke.Polyline, x, y int64, power string) {
	for _, l := range lines {
		w.travel(x+w.Units(l[0].X), y+w.Units(l[0].Y))
		for _, q := range l[1:] {
			w.burn(x+w.Units(q.X), y+w.Units(q.Y), power)
		}
	}
}

// lens takes the lens to an offset, beam off, nothing else moving.
func (w *writer) lens(off float64) {
	w.z = off
	w.Block("G0", w.ladder.opt.Machine.ZAxis+w.ladder.z(off).String())
}

// crank says how to turn the crank by so many mm.
func (w *writer) crank(mm float64) string {
	text := num(math.Abs(mm)) + " mm "
	if mm < 0 {
		text += "nearer"
	} else {
		text += "further off"
	}
	if c := record.Known(w.ladder.opt.Machine.ZStepMM); c > 0 {
		text += ", " + phrase.Count(int(math.Round(math.Abs(mm)/c)), "division")
	}
	return text
}

// pause waits until the lens has been taken to an offset by hand. Where it has
// to go up, it goes past its place and comes back down.
func (w *writer) pause(off, past float64) {
	if off != w.z {
		w.Comment("pause: lens " + w.crank(off-w.z) + ", to " + w.ladder.offsetText(off))
	} else {
		w.Comment("pause: lens to stay at " + w.ladder.offsetText(off))
	}
	if past > 0 {
		w.Comment("go " + w.crank(past) + " past it and come back")
	}
	w.Block("M0")
	w.z = off
}
