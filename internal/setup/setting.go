package setup

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"sagitta/internal/phrase"
)

// Lens is what the setting of a lens asks for. Lengths are in mm.
type Lens struct {
	// Name is what it is called, "" where what is said stands under its name.
	Name string
	// Shift is how much further from the stock than the gauge sets it best focus lies
	// with it, and Height how much further than with the bench's reference lens.
	Shift, Height float64
}

// Setting is where and how the focus is set for what burns next.
type Setting struct {
	// Turn is how, and Lens with which lens.
	Turn Turn
	Lens Lens
	// Height is where best focus is to be, in mm over the datum.
	Height float64
	// Point is where on the stock it is set, nil where it is set at the datum alone.
	Point *FocusPoint
	// Anywhere tells that the stock is flat: it is set at Point, and heights count from
	// there.
	Anywhere bool
	// Datum is where heights count from; nil where they do so from no place, but from
	// where the surface's height is zero.
	Datum *[2]float64
	// Z is what the controller is to count there, with the letter of Turn; of a nil Z it
	// is that of the first burn.
	Z *float64
	// Defocus is the wanted one, + further: the program writes it where InZ says so, and
	// else Height has it.
	Defocus float64
	InZ     bool
	// Round is how many mm of Y are one turn of stock that turns, 0 where it does not.
	Round float64
}

// From is where heights count from.
func (s *Setting) From() string {
	if s.Datum == nil {
		return "where the surface's height is zero"
	}
	return "on the stock at the datum, " + s.Turn.place(s.Datum[0], s.Datum[1])
}

// Say is the statement, in clauses: what is to be done, and what there is to know.
func (s *Setting) Say() []string { return append(s.Do(), s.know()...) }

// Do is what is to be done: the ways of which one is taken, what the controller is to
// read behind it, and how to arrive.
func (s *Setting) Do() []string { return append(s.Ways(), s.minding()...) }

// Ways are those of which one is taken, and what the controller is to read then.
func (s *Setting) Ways() (clauses []string) {
	with := ""
	if s.Lens.Name != "" {
		with = " with lens " + s.Lens.Name
	}
	then := func(text string, mm float64) {
		if by := s.Turn.By(mm + s.Lens.Shift); by != "" {
			text += ", then " + by
		}
		clauses = append(clauses, text)
	}
	switch p := s.Point; {
	case p == nil:
		then("set the focus"+with+" "+s.From(), s.Height)
	case s.Anywhere:
		then("set the focus"+with+" on the stock at "+s.Turn.place(p.X, p.Y), s.Height-p.Height)
	default:
		then("EITHER set the focus"+with+" on the stock at "+s.Turn.place(p.X, p.Y), s.Height-p.Height)
		then("OR set it "+s.From(), s.Height)
	}
	return append(clauses, s.reads()...)
}

// reads is what the controller is to read where the focus is set; none where that does
// not matter.
func (s *Setting) reads() []string {
	t := &s.Turn
	if s.Z == nil {
		if t.Axis == 0 {
			return nil
		}
		return []string{fmt.Sprintf("then let the controller read there the %c that the first burn has", t.Axis)}
	}
	reads := phrase.Trimmed(*s.Z, 3)
	switch nought := reads == "0"; {
	case nought && t.Axis == 0:
		return nil
	case nought:
	case t.Inches:
		reads += " mm (" + inches(*s.Z) + " in)"
	default:
		reads += " mm"
	}
	if t.Axis == 0 {
		return []string{"with the controller reading Z" + reads}
	}
	text := fmt.Sprintf("then let the controller read %c%s there", t.Axis, reads)
	if t.Touched {
		text += ", whatever it read there since the touch tool was used"
	}
	return []string{text}
}

// minding is what else there is to do for it to be right.
func (s *Setting) minding() (list []string) {
	add := func(format string, args ...any) { list = append(list, fmt.Sprintf(format, args...)) }
	t := &s.Turn
	if t.Backlash > 0 {
		add("always finish %s, past it and back where need be: there is %s of backlash", t.way(false), t.length(t.Backlash))
	}
	if s.Round > 0 {
		at := 0.0
		switch {
		case s.Datum != nil:
			at = s.Datum[1]
		case s.Point != nil:
			at = s.Point.Y
		}
		add("draw a pencil line along the stock at Y%s, to come back to, and see that it comes round again after Y%s on: that is one turn, in a chuck of stock %s across, on rollers of any",
			phrase.MM(at), t.length(s.Round), t.length(s.Round/math.Pi))
	}
	return list
}

// know is what there is to know of the ways, in brackets.
func (s *Setting) know() (list []string) {
	add := func(format string, args ...any) { list = append(list, fmt.Sprintf(format, args...)) }
	t, lens := &s.Turn, "the lens"
	if s.Lens.Name != "" {
		lens = "lens " + s.Lens.Name
	}
	if t.Pointer != [2]float64{} {
		add("(the beam is to be at that place and not the pointer, whose dot falls %s beside it: go there by X and Y, or by the beam's own dot on tape)", t.place(t.Pointer[0], t.Pointer[1]))
	}
	if mm := s.Lens.Shift; mm != 0 {
		add("(in that is %s for best focus of %s, from where the gauge sets it: focus_shift_mm)", t.room(mm), lens)
	}
	if mm := s.Lens.Height; mm != 0 {
		add("(by the gauge that is made for %s; set by that of the reference lens it takes %s as well: focus_height_mm)", lens, t.room(mm))
	}
	if mm := s.Defocus; mm != 0 {
		where := "that"
		if s.InZ {
			where = "the program's Z"
		}
		add("(the wanted defocus of %s %s is in %s: do not add it)", t.length(math.Abs(mm)), map[bool]string{true: "further", false: "nearer"}[mm > 0], where)
	}
	if s.Point != nil {
		list = append(list, s.Point.notes()...)
	}
	return list
}

// notes are what to know of a focus point.
func (p *FocusPoint) notes() (list []string) {
	if p.Spoiled {
		list = append(list, "(the stock is burned there, or may be cut loose, by then: the second way is the better)")
	}
	if p.Uneven >= overEdge {
		list = append(list, "(the foot of the gauge stands over the edge of what was measured)")
	} else if p.Uneven > FlatEnough {
		list = append(list, fmt.Sprintf("(the stock rises or falls by %.1f mm under the foot of the gauge: read it at the middle)", p.Uneven))
	}
	return list
}

// Text is the statement as one sentence without its end.
func (s *Setting) Text() string { return strings.Join(s.Say(), "; ") }

// TextAfter is it where another has just been said: what there is to know of both is not
// said again.
func (s *Setting) TextAfter(said *Setting) string {
	known, again := append(said.minding(), said.know()...), *s
	if said.Round == s.Round {
		again.Round = 0 // one line is enough to come back to
	}
	more := append(again.minding(), again.know()...)
	return strings.Join(append(s.Ways(), slices.DeleteFunc(more, func(clause string) bool { return slices.Contains(known, clause) })...), "; ")
}

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
