package record

import (
	"iter"
	"reflect"
	"strings"
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
