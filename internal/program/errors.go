package program

import (
	"errors"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"
)

// Place is where something stands in a program.
type Place struct {
	File string
	// Line and Col count from 1, Col in bytes. A byte-order mark is not
	// counted.
	Line, Col int
	// Source is the line, without line end and byte-order mark.
	Source string
}

// String returns FILE:LINE:COL.
func (p Place) String() string {
	s := strconv.Itoa(p.Line) + ":" + strconv.Itoa(p.Col)
	if p.File == "" {
		return s
	}
	return p.File + ":" + s
}

// SyntaxError tells that a program is malformed: no RS274 interpreter could
// make sense of it.
type SyntaxError struct {
	Place
	// What says what is wrong, in one line.
	What string
	// Hint says what to do, or is empty.
	Hint string
}

// Error returns FILE:LINE:COL: what.
func (e *SyntaxError) Error() string { return e.Place.String() + ": " + e.What }

// UnsupportedError tells that a program says something that is valid on some
// controller, but cannot be followed here.
type UnsupportedError struct {
	Place
	// What says what is not supported, in one line.
	What string
	// Hint says what to do, or is empty.
	Hint string
}

// Error returns FILE:LINE:COL: what.
func (e *UnsupportedError) Error() string { return e.Place.String() + ": " + e.What }

// Hint returns the hint of the SyntaxError or UnsupportedError in err's
// chain, or "".
func Hint(err error) string {
	if s, ok := errors.AsType[*SyntaxError](err); ok {
		return s.Hint
	}
	if u, ok := errors.AsType[*UnsupportedError](err); ok {
		return u.Hint
	}
	return ""
}

const (
	// caretWidth is how many characters of a source line are shown: with
	// the marks of a cut it stays within a terminal of 80 columns.
	caretWidth = 72
	// caretAfter is how many of them follow the caret at least, where the
	// line has them: enough to recognise the word.
	caretAfter = 24
	// cut marks where a source line was cut.
	cut = "..."
)

// Caret returns the source line of the SyntaxError or UnsupportedError in
// err's chain with a caret beneath the place, as two lines without a last
// line end. A long line is cut around the place, control characters are made
// visible. Without such an error it returns "".
func Caret(err error) string {
	var p Place
	if s, ok := errors.AsType[*SyntaxError](err); ok {
		p = s.Place
	} else if u, ok := errors.AsType[*UnsupportedError](err); ok {
		p = u.Place
	} else {
		return ""
	}
	line, at := visible(p.Source, p.Col-1)
	before, after := "", ""
	if len(line) > caretWidth {
		lo := max(0, min(at+caretAfter, len(line))-caretWidth)
		hi := min(lo+caretWidth, len(line))
		if lo > 0 {
			before = cut
		}
		if hi < len(line) {
			after = cut
		}
		line, at = line[lo:hi], at-lo
	}
	return before + string(line) + after + "\n" + strings.Repeat(" ", len(before)+at) + "^"
}

// visible returns s as characters that each take one place on a screen, and
// the index among them of the character at byte offset.
func visible(s string, offset int) (line []rune, at int) {
	at = -1
	for i, size := 0, 0; i < len(s); i += size {
		var r rune
		r, size = utf8.DecodeRuneInString(s[i:])
		if at < 0 && i+size > offset {
			at = len(line)
		}
		switch {
		case r == '\t':
			r = ' '
		case r < ' ':
			r += '\u2400' // the pictures of the control characters
		case r == 0x7f:
			r = '\u2421'
		case !unicode.IsPrint(r):
			r = utf8.RuneError
		}
		line = append(line, r)
	}
	if at < 0 {
		at = len(line)
	}
	return line, at
}
