package record

import (
	"bufio"
	"fmt"
	"io"
	"math"
	"reflect"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"

	"sagitta/internal/option"
)

// fieldsOf gives the fields of the record that it points to, in their order, by their
// names in the file.
func fieldsOf(record any) []option.Option { return option.Named("toml", record) }

// Known is the value of a field, 0 where it is unset.
func Known[T int | float64](v *T) T {
	if v == nil {
		return 0
	}
	return *v
}

// Field explains one field of a settings file.
type Field struct {
	Name    string // as in the file; its end is the unit
	Unit    string // empty for a pure number or text
	Default string // as in the file; empty where unset is a meaning of its own
	Example string // a value as in the file
	Meaning string // one line
}

// units are what the ends of names say.
var units = []struct{ end, unit string }{
	{"_mm_min", "mm/min"}, {"_mm_s2", "mm/s²"}, {"_per_s", "1/s"}, {"_mm", "mm"}, {"_um", "µm"}, {"_nm", "nm"}, {"_pct", "%"},
}

// Record is a lens record, a machine profile or a fixture record.
type Record interface {
	// Validate checks every field, and whether they agree.
	Validate() error
	// about is the first line of a file.
	about() string
}

func (l *Lens) about() string { return "Lens record. A field's name carries its unit." }

func (m *Machine) about() string {
	return "Machine profile. A field's name carries its unit; what is left out keeps its default."
}

// Fields explains every field of a record that holds the defaults, in the order of
// writing.
func Fields(r Record) []Field { return explained(r) }

// BurnFields explains every field of a rule about burns.
func BurnFields() []Field { return explained(&BurnRule{}) }

func explained(at any) []Field {
	var out []Field
	for _, f := range fieldsOf(at) {
		x := Field{Name: f.Name, Unit: f.Tag.Get("unit"), Example: f.Tag.Get("as"), Meaning: f.Meaning}
		for _, u := range units {
			if x.Unit == "" && strings.HasSuffix(f.Name, u.end) {
				x.Unit = u.unit
			}
		}
		if text, set := tomlValue(f.Value); set {
			x.Default = text
		}
		out = append(out, x)
	}
	return out
}

// meaningColumn is where the comments begin, past all but the longest values.
const meaningColumn = 32

// Write writes a record with a comment to every field; unset ones stand as comments,
// with an example. ReadLens, ReadMachine or ReadFixture reads it back equal, but that an empty
// name becomes the file's. A record that is not valid is not written: the error is
// then a *diag.Error.
func Write(w io.Writer, r Record) error {
	if err := r.Validate(); err != nil {
		return err
	}
	return WriteFields(w, r.about(), fieldsOf(r))
}

// WriteFields writes fields with a comment to every one, below a line of what they are
// about; those that are unset stand as comments, with an example.
func WriteFields(w io.Writer, about string, fields []option.Option) error {
	b := bufio.NewWriter(w)
	fmt.Fprintf(b, "# %s\n# A line that begins with # is not in force: take the # away to set it.\n\n", about)
	for _, f := range fields {
		text, set := tomlValue(f.Value)
		line := f.Name + " = " + text
		if !set {
			line = "# " + f.Name + " = " + f.Tag.Get("as")
		}
		pad := max(1, meaningColumn-utf8.RuneCountInString(line))
		fmt.Fprintf(b, "%s%s# %s\n", line, strings.Repeat(" ", pad), f.Meaning)
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
	case time.Time:
		return x.Format(time.RFC3339), true
	case Boxes:
		for _, box := range x {
			text, _ := tomlValue(reflect.ValueOf(box))
			parts = append(parts, text)
		}
		if x == nil {
			return "", false
		}
	case MWords:
		for _, t := range x.texts() {
			parts = append(parts, strconv.Quote(t))
		}
	case []string:
		for _, t := range x {
			parts = append(parts, strconv.Quote(t))
		}
		if x == nil {
			return "", false
		}
	case Steps:
		for _, s := range x {
			parts = append(parts, fmt.Sprintf("[%s, %s]", tomlNumber(s[0]), tomlNumber(s[1])))
		}
		if x == nil {
			return "", false
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
