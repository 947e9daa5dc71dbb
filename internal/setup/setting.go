package setup

import (
	"fmt"
	"math"
	"strings"

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
}

// length says a length, in mm with so many decimals.
func (t *Turn) length(mm float64) string {
	text := phrase.MM(mm) + " mm"
	if t.Inches {
		text += " (" + inches(mm) + " in)"
	}
	return text
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

// By says how to make so many mm more room between lens and stock, or less where it is
// below 0: "lens up 0.650 mm, 13 divisions, more room". It is empty where a bench
// cannot be set so finely.
func (t *Turn) By(mm float64) string {
	if math.Abs(mm) <= PointTolerance {
		return ""
	}
	more := mm > 0
	what, way, room := "lens", "down", "less room"
	if t.TableMoves {
		what = "table"
	}
	if more != t.TableMoves {
		way = "up"
	}
	if more {
		room = "more room"
	}
	mm = math.Abs(mm)
	text := what + " " + way + " " + t.length(mm)
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

// Setting is where and how the focus is set for what burns next.
type Setting struct {
	// Turn is how.
	Turn Turn
	// Height is where best focus is to be, in mm over the datum.
	Height float64
	// Point is where on the stock it is set, nil where it is set at the datum alone,
	// as programs write Z themselves.
	Point *FocusPoint
	// Datum is where heights count from; nil where they do so from no place, but from
	// where the surface's height is zero.
	Datum *[2]float64
	// Z is what the controller is to count there, with the letter of Turn.
	Z float64
}

// Say is the statement, in clauses: the ways of which one is taken, and what the
// controller is to read behind it.
func (s *Setting) Say() (clauses []string) {
	from := "where the surface's height is zero"
	if s.Datum != nil {
		from = "on the stock at the datum, " + s.Turn.place(s.Datum[0], s.Datum[1])
	}
	then := func(text string, mm float64) {
		if by := s.Turn.By(mm); by != "" {
			text += ", then " + by
		}
		clauses = append(clauses, text)
	}
	if p := s.Point; p == nil {
		then("set the focus "+from, s.Height)
	} else {
		then("EITHER set the focus on the stock at "+s.Turn.place(p.X, p.Y), s.Height-p.Height)
		then("OR set it "+from, s.Height)
	}
	reads := phrase.Trimmed(s.Z, 3)
	switch nought := reads == "0"; {
	case nought:
	case s.Turn.Inches:
		reads += " mm (" + inches(s.Z) + " in)"
	default:
		reads += " mm"
	}
	if s.Turn.Axis != 0 {
		clauses = append(clauses, fmt.Sprintf("then let the controller read %c%s there", s.Turn.Axis, reads))
	} else if reads != "0" {
		clauses = append(clauses, "with the controller reading Z"+reads)
	}
	return clauses
}

// Text is the statement as one sentence without its end.
func (s *Setting) Text() string { return strings.Join(s.Say(), "; ") }

// Between says from which height over the datum to which, without signs.
func Between(lo, hi float64) string {
	a, b := phrase.MM(math.Abs(lo)), phrase.MM(math.Abs(hi))
	switch nought := phrase.MM(0); {
	case lo >= 0 || a == nought:
		return a + " to " + b + " mm over the datum"
	case hi <= 0 || b == nought:
		return a + " to " + b + " mm below the datum"
	}
	return a + " mm below to " + b + " mm over the datum"
}

// Level says a height over the datum without a sign.
func Level(mm float64) string {
	if mm < 0 && phrase.MM(mm) != phrase.MM(0) {
		return phrase.MM(-mm) + " mm below the datum"
	}
	return phrase.MM(mm) + " mm over the datum"
}
