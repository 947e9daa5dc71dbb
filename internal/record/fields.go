package record

import (
	"bufio"
	"fmt"
	"io"
	"iter"
	"math"
	"reflect"
	"strconv"
	"strings"
	"unicode/utf8"
)

// field is one field of a record: its tag, and its value, which can be set.
type field struct {
	tag   reflect.StructTag
	value reflect.Value
}

// fieldsOf yields the fields of the struct that record points to, in their
// order, by their names in the file.
func fieldsOf(record any) iter.Seq2[string, field] {
	return func(yield func(string, field) bool) {
		s := reflect.ValueOf(record).Elem()
		for i := range s.NumField() {
			tag := s.Type().Field(i).Tag
			if !yield(tag.Get("toml"), field{tag, s.Field(i)}) {
				return
			}
		}
	}
}

// Field explains one field of a settings file.
type Field struct {
	Name    string // as in the file; its end is the unit
	Unit    string // empty for a pure number or text
	Default string // as in the file; empty where unset is a meaning of its own
	Example string // a value as in the file
	Meaning string // one line
}

// LensFields explains every field of a lens record, in the order of writing.
func LensFields() []Field { return explained(&Lens{}) }

// MachineFields explains every field of a machine profile, in the order of
// writing.
func MachineFields() []Field { return explained(DefaultMachine()) }

// units are what the ends of names say.
var units = []struct{ end, unit string }{
	{"_mm_min", "mm/min"}, {"_per_s", "1/s"}, {"_mm", "mm"}, {"_um", "µm"}, {"_nm", "nm"}, {"_pct", "%"},
}

// explained explains the fields of a record that holds the defaults.
func explained(record any) []Field {
	var out []Field
	for name, f := range fieldsOf(record) {
		x := Field{Name: name, Unit: f.tag.Get("unit"), Example: f.tag.Get("as"), Meaning: f.tag.Get("is")}
		for _, u := range units {
			if x.Unit == "" && strings.HasSuffix(name, u.end) {
				x.Unit = u.unit
			}
		}
		if text, set := tomlValue(f.value); set {
			x.Default = text
		}
		out = append(out, x)
	}
	return out
}

// WriteLens writes a lens record with a comment to every field; unset ones
// stand as comments, with an example. ReadLens reads it back equal, but that an
// empty name becomes the file's. A record that is not valid is not written: the
// error is then a *diag.Error.
func WriteLens(w io.Writer, l *Lens) error {
	if err := l.Validate(); err != nil {
		return err
	}
	return writeSettings(w, "Lens record. A field's name carries its unit.", l)
}

// WriteMachine writes a machine profile with a comment to every field; unset
// ones stand as comments, with an example. ReadMachine reads it back equal. A
// profile that is not valid is not written: the error is then a *diag.Error.
func WriteMachine(w io.Writer, m *Machine) error {
	if err := m.Validate(); err != nil {
		return err
	}
	return writeSettings(w, "Machine profile. A field's name carries its unit; what is left out keeps its default.", m)
}

// meaningColumn is where the comments begin, past all but the longest values.
const meaningColumn = 32

func writeSettings(w io.Writer, head string, record any) error {
	b := bufio.NewWriter(w)
	fmt.Fprintf(b, "# %s\n# A line that begins with # is not in force: take the # away to set it.\n\n", head)
	for name, f := range fieldsOf(record) {
		text, set := tomlValue(f.value)
		line := name + " = " + text
		if !set {
			line = "# " + name + " = " + f.tag.Get("as")
		}
		pad := max(1, meaningColumn-utf8.RuneCountInString(line))
		fmt.Fprintf(b, "%s%s# %s\n", line, strings.Repeat(" ", pad), f.tag.Get("is"))
	}
	return b.Flush()
}

// tomlValue writes a field's value as TOML, and reports whether it is set: nil
// pointers and empty text are not.
func tomlValue(v reflect.Value) (text string, set bool) {
	if v.Kind() == reflect.Pointer {
		if v.IsNil() {
			return "", false
		}
		v = v.Elem()
	}
	var parts []string
	switch x := v.Interface().(type) {
	case string:
		return strconv.Quote(x), x != ""
	case bool:
		return strconv.FormatBool(x), true
	case int:
		return strconv.Itoa(x), true
	case float64:
		return tomlNumber(x), true
	case MWords:
		for _, t := range x.texts() {
			parts = append(parts, strconv.Quote(t))
		}
	default: // an array of numbers
		for i := range v.Len() {
			parts = append(parts, tomlNumber(v.Index(i).Float()))
		}
	}
	return "[" + strings.Join(parts, ", ") + "]", true
}

// texts gives the words as a program has them.
func (w MWords) texts() []string {
	out := make([]string, len(w))
	for i, n := range w {
		out[i] = "M" + strconv.Itoa(n)
	}
	return out
}

// tomlNumber writes the shortest decimal that reads back equal, with an
// exponent only where the digits alone would be hard to read; whole numbers
// beyond what TOML's integers carry exactly need one too.
func tomlNumber(v float64) string {
	if a := math.Abs(v); a != 0 && (a < 1e-6 || a >= 1e15) {
		return strconv.FormatFloat(v, 'e', -1, 64)
	}
	return strconv.FormatFloat(v, 'f', -1, 64)
}
