package diag

import (
	"errors"
	"fmt"
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
