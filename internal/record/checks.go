package record

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"unicode"

	"sagitta/internal/diag"
)

// wrong makes the error of a field; file and line are added by who read it.
func wrong(field, format string, args ...any) *diag.Error {
	return &diag.Error{Kind: diag.Setting, Field: field, What: fmt.Sprintf(format, args...)}
}

// first gives the first error of a row of checks as an error.
func first(checks ...*diag.Error) error {
	for _, c := range checks {
		if c != nil {
			return c
		}
	}
	return nil
}

// finite, zeroOrMore and aboveZero check a number; an unset one passes.
func finite(field string, v *float64) *diag.Error {
	if v != nil && (math.IsNaN(*v) || math.IsInf(*v, 0)) {
		return wrong(field, "wants a finite number, not %g", *v)
	}
	return nil
}

func zeroOrMore(field string, v *float64) *diag.Error {
	if v != nil && (!(*v >= 0) || math.IsInf(*v, 0)) {
		return wrong(field, "wants a finite number, zero or more, not %g", *v)
	}
	return nil
}

func aboveZero(field string, v *float64) *diag.Error {
	if v != nil && (!(*v > 0) || math.IsInf(*v, 0)) {
		return wrong(field, "wants a finite number above zero, not %g", *v)
	}
	return nil
}

// oneOf checks a text against the few that are allowed.
func oneOf(field, v string, allowed ...string) *diag.Error {
	if slices.Contains(allowed, v) {
		return nil
	}
	return wrong(field, `wants "%s", not %q`, strings.Join(allowed, `" or "`), v)
}

// onOneLine refuses text that would break out of the line it is written to: a
// comment of a program, a message, a page.
func onOneLine(field, v string) *diag.Error {
	if strings.ContainsFunc(v, func(r rune) bool { return !unicode.IsPrint(r) || r == unicode.ReplacementChar }) {
		return wrong(field, "wants printable text on one line, not %q", v)
	}
	return nil
}

// place puts file and line to an error of a check.
func place(err error, file string, lines map[string]int) error {
	if se, ok := err.(*diag.Error); ok {
		se.File, se.Line = file, lines[se.Field]
	}
	return err
}
