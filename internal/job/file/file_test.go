package file

import (
	"bytes"
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"sagitta/internal/diag"
	"sagitta/internal/option"
)

// testOptions are options of every kind.
func testOptions() (list []Option) {
	at := struct {
		Use    float64     `opt:"use" in:"(0,1]" wants:"a part above 0 up to 1" is:"<PART> of the depth"`
		Datum  *[2]float64 `opt:"datum" is:"heights count from <X,Y>"`
		Clamps string      `opt:"keep-out" is:"boxes, a CSV <FILE>"`
		Slow   string      `opt:"slow" in:"never|always" is:"a <WORD>"`
		SetZ   bool        `opt:"set-z" is:"write Z"`
		Units  string      `opt:"units" is:"<UNITS> of touches"`
		Burns  string      `opt:"burns" is:"rules, a TOML <FILE>"`
	}{}
	for _, o := range option.Of(&at) {
		x := Option{Option: o, Measured: o.Name == "units"}
		if o.Name == "set-z" {
			x.For = []string{Auto, Split}
		}
		list = append(list, x)
	}
	return list
}

const whole = "program = \"a.gcode\"\nsurface = \"s.csv\"\nlenses = [\"l.toml\"]\n"

func TestRead(t *testing.T) {
	j, err := Read(strings.NewReader(whole+"use = 0.25\ndatum = [1, -2.5]\nset-z = true\nkeep-out = \"c/d.csv\"\nout = \"x/y\"\n"), "job.toml", testOptions())
	if err != nil {
		t.Fatal(err)
	}
	said := map[string][]string{}
	for _, s := range j.Said {
		said[s.Name] = s.Texts
	}
	want := map[string][]string{"use": {"0.25"}, "datum": {"1,-2.5"}, "set-z": {"true"}, "keep-out": {"c/d.csv"}}
	if !reflect.DeepEqual(said, want) || j.Do != Auto || !j.Sheet || j.Report || j.Out != "x/y" {
		t.Errorf("%v, %+v", said, j)
	}
	var files []string
	for _, n := range j.Inputs() {
		files = append(files, n.Name)
	}
	if got := strings.Join(files, " "); got != "a.gcode s.csv l.toml c/d.csv" {
		t.Error(got)
	}
	for _, text := range []string{"1", "\"1\"", "1.0", "[-1, 1]", "\"-1,1\""} {
		for _, name := range []string{"depth", "sharp"} {
			j, err := Read(strings.NewReader("program = \"a\"\nsurface = \"s\"\n"+name+" = "+text), "job.toml", nil)
			if err != nil || j.Depth != "1" && j.Depth != "-1,1" {
				t.Errorf("%s = %s: %v", name, text, err)
			}
		}
	}
}

// Rules about burns may stand in the file itself: then it is the file that names them, and
// what they say is what the job says.
func TestReadBurns(t *testing.T) {
	read := func(name, text string) *Job {
		t.Helper()
		j, err := Read(strings.NewReader(whole+text), name, testOptions())
		if err != nil {
			t.Fatal(err)
		}
		return j
	}
	in := read("a/job.toml", "[[burns]]\nlines = [4, 9]\nuse = 0.3\n[[place]]\nshift = [1, 2]\n[[burns]]\ncuts = true\n")
	if len(in.Burns) != 2 || *in.Burns[0].Use != 0.3 || len(in.Places) != 1 || len(in.Said) != 1 || in.Said[0].Texts[0] != "job.toml" {
		t.Errorf("%+v", in)
	}
	for _, n := range in.Inputs() {
		if n.Field == "burns" {
			t.Error("it reads itself")
		}
	}
	short := "[[burns]]\nuse = 0.3\n"
	same, other := read("b/other.toml", "# said\n"+short), read("job.toml", "[[burns]]\nuse = 0.4\n")
	if d := read("job.toml", short).Digest(); d != same.Digest() || d == other.Digest() || d == read("job.toml", "").Digest() {
		t.Error("the digest is not that of what the rules say")
	}
	named := read("job.toml", "burns = \"b.toml\"")
	if named.Burns != nil || named.Text("burns") != "b.toml" || named.Inputs()[3] != (Named{"burns", "b.toml"}) {
		t.Errorf("%+v", named)
	}
}

