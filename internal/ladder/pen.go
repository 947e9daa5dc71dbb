package ladder

import (
	"math"
	"strconv"

	"sagitta/internal/compose"
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
)

// pen burns with the head. Its place is kept in units of the last decimal, so
// that every figure is the same to that decimal.
type pen struct {
	*compose.Writer
	plan *Plan
	x, y int64
	z    float64 // offset in mm
	// placed tells that X and Y have been said, fed that F has.
	placed, fed bool
	dark        bool // no power is in force
}

func newPen(p *Plan) *pen {
	w := &pen{Writer: compose.New(p.opt.Machine), plan: p}
	w.Finest(leastDecimalsMM, leastDecimalsInch)
	return w
}

// power gives the word of a power in percent.
func (w *pen) power(pct float64) string {
	m := w.plan.opt.Machine
	return m.PowerWord + program.Round(pct/100*m.SMax, powerDecimals).Trim().String()
}

// on allows the beam, at no power yet: it fires with the first burn, never
// standing still.
func (w *pen) on() {
	m := w.plan.opt.Machine
	word := m.BeamOn[0]
	if f := m.PowerFollowsSpeed; len(f) > 0 {
		word = f[0] // corners and short strokes then burn like long ones
	}
	w.Block("M"+strconv.Itoa(word), w.Dark())
	w.dark = true
}

// travel goes to a place with no power.
func (w *pen) travel(x, y int64) {
	if w.placed && x == w.x && y == w.y {
		return
	}
	words := []string{"G0", w.At('X', x), w.At('Y', y)}
	if !w.dark {
		words = append(words, w.Dark())
		w.dark = true
	}
	w.Block(words...)
	w.x, w.y, w.placed = x, y, true
}

// burn burns to a place. What rounding has made no move is left out.
func (w *pen) burn(x, y int64, power string) {
	if x == w.x && y == w.y {
		return
	}
	words := []string{"G1"}
	if x != w.x {
		words = append(words, w.At('X', x))
	}
	if y != w.y {
		words = append(words, w.At('Y', y))
	}
	if w.dark {
		words = append(words, power)
		w.dark = false
	}
	if !w.fed {
		words = append(words, w.Feed(w.plan.opt.FeedMMMin))
		w.fed = true
	}
	w.Block(words...)
	w.x, w.y = x, y
}

// strokes burns lines whose origin lies at x, y in units.
func (w *pen) strokes(lines []stroke.Polyline, x, y int64, power string) {
	for _, l := range lines {
		w.travel(x+w.Units(l[0].X), y+w.Units(l[0].Y))
		for _, q := range l[1:] {
			w.burn(x+w.Units(q.X), y+w.Units(q.Y), power)
		}
	}
}

// lens takes the lens to an offset, beam off, nothing else moving.
func (w *pen) lens(off float64) {
	w.z = off
	w.Block("G0", w.plan.opt.Machine.ZAxis+w.plan.z(off).String())
}

// crank says how to turn the crank by so many mm.
func (w *pen) crank(mm float64) string {
	text := num(math.Abs(mm)) + " mm "
	if mm < 0 {
		text += "nearer"
	} else {
		text += "further off"
	}
	if c := known(w.plan.opt.Machine.ZStepMM); c > 0 {
		text += ", " + phrase.Count(int(math.Round(math.Abs(mm)/c)), "division")
	}
	return text
}

// pause waits until the lens has been taken to an offset by hand. Where it has
// to go up, it goes past its place and comes back down.
func (w *pen) pause(off, past float64) {
	if off != w.z {
		w.Comment("pause: lens " + w.crank(off-w.z) + ", to " + w.plan.offsetText(off))
	} else {
		w.Comment("pause: lens to stay at " + w.plan.offsetText(off))
	}
	if past > 0 {
		w.Comment("go " + w.crank(past) + " past it and come back")
	}
	w.Block("M0")
	w.z = off
}
