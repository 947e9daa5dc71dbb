package record

import (
	"bytes"
	"errors"
	"io"
	"math"
	"reflect"
	"regexp"
	"strings"
	"testing"

	"github.com/BurntSushi/toml"
	"pgregory.net/rapid"

	"sagitta/internal/diag"
)

// refused holds an error to what every one of them must be: a *diag.Error on
// one line that names file, line and field.
func refused(t *testing.T, text string, err error, line int, field, what string) {
	t.Helper()
	se := diag.As(err)
	if se == nil || se.Kind != diag.Setting {
		t.Errorf("%q: %v", text, err)
		return
	}
	if se.File != "some.toml" || se.Line != line || se.Field != field || !strings.Contains(se.What, what) {
		t.Errorf("%q: %v; want line %d, field %q, %q", text, se, line, field, what)
	}
	if strings.ContainsAny(se.Error(), "\n\r\x00\x1b") {
		t.Errorf("%q: not one printable line: %q", text, se.Error())
	}
}

// What goes wrong in any settings file, whatever its fields.
func TestSettingsErrors(t *testing.T) {
	for _, c := range []struct {
		text  string
		line  int
		field string
		what  string
	}{
		{"# c\n\nname = \"a\"\nwavelength = 10600\n", 4, "wavelength", "no such field: is wavelength_nm meant?"},
		{"focal_length_in = 1.5", 1, "focal_length_in", "is focal_length_mm meant?"},
		{"dpeth_mm = [-1, 1]", 1, "dpeth_mm", "is depth_mm meant?"},
		{"stand_off_mm = 6", 1, "stand_off_mm", "is standoff_mm meant?"},
		{"M2 = 1.3", 1, "M2", "is m2 meant?"},
		{"Depth_MM = [-1, 1]", 1, "Depth_MM", "is depth_mm meant?"},
		{"\nzoom = 3", 2, "zoom", "no such field"},
		{"m2 = 1.3\r\nzoom = 3\r\n", 2, "zoom", "no such field"},
		{"\ufeffm2 = 1.3\nzoom = 3\n", 2, "zoom", "no such field"},
		{"tested_on = \"\"\"\nzoom = 1\n\"\"\"\nzoom = 2", 4, "zoom", "no such field"},
		{"m2 = 1.2\n[lens]\nm2 = 1.3", 2, "lens", "no such field"},
		{"\n[[lens]]\nm2 = 1.3", 2, "lens", "no such field"},
		{"\nlens.m2 = 1.3", 2, "lens", "no such field"},
		{"\na.b.c = 1\na.b.d = 2", 2, "a", "no such field"},
		{strings.Repeat("a.", 16) + "b = 1", 0, "a", "no such field"},
		{"\n" + strings.Repeat("a.", 100) + "b = 1", 2, "", "over 16 levels deep"},
		{"\"a\\nb\" = 1", 1, `a\nb`, "no such field"},
		{"\"\" = 1", 1, `""`, "no such field"},
		{"\n[m2]\nx = 1", 2, "m2", "wants a number"},
		{"m2 = \"1.3\"", 1, "m2", "wants a number"},
		{"m2.x = 1", 1, "m2", "wants a number"},
		{"m2 = 9007199254740993", 1, "m2", "out of the safe"},
		{"name = 38", 1, "name", "wants text in quotes"},
		{"tested_on = 2001-02-03", 1, "tested_on", "wants text in quotes"},
		{"depth_mm = 1.5", 1, "depth_mm", "wants two numbers, as in [-1.5, 1.5]"},
		{"depth_mm = [1.5]", 1, "depth_mm", "wants two numbers"},
		{"depth_mm = [-1, 1, 2]", 1, "depth_mm", "wants two numbers"},
		{"depth_mm = [\"a\", 1]", 1, "depth_mm", "wants two numbers"},
		{"m2 = 1.3\nm2 = 1.4\n", 2, "", "already been defined"},
		{"m2 = \n", 1, "", "expected value"},
		{"name = \"short\n", 1, "", "string"},
		{"\x00\x01\x02", 1, "", "NULL"},
		{"m2 = 1.3\n\x1b\xff", 2, "", ""},
		{"G21\nG1 X1\n", 1, "", ""},
		{"m2 = 0x1p4", 1, "", ""},
		{"m2 = 1__2", 1, "", ""},
		{strings.Repeat("#", MaxSettingsBytes+1), 0, "", "is over 128 KiB"},
	} {
		_, err := ReadLens(strings.NewReader(c.text), "some.toml")
		refused(t, c.text, err, c.line, c.field, c.what)
	}
}

func TestLargestSettingsFileIsRead(t *testing.T) {
	text := "m2 = 1.3\n#"
	text += strings.Repeat("x", MaxSettingsBytes-len(text))
	if _, err := ReadLens(strings.NewReader(text), "some.toml"); err != nil {
		t.Error(err)
	}
}

