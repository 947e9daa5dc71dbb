package record

import (
	"fmt"
	"math"
	"reflect"
	"slices"
	"strings"
	"unicode"

	"sagitta/internal/diag"
)

// wrong makes the error of a field; file and line are added by who read it.
func wrong(field, format string, args ...any) error {
	return &diag.Error{Kind: diag.Setting, Field: field, What: fmt.Sprintf(format, args...)}
}

// check holds each field of a record to what its tag wants: of numbers, "above
// zero", "zero or more" or, without a tag, that they are finite; of texts, one of
// those with | between or, without a tag, that they stay on one line. Unset
// fields pass.
func check(record any) error {
	for name, f := range fieldsOf(record) {
		v, wants := f.value, f.tag.Get("wants")
		if v.Kind() == reflect.Pointer {
			if v.IsNil() {
				continue
			}
			v = v.Elem()
		}
		var err error
		switch v.Kind() {
		case reflect.Float64:
			err = checkNumber(name, v.Float(), wants)
		case reflect.Array:
			for k := 0; k < v.Len() && err == nil; k++ {
				err = checkNumber(name, v.Index(k).Float(), wants)
			}
		case reflect.String:
			err = checkText(name, v.String(), wants)
		}
		if err != nil {
			return err
		}
	}
	return nil
}

func checkNumber(name string, v float64, wants string) error {
	finite := !math.IsNaN(v) && !math.IsInf(v, 0)
	switch {
	case wants == "above zero" && !(finite && v > 0):
		return wrong(name, "wants a finite number above zero, not %g", v)
	case wants == "zero or more" && !(finite && v >= 0):
		return wrong(name, "wants a finite number, zero or more, not %g", v)
	case !finite:
		return wrong(name, "wants a finite number, not %g", v)
	}
	return nil
}

func checkText(name, v, wants string) error {
	if wants != "" {
		if one := strings.Split(wants, "|"); !slices.Contains(one, v) {
			return wrong(name, `wants "%s", not %q`, strings.Join(one, `" or "`), v)
		}
		return nil
	}
	// Text must not break out of the line it is written to: a comment of a
	// program, a message, a page.
	if strings.ContainsFunc(v, func(r rune) bool { return !unicode.IsPrint(r) || r == unicode.ReplacementChar }) {
		return wrong(name, "wants printable text on one line, not %q", v)
	}
	return nil
}

// place puts file and line to an error of a check.
func place(err error, file string, lines map[string]int) error {
	if e := diag.As(err); e != nil {
		e.File, e.Line = file, lines[e.Field]
	}
	return err
}
