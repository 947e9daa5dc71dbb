package record

import (
	"fmt"
	"reflect"
	"slices"
	"strings"
	"unicode"

	"sagitta/internal/diag"
	"sagitta/internal/option"
)

// wrong makes the error of a field; file and line are added by who read it.
func wrong(field, format string, args ...any) error {
	return &diag.Error{Kind: diag.Setting, Field: field, What: fmt.Sprintf(format, args...)}
}

// inWords says intervals in words.
var inWords = map[string]string{"(0,)": "a finite number above zero", "[0,100]": "a number from 0 to 100", "[0,)": "a finite number, zero or more", "": "a finite number"}

// check holds each field of a record to what its tag wants (see package option): of
// numbers an interval, and that they are finite; of texts one of some words or,
// without a tag, that they stay on one line. Unset fields pass.
func check(record any) error {
	for _, f := range fieldsOf(record) {
		v := reflect.Indirect(f.Value)
		var err error
		switch v.Kind() {
		case reflect.Float64:
			err = checkNumber(f, v.Float())
		case reflect.Array:
			for k := 0; k < v.Len() && err == nil; k++ {
				err = checkNumber(f, v.Index(k).Float())
			}
		case reflect.String:
			err = checkText(f.Name, v.String(), f.In)
		}
		if err != nil {
			return err
		}
	}
	return nil
}

// mostNumber is what no number of a bench, a lens or an age is beyond, in whatever unit a field
// is; what is worked out of more would be no number any more.
const mostNumber = 1e9

func checkNumber(f option.Option, v float64) error {
	switch {
	case f.In == "(0,)" && v > 0 && v < option.LeastNumber:
		return wrong(f.Name, "%g is beyond any bench: wants %g at least", v, option.LeastNumber)
	case !option.Within(v, f.In):
		return wrong(f.Name, "wants %s, not %g", inWords[f.In], v)
	case v < -mostNumber:
		return wrong(f.Name, "%g is beyond any bench: wants %g at least", v, -mostNumber)
	case v > mostNumber:
		return wrong(f.Name, "%g is beyond any bench: wants %g at most", v, mostNumber)
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
