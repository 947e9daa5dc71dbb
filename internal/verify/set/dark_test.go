package set

import (
	"io"
	"strings"
	"testing"

	"sagitta/internal/machine"
)

// Nothing burns in a rehearsal, nor could it while the head travels, waits, or
// when all is done.
func TestRehearsalsAreDark(t *testing.T) {
	s, err := Read(strings.NewReader(setList), "set.json")
	if err != nil {
		t.Fatal(err)
	}
	const dark = "G21 G90\nM5\nG0 X0 Y0\nG1 X50 F1000 S500\nM0\nG0 X0\nM2\n"
	for change, line := range map[string]string{
		"":                              "",
		"M5\n>":                         "line 3: ", // nothing was said of the beam, and a feed move counts as a burn
		"X0 Y0\n>X0 Y0\nM3\n":           "line 5: ",
		"F1000 S500\n>F1000 S500\nM3\n": "line 6: ", // the wait
		"M0\n>M0\nM3\n":                 "line 7: ", // the way home
		"X0\nM2\n>X0\nM3\nM2\n":         "line 8: ",
		"M2\n>M3\n":                     "line 7: ",
		"S500\n>S500 M3\n":              "line 4: ",
		"M0\n>M3 S0\nM0\n":              "", // power 0 counts as off
	} {
		old, new, _ := strings.Cut(change, ">")
		r, err := Dark(s, func(name string) (io.ReadCloser, error) {
			if name == "low" {
				return io.NopCloser(strings.NewReader(dark)), nil
			}
			return io.NopCloser(strings.NewReader(strings.Replace(dark, old, new, 1))), nil
		}, machine.DefaultConfig())
		if err != nil {
			t.Fatal(err)
		}
		if r.Holds() != (line == "") || line != "" && !strings.HasPrefix(failuresOf(r), "zone 2: "+line) {
			t.Errorf("%q: %swant %q", change, failuresOf(r), line)
		}
		for _, f := range r.Failures("") {
			if !strings.HasPrefix(f, "high: ") {
				t.Errorf("%q is not of the second program", f)
			}
		}
	}
}
