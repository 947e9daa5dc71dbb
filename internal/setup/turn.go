package setup

import (
	"fmt"
	"math"

	"sagitta/internal/phrase"
)

// Turn says how a person moves the focus at a bench.
type Turn struct {
	// TableMoves tells that the table moves, and not the lens.
	TableMoves bool
	// DivisionMM is a division of the crank, 0 where there is none.
	DivisionMM float64
	// Axis is the letter of the focus axis, 0 where it is turned by hand and the
	// controller knows nothing of it; PlusAway tells that it counts up as the lens
	// comes away from the stock.
	Axis     byte
	PlusAway bool
	// Inches tells that the controller counts in inches: they are said besides.
	Inches bool
	// Backlash is the lost motion of the focus axis, in mm.
	Backlash float64
	// Pointer is where the pointer's dot falls beside the beam, in mm.
	Pointer [2]float64
	// Touched tells that there is a touch tool, by which Z may have been made zero.
	Touched bool
}

// length says a length, in mm with so many decimals.
func (t *Turn) length(mm float64) string {
	text := phrase.MM(mm) + " mm"
	if t.Inches {
		text += " (" + inches(mm) + " in)"
	}
	return text
}

// room says a length as more or less room.
func (t *Turn) room(mm float64) string {
	if mm < 0 {
		return t.length(-mm) + " less room"
	}
	return t.length(mm) + " more room"
}

// place says a place.
func (t *Turn) place(x, y float64) string {
	text := phrase.XY(x, y)
	if t.Inches {
		text += " (X" + inches(x) + " Y" + inches(y) + " in)"
	}
	return text
}

// inches are those of a length in mm, as fine as mm are said.
func inches(mm float64) string { return phrase.Fixed(mm/25.4, 4) }

// way is what goes which way for more room between lens and stock, or for less.
func (t *Turn) way(more bool) string {
	what, way := "lens", "down"
	if t.TableMoves {
		what = "table"
	}
	if more != t.TableMoves {
		way = "up"
	}
	return what + " " + way
}

// By says how to make so many mm more room between lens and stock, or less where it is
// below 0: "lens up 0.650 mm, 13 divisions, more room". It is empty where a bench
// cannot be set so finely.
func (t *Turn) By(mm float64) string {
	if math.Abs(mm) <= PointTolerance {
		return ""
	}
	more := mm > 0
	room := "less room"
	if more {
		room = "more room"
	}
	mm = math.Abs(mm)
	text := t.way(more) + " " + t.length(mm)
	d := t.DivisionMM
	if n := math.Floor((mm + turnedTo) / d); d > 0 && n > 0 {
		text += ", " + phrase.Count(int(n), "division")
		if rest := mm - n*d; rest > turnedTo {
			text += " and " + phrase.MM(rest) + " mm"
		}
	}
	if t.Axis != 0 {
		counts := "down"
		if more == t.PlusAway {
			counts = "up"
		}
		text += fmt.Sprintf(", %c counting %s", t.Axis, counts)
	}
	return text + ", " + room
}

// Up says how to make so many mm more room at least: in whole divisions of the crank
// or, without one, in steps.
func (t *Turn) Up(mm, step float64) string {
	if t.DivisionMM > 0 {
		step = t.DivisionMM
	}
	const lost = 1e-6 // by float64
	return t.By(math.Ceil(mm/step-lost) * step)
}

// turnedTo is what may be left of a division, in mm, and count as none.
const turnedTo = PointTolerance / 10
