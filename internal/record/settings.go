package record

import (
	"cmp"
	"errors"
	"fmt"
	"io"
	"maps"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"github.com/BurntSushi/toml"
	"github.com/agnivade/levenshtein"

	"sagitta/internal/diag"
	"sagitta/internal/option"
)

// MaxSettingsBytes bounds what is read of a settings file: a job file with every field and its
// meaning, as many rules and places as there may be, all of them full, and a line of remarks to
// each. More is a wrong file.
const MaxSettingsBytes = 128 << 10

// maxDotted is how many parts of a dotted key are followed to find its line.
// No field has more than one; a wrong one may have some.
const maxDotted = 8

// readSettings reads TOML into the struct that into points to, whose fields
// carry their names as toml tags, and gives the line of each field that the
// file sets. Names are matched exactly.
func readSettings(r io.Reader, file string, into any) (map[string]int, error) {
	return ReadFields(r, file, fieldsOf(into))
}

// ReadFields reads TOML into fields, and gives the line of each that the file sets.
// Names are matched exactly; file stands for the file in errors. An error of content is
// a *diag.Error.
func ReadFields(r io.Reader, file string, fields []option.Option) (map[string]int, error) {
	md, raw, _, err := decode(r, file)
	if err != nil {
		return nil, err
	}
	var names []string
	for _, key := range md.Keys() {
		names = append(names, key[0])
	}
	return fill(md, raw, names, file, fields)
}

// decode reads TOML, but for what its values are.
func decode(r io.Reader, file string) (md toml.MetaData, raw map[string]toml.Primitive, text []byte, err error) {
	text, err = io.ReadAll(io.LimitReader(r, MaxSettingsBytes+1))
	if err != nil {
		return md, nil, nil, fmt.Errorf("reading %s: %w", file, err)
	}
	if len(text) > MaxSettingsBytes {
		return md, nil, nil, &diag.Error{Kind: diag.Setting, Place: diag.Place{File: file}, What: fmt.Sprintf("is over %d KiB: too long for a settings file", MaxSettingsBytes>>10)}
	}
	if line := TooDeep(text); line > 0 {
		return md, nil, nil, &diag.Error{Kind: diag.Setting, Place: diag.Place{File: file, Line: line}, What: fmt.Sprintf("goes over %d levels deep, and no settings file does", mostNested)}
	}
	md, err = toml.Decode(string(text), &raw)
	if err != nil {
		se := &diag.Error{Kind: diag.Setting, Place: diag.Place{File: file}, What: oneLine(err.Error())}
		if pe := (toml.ParseError{}); errors.As(err, &pe) {
			se.Place.Line, se.Place.Col, se.What = pe.Position.Line, pe.Position.Col, oneLine(pe.Message)
		}
		return md, nil, nil, se
	}
	return md, raw, text, nil
}

// fill sets fields from a table, of which
// names are the keys in the order in which they are looked at. It gives their lines.
func fill(md toml.MetaData, raw map[string]toml.Primitive, names []string, file string, fields []option.Option) (map[string]int, error) {
	targets := map[string]reflect.Value{}
	for _, f := range fields {
		targets[f.Name] = f.Value
	}
	lines := map[string]int{}
	for _, name := range names {
		if _, seen := lines[name]; seen {
			continue
		}
		lines[name] = lineOf(md, raw[name], maxDotted)
		fail := func(what string) error {
			return &diag.Error{Kind: diag.Setting, Place: diag.Place{File: file, Line: lines[name]}, Field: cmp.Or(printable(name), `""`), What: what}
		}
		target, known := targets[name]
		if !known {
			return nil, fail("no such field" + meant(name, targets))
		}
		if err := md.PrimitiveDecode(raw[name], target.Addr().Interface()); err != nil {
			// A type of ours, or a number that a float cannot carry, says
			// more than the kind of value.
			if pe := (toml.ParseError{}); errors.As(err, &pe) && target.Type() != reflect.TypeFor[*time.Time]() {
				return nil, fail(oneLine(pe.Message))
			}
			return nil, fail("wants " + wanted(target.Type()))
		}
	}
	return lines, nil
}

