// Package compose writes programs that come from no other program, such as
// ladders and programs that touch: lines that are numbered where the machine
// profile wants it and no longer than its controller takes, comments where it
// takes them, numbers in its units and decimals.
package compose

import (
	"slices"
	"strconv"
	"strings"

	"sagitta/internal/diag"
	"sagitta/internal/phrase"
	"sagitta/internal/program"
	"sagitta/internal/record"
)

const (
	// feedDecimals are enough for the slowest feed in inches.
	feedDecimals = 3
	// commentWidth is where comments are broken, in characters.
	commentWidth = 76
	// placeSlack in mm is more than rounding makes of a place.
	placeSlack = 1e-6
)

// Writer writes a program. Its error, which Text gives, is that a line is too long for
// the controller, or leads X or Y beyond their reach: the first of them. Places are
// absolute.
type Writer struct {
	bench *record.Machine
	out   []byte
	lines int
	unit  float64 // of the program, in mm
	dec   int8    // of lengths
	err   error
}

// New begins a program for a bench.
func New(bench *record.Machine) *Writer {
	unit, decimals := bench.Written()
	return &Writer{bench: bench, unit: unit, dec: int8(decimals)}
}

// Finest has lengths written with as many decimals as these, at least.
func (w *Writer) Finest(decimalsMM, decimalsInch int8) {
	if w.bench.Inches() {
		decimalsMM = decimalsInch
	}
	w.dec = max(w.dec, decimalsMM)
}

// Text gives the program. The error is a *diag.Error.
func (w *Writer) Text() ([]byte, error) { return w.out, w.err }

// Block writes a line of words, but for empty ones.
func (w *Writer) Block(words ...string) {
	w.lines++
	text := strings.Join(slices.DeleteFunc(words, func(word string) bool { return word == "" }), " ")
	if w.bench.Numbered {
		text = "N" + strconv.Itoa(w.lines) + " " + text
	}
	if most := w.bench.LineMax; most != nil && len(text) > *most && w.err == nil {
		w.err = diag.Errorf(diag.Unmet, "", "the profile's line_max of %d characters is too short for a line such as %q", *most, text)
	}
	w.out = append(append(w.out, text...), '\n')
}

// Comment writes comment lines, broken between words, where the bench takes
// them. A word that does not fit a line is left out.
func (w *Writer) Comment(text string) {
	if !w.bench.Comments {
		return
	}
	width := commentWidth
	if w.bench.LineMax != nil {
		width = min(width, *w.bench.LineMax)
	}
	width -= len("()")
	for _, line := range phrase.Fold(plain(text), width, "", "") {
		if line != "" && len(line) <= width { // else it is a word that does not fit
			w.out = append(append(append(w.out, '('), line...), ")\n"...)
		}
	}
}

// plain keeps what a comment in brackets can hold on any controller.
func plain(s string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case r == '(':
			return '['
		case r == ')':
			return ']'
		case r == ';':
			return ','
		case r == '%':
			return ' '
		case r < ' ' || r > '~':
			return '?'
		}
		return r
	}, s)
}

// Units gives a length in mm in units of the last decimal.
func (w *Writer) Units(mm float64) int64 { return program.Round(mm/w.unit, w.dec).Mant }

// At spells the word of a coordinate in units of the last decimal.
func (w *Writer) At(letter byte, units int64) string {
	n := program.Number{Mant: units, Dec: w.dec}
	var reach *record.Reach
	switch letter {
	case 'X':
		reach = w.bench.XMM
	case 'Y':
		reach = w.bench.YMM
	}
	if at := n.Float() * w.unit; reach != nil && (at < reach[0]-placeSlack || at > reach[1]+placeSlack) && w.err == nil {
		w.err = diag.Errorf(diag.Unmet, "place the work further in, or count the reach from its work zero",
			"%c%.6g is %.4g mm beyond the reach of %c (%c_mm, %g to %g)", letter, at, max(reach[0]-at, at-reach[1]), letter, letter+'a'-'A', reach[0], reach[1])
	}
	return word(letter, n)
}

// Length spells the word of a length in mm.
func (w *Writer) Length(letter byte, mm float64) string { return w.At(letter, w.Units(mm)) }

// Feed spells the F word of a feed in mm/min.
func (w *Writer) Feed(mmMin float64) string {
	return word('F', program.Round(mmMin/w.unit, feedDecimals))
}

func word(letter byte, n program.Number) string { return string(letter) + n.Trim().String() }

// Unit is the G word of the program's unit.
func (w *Writer) Unit() string {
	if w.bench.Inches() {
		return "G20"
	}
	return "G21"
}

// Off is the word that puts the beam off.
func (w *Writer) Off() string { return "M" + strconv.Itoa(w.bench.BeamOff[0]) }

// Dark is the power word at no power.
func (w *Writer) Dark() string { return w.bench.PowerWord + "0" }
