package placed_test

import (
	"io"
	"strings"
	"testing"

	"sagitta/internal/diag"
	"sagitta/internal/machine"
	"sagitta/internal/verify/placed"
)

const part = "G21 G90\nM4 S0\nG0 X5 Y5 Z2\nG0 Z0\nG1 X55 S500 F3000\nG2 X60 Y10 I0 J5\nG1 Y30\nG4 P0.5\nM0\nG1 X5\nG64\nG1 Y5 M8\nM123\nM9\nM5\nG0 Z2\n"

// all is part at X0 Y0, then turned by a quarter at X100 Y0, written by hand.
const all = part +
	"G21 G90 M5\nG0 X95 Y5\nG61 M4 S0\nG0 X95 Y5 Z2\nG0 Z0\nG1 Y55 S500 F3000\nG2 X90 Y60 I-5 J0\nG1 X70\nG4 P0.5\nM0\nG1 Y5\nG64\nG1 X95 M8\nM123\nM9\nM5\nG0 Z2\n"

func walk(one, made string) error {
	open := func() (io.ReadCloser, error) { return io.NopCloser(strings.NewReader(one)), nil }
	return placed.Run(open, strings.NewReader(made), []placed.Place{{Number: 1}, {Number: 2, X: 100, RotateDeg: 90}},
		placed.Options{Machine: machine.DefaultConfig(), Name: "part.gcode", AllName: "all.gcode", LateralMM: 0.001})
}

// Each thing that is not as in the part's program is found, at its line of that.
func TestRun(t *testing.T) {
	one := strings.Replace(part, "M4 S0", "G61 M4 S0", 1)
	two := strings.Replace(all, "M4 S0", "G61 M4 S0", 1)
	if err := walk(one, two); err != nil {
		t.Fatal(err)
	}
	second := strings.LastIndex(two, "G21 G90 M5")
	for _, c := range []struct{ was, is, want string }{
		{"G1 Y55 S500", "G1 Y55.01 S500", "part.gcode:5:1: at place 2"},
		{"G1 Y55 S500", "G1 Y55 S499", "power 499 instead of 500"},
		{"F3000", "F2999", "feed 2999 instead of 3000"},
		{"I-5 J0", "I-5.2 J0.2", "part.gcode:6:1"},
		{"G2 X90", "G3 X90", "part.gcode:6:1"},
		{"G1 X70", "G0 X70", "part.gcode:7:1: at place 2 this does something else than by itself: it is another motion"},
		{"G1 X70\n", "G1 X80\nG1 X70\n", "part.gcode:7:1"},
		{"G1 X70\n", "", "part.gcode:7:1"},
		{"G4 P0.5", "G4 P0.6", "it waits 0.6 s instead of 0.5"},
		{"M0\n", "", "part.gcode:9:1"},
		{"G64\n", "", "under another path mode"},
		{"M8", "", "the coolant is on or off"},
		{"M123", "M124", "it says M124 instead of M123"},
		{"G0 Z0\n", "", "part.gcode:4:1"},
		{"G0 Z0\n", "G0 Z0.1\n", "Z 0.1 instead of 0"},
		{"M4 S0", "M3 S0", "the power follows speed otherwise"},
		{"G0 X95 Y5\nG61 M4", "M3 S9\nG0 X90 Y5\nG61 M4", "part.gcode:3:1"},
		{"M5\nG0 Z2\n", "M5\nG0 Z2\nG0 X1\n", "the program of all parts goes on behind the last"},
		{"G0 X95 Y5\nG61", "G1 X95 Y5\nG61", "part.gcode:3:1"},
		{"G21 G90 M5", "G20 G90 M5", "part.gcode:3:1"},
	} {
		k := strings.Index(two[second:], c.was)
		if k < 0 {
			t.Fatalf("no %q", c.was)
		}
		made := two[:second] + strings.Replace(two[second:], c.was, c.is, 1)
		err := walk(one, made)
		if err == nil || !strings.Contains(err.Error(), c.want) || !diag.Is(err, diag.Unsupported) {
			t.Errorf("%q for %q: %v, not %s", c.is, c.was, err, c.want)
		}
	}
	if err := walk(one, two[:second]); err == nil || !strings.Contains(err.Error(), "it is missing there") {
		t.Errorf("a part that is missing: %v", err)
	}
}