// errLocate makes the decoder say where it stands.
var errLocate = errors.New("locate")

type locator struct{}

func (*locator) UnmarshalTOML(any) error { return errLocate }

// lineOf gives the line on which a key's value begins, or 0. The decoder tells
// positions only within errors; so it is given a target that always fails.
// Dotted keys have no position of their own: it is that of their last part.
func lineOf(md toml.MetaData, p toml.Primitive, depth int) int {
	var pe toml.ParseError
	if errors.As(md.PrimitiveDecode(p, &locator{}), &pe) && pe.Position.Line > 0 {
		return pe.Position.Line
	}
	var parts map[string]toml.Primitive
	if depth == 0 || md.PrimitiveDecode(p, &parts) != nil {
		return 0
	}
	first := 0
	for _, part := range parts {
		if n := lineOf(md, part, depth-1); first == 0 || n > 0 && n < first {
			first = n
		}
	}
	return first
}

const (
	// minShared is how many letters at the start two names share before one is
	// offered for the other: less would offer any of the z_ fields for another.
	minShared = 4
	// mostSlips is how many letters may be wrong, missing, or too many, where the
	// beginning does not tell: of a short name a third of it.
	mostSlips = 3
)

// meant offers the known field that is fewest slips away from name, or else the
// one that shares the longest beginning with it: most slips are in the unit at
// the end.
func meant(name string, known map[string]reflect.Value) string {
	name = strings.ToLower(name)
	best, fewest, longest := "", min(mostSlips, (len(name)+2)/3), minShared-1
	bySlips := false
	for _, k := range slices.Sorted(maps.Keys(known)) {
		shared := 0
		for shared < min(len(k), len(name)) && k[shared] == name[shared] {
			shared++
		}
		switch slips := levenshtein.ComputeDistance(name, k); {
		case slips < fewest || slips == fewest && !bySlips:
			best, fewest, bySlips = k, slips, true
		case !bySlips && shared > longest:
			best, longest = k, shared
		}
	}
	if best == "" {
		return ""
	}
	return ": is " + best + " meant?"
}

// wanted names the kind of value that a field of type t takes.
func wanted(t reflect.Type) string {
	if t.Kind() == reflect.Pointer {
		t = t.Elem()
	}
	if t == reflect.TypeFor[time.Time]() {
		return "a date and time without quotes, as in 2026-11-05T14:30:00"
	}
	switch t.Kind() {
	case reflect.Float64:
		return "a number"
	case reflect.Int:
		return "a whole number"
	case reflect.Bool:
		return "true or false"
	case reflect.String:
		return "text in quotes"
	case reflect.Slice:
		return "a list of texts, as in [\"one\", \"two\"]"
	case reflect.Array:
		switch {
		case t.Elem().Kind() == reflect.Int:
			return "two whole numbers, as in [40, 88]"
		case t.Len() == 2:
			return "two numbers, as in [-1.5, 1.5]"
		}
		return fmt.Sprintf("%d numbers in brackets, with commas between", t.Len())
	}
	return "another kind of value"
}

// printable keeps text from a file to one line that a terminal can show.
func printable(s string) string {
	if utf8.ValidString(s) && !strings.ContainsFunc(s, func(r rune) bool { return !unicode.IsPrint(r) }) {
		return s
	}
	q := strconv.Quote(s)
	return q[1 : len(q)-1]
}

// oneLine makes a message of the decoder one of ours: printable, and with a
// small first letter where it begins with a word.
func oneLine(s string) string {
	s = printable(s)
	if len(s) > 1 && s[0] >= 'A' && s[0] <= 'Z' && s[1] >= 'a' && s[1] <= 'z' {
		return strings.ToLower(s[:1]) + s[1:]
	}
	return s
}
