package job

import (
	"errors"
	"io"
	"io/fs"
	"slices"
	"strings"
	"testing"

	"sagitta/internal/advise"
	"sagitta/internal/bench"
	"sagitta/internal/diag"
	"sagitta/internal/focus"
)

// folder is a folder of files in memory.
type folder map[string]string

func (b folder) open(name string) (io.ReadCloser, error) {
	text, ok := b[name]
	if !ok {
		return nil, diag.IOError(fs.ErrNotExist)
	}
	return io.NopCloser(strings.NewReader(text)), nil
}

// files are those of the tests below.
var files = folder{
	"flat.csv":    "# error_mm: 0\n, 0, 10\n0, 1, 1\n10, 1, 1\n",
	"noisy.csv":   "# error_mm: 0.5\n, 0, 10\n0, 1, 1\n10, 1, 1\n",
	"short.toml":  "depth_mm = [-1, 1.5]\nsmallest_detail_mm = 0.5\nstandoff_mm = 6\nusual_defocus_mm = 0.8\ntested_on = \"oak\"\n",
	"long.toml":   "depth_mm = [-3, 3]\n",
	"bare.toml":   "focal_length_mm = 38.1\n",
	"beam.toml":   "waist_um = 100\nrayleigh_mm = 2\nname = \"beam\"\n",
	"head.toml":   "head_radius_mm = 8\ngap_min_mm = 1.5\n",
	"clamp.csv":   "0,0,1,1,5\n",
	"always.toml": "z_moves = \"always\"\n", "beam-off.toml": "z_moves = \"beam-off\"\n", "by-hand.toml": "z_moves = \"by-hand\"\n",
}

// settings are the least there are, and notes what is noted.
func settings(notes *[]string) *Options {
	o := Defaults()
	o.Surface, o.Depth = "flat.csv", "1"
	o.Note = func(line string) { *notes = append(*notes, line) }
	return &o
}

func mustNew(t *testing.T, o *Options, want Want) *Job {
	t.Helper()
	j, err := New(files.open, o, want)
	if err != nil {
		t.Fatal(err)
	}
	return j
}

// Every word means the same to who follows and to who checks: one that was
// misspelled here would quietly count as the first.
func TestWords(t *testing.T) {
	var notes []string
	for word, want := range map[string]struct {
		f, v bench.Slow
	}{"never": {bench.SlowNever, bench.SlowNever}, "scaled": {bench.SlowScaled, bench.SlowScaled}, "burns": {bench.SlowBurns, bench.SlowBurns}} {
		o := settings(&notes)
		o.Slow = word
		j := mustNew(t, o, OneLens)
		if f, v := j.Follow("").Slow, j.Verify().Slow; f != want.f || v != want.v {
			t.Errorf("--slow %s: %v and %v", word, f, v)
		}
	}
	for word, want := range map[string]struct {
		f, v bench.Moves
	}{"always": {bench.Always, bench.Always}, "beam-off": {bench.BeamOff, bench.BeamOff}, "by-hand": {bench.ByHand, bench.ByHand}} {
		o := settings(&notes)
		o.Machine = word + ".toml"
		j := mustNew(t, o, OneLens)
		if f, v, z := j.Follow("").ZMoves, j.Verify().ZMoves, j.Zones("").ZMoves == bench.ByHand; f != want.f || v != want.v || z != (word == "by-hand") {
			t.Errorf("z_moves %s: %v, %v and %v", word, f, v, z)
		}
	}
}

// only has one option given.
func only(name string) func(string) bool { return func(n string) bool { return n == name } }

func TestRefusedSettings(t *testing.T) {
	for what, change := range map[string]func(*Options){
		"no surface given":                        func(o *Options) { o.Surface = "" },
		"one of --lens and --depth is needed":     func(o *Options) { o.Depth = "" },
		"one of --lens and":                       func(o *Options) { o.Lenses = []string{"long.toml"} },
		"one lens at a time, not also short.toml": func(o *Options) { o.Depth, o.Lenses = "", []string{"long.toml", "short.toml"} },
		"--use 0: wants":                          func(o *Options) { o.Use, o.Given = 0, only("use") },
		"--slowest 2: wants":                      func(o *Options) { o.Slowest = 2 },
		"--slow fast: wants":                      func(o *Options) { o.Slow = "fast" },
		"--outside off: wants":                    func(o *Options) { o.Outside = "off" },
		"--z-rate 0: wants a rate":                func(o *Options) { o.Given = only("z-rate") },
		"bare.toml: a lens record without depth":  func(o *Options) { o.Depth, o.Lenses = "", []string{"bare.toml"} },
	} {
		var notes []string
		o := settings(&notes)
		change(o)
		if _, err := New(files.open, o, OneLens); !diag.Is(err, diag.Setting) || !strings.HasPrefix(err.Error(), what) {
			t.Errorf("%v, want %s", err, what)
		}
	}
}