// Each mistake is told with its line and column.
func TestReadMistakes(t *testing.T) {
	for _, c := range []struct{ text, want string }{
		{whole + "burns = 3", "job.toml:4:9: burns: wants the name of a file, as in burns = \"burns.toml\", or tables [[burns]]"},
		{whole + "burns = \"b.toml\"\n[[burns]]\ncuts = true", "job.toml:5:3: [[burns]]: stands beside burns, which names a file"},
		{whole + "burns = \"../b.toml\"", "job.toml:4:9: burns: ../b.toml leads out of the folder"},
		{whole + "[[burns]]\ncuts = true\nuse = 2", "job.toml:6:7: use: wants a part of the depth"},
		{whole + "[[burns]]\ncuts = true\nout = \"x\"", "job.toml:6:7: out: no such field"},
		{whole + "[[burns]]\nlines = [1, 2]", "job.toml:5:9: lines: rule 1 says nothing of what it matches"},
		{whole + "[[burns]]\ncuts = true\n[[place]]\nshift = [1, 2]\n[[burns]]\nuse = 0", "job.toml:9:7: use: wants a part"},
		{"", "job.toml: program: is missing"},
		{"program = \"a\"", "job.toml: surface: is missing"},
		{"program = \"a\"\nsurface = \"s\"", "job.toml: lenses: is missing"},
		{whole + "  prgram = 1", "job.toml:4:3: prgram: no such field: is program meant?"},
		{whole + "[use]\nx = 1", "job.toml:4:1: use: wants a number"},
		{whole + "[uses]\nx = 1", "job.toml:4:1: uses: no such field: is use meant?"},
		{whole + "\"uses\" = 1", "job.toml:4:1: uses: no such field: is use meant?"},
		{whole + "use = \"much\"", "job.toml:4:7: use: wants a number"},
		{whole + "use =   7", "job.toml:4:9: use: wants a part above 0 up to 1, not 7"},
		{whole + "use = nan", "job.toml:4:7: use: wants a part above 0 up to 1, not NaN"},
		{whole + "slow = \"now\"", "job.toml:4:8: slow: wants never or always, not now"},
		{whole + "datum = [1]", "job.toml:4:9: datum: wants two numbers, as in [-1.5, 1.5]"},
		{whole + "datum = [1, inf]", "job.toml:4:9: datum: wants two finite numbers, as in [10, 20]"},
		{whole + "set-z = true\ndo = \"follow\"", "job.toml:4:9: set-z: is for do = \"auto\" or \"split\""},
		{whole + "do = \"burn\"", "job.toml:4:6: do: wants auto, flat, follow or split, not burn"},
		{whole + "units = \"in\"", "job.toml:4:9: units: says how touches are read, and there are none: measured is not given"},
		{whole + "depth = 1", "job.toml:3:10: lenses: stands beside depth"},
		{whole + "depth = 1\nsharp = 1", "job.toml:5:9: sharp: stands beside depth, which is the same"},
		{whole + "measured = [\"t\"]", "job.toml:4:12: measured: stands beside surface"},
		{whole + "out = \"../x\"", "job.toml:4:7: out: ../x leads out of the folder of the job file"},
		{whole + "out = \"a/../../x\"", "job.toml:4:7: out: a/../../x leads out of the folder of the job file"},
		{whole + "out = \"/x\"", "job.toml:4:7: out: /x leads out of the folder of the job file"},
		{whole + "keep-out = \"-\"", "job.toml:4:12: keep-out: wants the name of a file"},
		{whole + "keep-out = \"a\\nb\"", `job.toml:4:12: keep-out: wants printable text on one line, not "a\nb"`},
		{whole + "lenses = [\"x\"]", "job.toml:4:15: key 'lenses' has already been defined"},
		{whole + "x = ", "job.toml:4:"},
		{"lenses = [\"a\", \"b\"]\nprogram = \"a\"\nsurface = \"s\"\ndo = \"follow\"", "job.toml:1:10: lenses: has 2, and a surface is followed with one"},
		{"program = \".a\"\nsurface = \"s\"\ndepth = 1", "job.toml:1:11: program: .a: results that are called so would be hidden"},
		{strings.Repeat("# long\n", 30000), "job.toml: is over 128 KiB"},
	} {
		_, err := Read(strings.NewReader(c.text), "job.toml", testOptions())
		if err == nil || !strings.HasPrefix(err.Error(), c.want) || !diag.Is(err, diag.Setting) {
			t.Errorf("%q: %v, not %s", c.text, err, c.want)
		}
	}
}

