package folder

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"sagitta/internal/demo"
)

// A name that is let pass is the name of a file in the folder itself.
func TestNamesStayInside(t *testing.T) {
	dir := t.TempDir()
	f, err := Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	part := rapid.SampledFrom([]string{"..", ".", "/", `\`, "a", "nul", "con", ":", "\x00", "-", " ", "é", "x.csv", "//", "C:"})
	rapid.Check(t, func(t *rapid.T) {
		name := strings.Join(rapid.SliceOfN(part, 0, 5).Draw(t, "name"), "")
		if CheckName(name) != nil {
			if err := f.Put(name, nil, true); err == nil {
				t.Fatalf("%q is written", name)
			}
			return
		}
		if filepath.Base(name) != name || !filepath.IsLocal(name) {
			t.Fatalf("%q leads elsewhere", name)
		}
		if err := f.Put(name, []byte(name), true); err != nil {
			t.Fatalf("%q: %v", name, err)
		}
		if b, err := os.ReadFile(filepath.Join(dir, name)); err != nil || string(b) != name {
			t.Fatalf("%q has %q: %v", name, b, err)
		}
	})
}

// Files are known by what they hold, whatever they are called.
func TestKinds(t *testing.T) {
	inputs, err := demo.Inputs()
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		name, text string
		want       Kind
	}{
		{"chart.gcode", string(inputs[demo.Chart.Name]), Program},
		{"chart.txt", "%\nN10 G21 (mm)\nN20 g0 x1. y-.5\nM3 S100\nX2 Y3\n", Program},
		{"chart.csv", "G21\nG0 X1 Y1\nG1 X2\n", Program},
		{"panel.csv", string(inputs[demo.Surface.Name]), Heights},
		{"panel.txt", "y\\x;0;10\n0;1,5;2\n10;3;4\n", Heights},
		{"points.csv", "x,y,z\n0,0,1\n1,0,1\n0,1,1\n1,1,2\n", Heights},
		{"touches.log", "touched 0 0 1.25\ntouched 10 3 1.5\ntouched 4 20 1.75\ntouched 31 22 1.7\n", Touches},
		{"clamps.csv", "0,0,10,10,25\n50,0,60,10,25\n", Boxes},
		{"clamps.csv", "x0,y0,x1,y1,height\n0,0,10,10,25\n", Boxes},
		{"l.toml", string(inputs[demo.Lens.Name]), Lens},
		{"m.toml", string(inputs[demo.Bench.Name]), Machine},
		{"m.toml", "z_axis = \"W\"\n", Machine},
		{"m.toml", "z_axis = \"Q\"\n", Other},
		{"notes.txt", "Remember to order plywood.\nTwo sheets.\n", Other},
		{"empty.csv", "", Other},
		{"zeros.gcode", "G0 X1\x00\x00", Other},
	} {
		got, why := kindOf(c.name, []byte(c.text))
		if got != c.want {
			t.Errorf("%s %.20q: %s (%s), not %s", c.name, c.text, got, why, c.want)
		}
	}
}

// What is put is there whole, or as it was.
func TestPut(t *testing.T) {
	dir := t.TempDir()
	f, err := Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	is := func(want string) {
		t.Helper()
		if b, _ := f.Read("a", 100); string(b) != want {
			t.Errorf("%q, not %q", b, want)
		}
		if list, _ := os.ReadDir(dir); len(list) != 1 {
			t.Errorf("%d files are there", len(list))
		}
	}
	if err := f.Put("a", []byte("one"), false); err != nil {
		t.Fatal(err)
	}
	is("one")
	if err := f.Put("a", []byte("two"), false); !errors.Is(err, ErrThere) {
		t.Error(err)
	}
	is("one")
	if err := f.Put("a", []byte("two"), true); err != nil {
		t.Error(err)
	}
	is("two")
	if _, err := f.Read("a", 2); !errors.Is(err, ErrTooLong) {
		t.Error(err)
	}
	if to, err := f.SetAside("a"); err != nil || to != "a-damaged-1" {
		t.Errorf("%s, %v", to, err)
	}
	if f.Present("a") || !f.Present("a-damaged-1") {
		t.Error("it does not lie aside")
	}
}