// The usual defocus of a record is taken and said, but where one was given.
func TestUsualDefocus(t *testing.T) {
	for _, given := range []bool{false, true} {
		var notes []string
		o := settings(&notes)
		o.Depth, o.Lenses = "", []string{"short.toml"}
		o.Given = func(name string) bool { return given && name == "defocus" }
		j := mustNew(t, o, OneLens)
		want := 0.8
		if given {
			want = 0
		}
		said := slices.ContainsFunc(notes, func(n string) bool { return strings.Contains(n, "a defocus of 0.8 mm, as usual on oak") })
		if j.Defocus != want || j.Follow("").Defocus != want || j.Verify().DefocusMM != want || said == given {
			t.Errorf("given %v: %g, said %q", given, j.Defocus, notes)
		}
	}
}

// Of any lenses, those without depth to use are out, and the last of none is
// why.
func TestAnyLens(t *testing.T) {
	for _, c := range []struct {
		lenses []string
		out    int
		err    bool
	}{
		{[]string{"short.toml", "bare.toml", "long.toml"}, 2, false},
		{[]string{"bare.toml"}, 1, true},
		{[]string{"beam.toml", "long.toml"}, 1, false}, // the noise takes its depth
		{[]string{"long.toml", "long.toml"}, 0, true},  // of one name
	} {
		var notes []string
		o := settings(&notes)
		o.Surface, o.Depth, o.Lenses = "noisy.csv", "", c.lenses
		o.Given = func(name string) bool { return name != "surface-error" && name != "method" }
		o.ZRate, o.Rapid = 600, 6000
		j, err := New(files.open, o, AnyLens)
		out := 0
		for _, n := range notes {
			if strings.Contains(n, " is out: ") {
				out++
			}
		}
		if (err != nil) != c.err || out != c.out {
			t.Errorf("%v: %v, %q", c.lenses, err, notes)
		}
		if err == nil && len(j.Lenses) != len(c.lenses) {
			t.Errorf("%v: %d lenses", c.lenses, len(j.Lenses))
		}
	}
	var notes []string
	o := settings(&notes)
	o.Surface, o.Depth, o.Lenses = "noisy.csv", "", []string{"beam.toml"}
	if _, err := New(files.open, o, AllLenses); !errors.Is(err, focus.ErrSpent) {
		t.Errorf("%v", err)
	}
}

// A finer detail leaves less of a depth that is only assumed, which other
// commands are then told as --depth.
func TestAdviseNarrows(t *testing.T) {
	var notes []string
	o := settings(&notes)
	o.Depth, o.Lenses = "", []string{"beam.toml"}
	j := mustNew(t, o, AnyLens)
	wide := j.Lenses[0].Checking
	if name, value := j.Lenses[0].Option(); name != "-l" || value != "beam.toml" {
		t.Errorf("%s %s", name, value)
	}
	if _, err := j.Advise("", advise.Detail{MM: 0.52}); err != nil {
		t.Fatal(err)
	}
	l := &j.Lenses[0]
	if name, value := l.Option(); !(l.Checking.Near < wide.Near && l.Checking.Far < wide.Far) || name != "--depth" || !strings.HasPrefix(value, "-0.5") {
		t.Errorf("%v of %v, %s %s", l.Checking, wide, name, value)
	}
}

// The head is known with all its fields, and what is missing is named.
func TestHead(t *testing.T) {
	for _, c := range []struct {
		lens, machine string
		missing       []string
	}{
		{"short.toml", "head.toml", nil},
		{"long.toml", "head.toml", []string{"standoff_mm of the lens record"}},
		{"short.toml", "", []string{"head_radius_mm and gap_min_mm of the machine profile"}},
		{"long.toml", "", []string{"standoff_mm of the lens record", "head_radius_mm and gap_min_mm of the machine profile"}},
	} {
		var notes []string
		o := settings(&notes)
		o.Depth, o.Lenses, o.Machine, o.KeepOut = "", []string{c.lens}, c.machine, "clamp.csv"
		j := mustNew(t, o, OneLens)
		if !slices.Equal(j.Missing, c.missing) || (j.Known == nil) != (c.missing != nil) || len(j.Boxes) != 1 {
			t.Errorf("%s and %s: %q, %v", c.lens, c.machine, j.Missing, j.Known)
		}
		if h := j.Verify().Head; j.Known != nil && (h.Radius != 8 || h.Standoff != 6 || h.Gap != 1.5 || len(h.Boxes) != 1) {
			t.Errorf("%+v", h)
		}
	}
}