type failing struct{}

func (failing) Read([]byte) (int, error) { return 0, io.ErrUnexpectedEOF }

// What the system says is not the file's content: it must not look so.
func TestReadingFailsAsTheSystemSays(t *testing.T) {
	if _, err := ReadLens(failing{}, "some.toml"); !errors.Is(err, io.ErrUnexpectedEOF) || diag.As(err) != nil {
		t.Errorf("failing reader: %v", err)
	}
}

// Each field of the structs is explained, in order, and nothing else is; the
// defaults told are those in force; the examples are values that are taken.
func TestFieldsAreExplained(t *testing.T) {
	for _, c := range []struct {
		of   any
		help []Field
		read func(text string) error
	}{
		{&Lens{}, Fields(&Lens{}), func(s string) error { _, err := ReadLens(strings.NewReader(s), "some.toml"); return err }},
		{DefaultMachine(), Fields(DefaultMachine()), func(s string) error { _, err := ReadMachine(strings.NewReader(s), "some.toml"); return err }},
	} {
		typ := reflect.TypeOf(c.of).Elem()
		if typ.NumField() != len(c.help) {
			t.Errorf("%s has %d fields, %d explained", typ, typ.NumField(), len(c.help))
		}
		values := map[string]reflect.Value{}
		for _, f := range fieldsOf(c.of) {
			values[f.Name] = f.Value
		}
		for i, f := range c.help {
			if i < typ.NumField() && typ.Field(i).Tag.Get("toml") != f.Name {
				t.Errorf("%s: field %d is %s, explained is %s", typ, i, typ.Field(i).Tag.Get("toml"), f.Name)
			}
			if f.Meaning == "" || strings.ContainsAny(f.Meaning, "\n\r") {
				t.Errorf("%s: %q is no one-line meaning", f.Name, f.Meaning)
			}
			if in, ok := map[string]string{"_mm": "mm", "_um": "µm", "_nm": "nm", "_pct": "%", "_mm_min": "mm/min", "_per_s": "1/s"}[unit.FindString(f.Name)]; ok && in != f.Unit {
				t.Errorf("%s: unit %q", f.Name, f.Unit)
			}
			text, set := tomlValue(values[f.Name])
			if !set {
				text = ""
			}
			if text != f.Default {
				t.Errorf("%s: default told %q, in force %q", f.Name, f.Default, text)
			}
			if err := c.read(f.Name + " = " + f.Example); err != nil {
				t.Errorf("example of %s: %v", f.Name, err)
			}
		}
	}
}

var unit = regexp.MustCompile(`_mm_min$|_per_s$|_(mm|um|nm|pct)$`)

// A default profile with every comment mark taken away from its examples reads.
func TestCommentedExamplesAreTaken(t *testing.T) {
	example := regexp.MustCompile(`(?m)^# ([a-z0-9_]+ = )`)
	var b bytes.Buffer
	if err := Write(&b, DefaultMachine()); err != nil {
		t.Fatal(err)
	}
	all := example.ReplaceAllString(b.String(), "$1")
	if _, err := ReadMachine(strings.NewReader(all), "some.toml"); err == nil || !strings.Contains(err.Error(), "head_mm: stands beside head_radius_mm") {
		t.Error(err)
	}
	all = strings.Replace(all, "\nhead_mm", "\n# head_mm", 1) // either
	m, err := ReadMachine(strings.NewReader(all), "some.toml")
	if err != nil {
		t.Fatal(err)
	}
	if m.ZRateMMMin == nil || *m.ZRateMMMin != 600 || *m.LineMax != 256 || *m.FocusSettingMM != 0.1 {
		t.Errorf("%+v", m)
	}
	b.Reset()
	if err := Write(&b, &Lens{}); err != nil {
		t.Fatal(err)
	}
	l, err := ReadLens(strings.NewReader(example.ReplaceAllString(b.String(), "$1")), "some.toml")
	if err != nil {
		t.Fatal(err)
	}
	if l.Name != "short" || *l.WaistUM != 90 || *l.DepthMM != [2]float64{-1.5, 1.5} {
		t.Errorf("%+v", l)
	}
}

func TestTOMLNumberReadsBackEqual(t *testing.T) {
	check := func(t interface{ Fatalf(string, ...any) }, v float64) {
		var l struct{ V float64 }
		_, err := toml.Decode("V = "+tomlNumber(v), &l)
		if err != nil || l.V != v {
			t.Fatalf("%g written %s: %+v, %v", v, tomlNumber(v), l, err)
		}
	}
	for _, v := range []float64{0, 1, -1.5, 0.1, 1e-7, 1e-6, 999999999999999, 1e15, 1 << 53, 1e22, 5e-324, math.MaxFloat64} {
		check(t, v)
	}
	rapid.Check(t, func(t *rapid.T) { check(t, rapid.Float64().Draw(t, "v")) })
}