// What is written is read back the same, and its digest tells what differs.
func TestWriteReads(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		name := rapid.StringMatching(`[a-z0-9 _'#=äß"\\]{1,12}\.x`)
		j := Defaults()
		j.Program, j.Machine = name.Draw(t, "program"), name.Draw(t, "machine")
		if rapid.Bool().Draw(t, "touched") {
			j.Measured = rapid.SliceOfN(name, 1, 3).Draw(t, "measured")
		} else {
			j.Surface = name.Draw(t, "surface")
		}
		if rapid.Bool().Draw(t, "depth") {
			j.Depth = "-1.25,2"
		} else {
			j.Lenses = rapid.SliceOfN(name, 1, 3).Draw(t, "lenses")
		}
		j.Do = rapid.SampledFrom([]string{Auto, Flat, Split}).Draw(t, "do")
		j.Sheet, j.Report = rapid.Bool().Draw(t, "sheet"), rapid.Bool().Draw(t, "report")
		var text bytes.Buffer
		if err := j.Write(&text, testOptions()); err != nil {
			t.Fatal(err)
		}
		again, err := Read(&text, "job.toml", testOptions())
		if err != nil {
			t.Fatal(err)
		}
		if again.Digest() != j.Digest() {
			t.Fatalf("%+v is read as %+v", j, again)
		}
		other := *j
		other.Out += "x"
		if other.Digest() == j.Digest() {
			t.Fatal("the digest does not tell")
		}
	})
}

// What is a job file is told from records, and what cannot be read is heard of.
func TestIs(t *testing.T) {
	for text, want := range map[string]bool{
		whole: true, "do = \"auto\"": true, "progam = \"a\"\nsurface = \"s\"": true, "[": true,
		"fixture = \"j.toml\"\n[[burns]]\ncuts = true": true, "sharp = 1\n[[burns]]\ncuts = true": true,
		"name = \"short\"\ndepth_mm = [-1, 1]": false, "z_axis = \"W\"": false, "": false, "[[burns]]\ncuts = true": false,
	} {
		if Is(strings.NewReader(text)) != want {
			t.Errorf("%q: not %v", text, want)
		}
	}
}

// No job file leads out of its folder, panics or is refused without saying where.
func FuzzRead(f *testing.F) {
	f.Add(whole)
	f.Add(whole + "out = \"../..\"\nuse = 0.5")
	f.Add("[a.b]\nc = 1\n[[d]]\n\"e f\" = [1,")
	f.Add(whole + "[[burns]]\nlines = [2, 1]\n[[burns]]\nuse = 7\nburns = 1")
	f.Add(whole + "burns = [{cuts = true}, {use = 0}]")
	f.Add("\ufeffprogram=\"..\"\r\nsurface='\\'\r\ndepth=1e999")
	options := testOptions()
	f.Fuzz(func(t *testing.T, text string) {
		j, err := Read(strings.NewReader(text), "job.toml", options)
		if err != nil {
			e := diag.As(err)
			if e == nil || e.Kind != diag.Setting || e.File != "job.toml" {
				t.Fatalf("%v", err)
			}
			if e.Line < 0 || e.Line > strings.Count(text, "\n")+1 || e.Col > len(e.Source)+1 {
				t.Fatalf("%v is no place in it", e.Place)
			}
			_ = e.Caret()
			return
		}
		for _, n := range append(j.Inputs(), Named{"out", j.Out}) {
			if !filepath.IsLocal(n.Name) || n.Name == "-" || strings.ContainsAny(n.Name, "\n\x1b") {
				t.Fatalf("%s leads to %q", n.Field, n.Name)
			}
		}
		Is(strings.NewReader(text))
	})
}
