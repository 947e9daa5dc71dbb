package diag

import (
	"errors"
	"fmt"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"
)

// Kind says what sort of thing is wrong.
type Kind uint8

const (
	// Malformed is a program, a surface or a table that no reader could make
	// sense of.
	Malformed Kind = iota
	// Unsupported is one that is valid, but asks for what is not done here.
	Unsupported
	// Setting is an option, or a lens record, a machine profile or a placement,
	// that cannot be.
	Setting
	// Unmet is what does not hold: a limit that cannot be kept, measurements
	// that lead to nothing.
	Unmet
	// IO is that reading or writing failed.
	IO
)

// Error is something wrong, in one line of lower case.
type Error struct {
	Kind Kind
	// Place is where; zero where it is no place of a file.
	Place
	// Field is the field of a settings file that is at fault, or empty.
	Field string
	// What says what is wrong. Where it is empty, Cause says it.
	What string
	// Hint says what to do, or is empty.
	Hint string
	// Cause is the error behind it, which errors.Is and errors.As find too, or
	// nil.
	Cause error
}

// Error returns FILE:LINE:COL: field: what, as far as they are known.
func (e *Error) Error() string {
	s := e.What
	if s == "" && e.Cause != nil {
		s = e.Cause.Error()
	}
	if e.Field != "" {
		s = e.Field + ": " + s
	}
	if e.Place.known() {
		s = e.Place.String() + ": " + s
	}
	return s
}

// Unwrap returns the cause.
func (e *Error) Unwrap() error { return e.Cause }

// Errorf makes an error of no place; the hint may be empty.
func Errorf(k Kind, hint, format string, args ...any) error {
	return &Error{Kind: k, What: fmt.Sprintf(format, args...), Hint: hint}
}

// IOError marks an error of the system, met in reading or writing.
func IOError(err error) error { return &Error{Kind: IO, Cause: err} }

// As returns the Error in err's chain, nil where there is none.
func As(err error) *Error {
	e, _ := errors.AsType[*Error](err)
	return e
}

// Is reports whether err has an Error of kind k in its chain.
func Is(err error, k Kind) bool {
	e := As(err)
	return e != nil && e.Kind == k
}

// Hint returns the hint of the Error in err's chain, or "".
func Hint(err error) string {
	if e := As(err); e != nil {
		return e.Hint
	}
	return ""
}

// Place is where something stands in a file.
type Place struct {
	File string
	// Line and Col count from 1, Col in bytes; 0 where it is no line's, or no
	// column's. A byte-order mark is not counted.
	Line, Col int
	// Source is the line, without line end and byte-order mark; empty where it
	// was not kept.
	Source string
}

func (p Place) known() bool { return p.File != "" || p.Line > 0 }

// String returns FILE:LINE:COL, as far as they are known.
func (p Place) String() string {
	s := p.File
	for _, n := range []int{p.Line, p.Col} {
		if n == 0 {
			break
		}
		if s != "" {
			s += ":"
		}
		s += strconv.Itoa(n)
	}
	return s
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

// Caret returns the source line with a caret beneath the place, as two lines
// without a last line end. A long line is cut around the place, control
// characters are made visible. Without a source line it returns "".
func (p Place) Caret() string {
	if p.Source == "" {
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
