package verify

import (
	"slices"
	"strings"
	"testing"

	"sagitta/internal/bench"
	"sagitta/internal/focus"
	"sagitta/internal/machine"
	"sagitta/internal/surface/surfacetest"
)

// litNotes are the notes of a check that say what is done with the beam on.
func litNotes(t *testing.T, text, against string) (notes []string, holds bool) {
	t.Helper()
	axis := []float64{0, 100}
	opt := Options{Bench: bench.Bench{Machine: machine.DefaultConfig(), ZPlusAway: true, DecimalsMM: 3, DecimalsInch: 5}, Depth: focus.Depth{Near: 1, Far: 1},
		Surface: surfacetest.Of(t, "", axis, axis, func(float64, float64) float64 { return 0 })}
	var r *Result
	var err error
	if against == "" {
		r, err = Run(strings.NewReader(text), "x", nil, "", opt)
	} else {
		r, err = Run(strings.NewReader(text), "x", strings.NewReader(against), "y", opt)
	}
	if err != nil {
		t.Fatal(err)
	}
	for _, n := range r.Notes {
		if strings.Contains(n, "with the beam on") {
			notes = append(notes, n)
		}
	}
	return notes, r.Holds()
}

// What an original does itself with the beam on is noted once and is no failure; what
// was added to one that does not is, and each waits, travels or ends.
func TestWhatIsLitIsNoted(t *testing.T) {
	const dark = "G21 G90\nM3 S0\nG0 X1 Y1\nG1 X50 F1000 S500\nS0\nM0\nG0 X1\n"
	for _, c := range []struct {
		lit  string // in place of "S0\nM0\nG0 X1\n"
		want []string
	}{
		{"S0\nM0\nG0 X1\n", nil},
		{"M0\nS0\nG0 X1\n", []string{"waits with the beam on, 1 time in all, first on its line 5"}},
		{"M6 T1\nM1\nS0\nG0 X1\n", []string{"waits with the beam on, 2 times in all, first on its line 5"}},
		{"G0 X1\nG0 Z5\nM5\n", []string{"travels with the beam on, 2 times in all, first on its line 5"}},
		{"G28\nM5\n", []string{"travels with the beam on, 1 time in all, first on its line 5"}},
		{"G4 P1\n", []string{"ends with the beam on, at its line 5"}}, // a dwell burns
		{"G4 P1\nM2\n", nil},
		{"M30\nG0 X1\n", nil},
	} {
		lit := strings.Replace(dark, "S0\nM0\nG0 X1\n", c.lit, 1)
		for against, name := range map[string]string{lit: "the original itself ", "": "the program itself "} {
			got, holds := litNotes(t, lit, against)
			var want []string
			for _, w := range c.want {
				want = append(want, name+w)
			}
			if !slices.Equal(got, want) || !holds {
				t.Errorf("%q: %q (holds %v), want %q", c.lit, got, holds, want)
			}
		}
		if c.lit == "S0\nM0\nG0 X1\n" {
			continue
		}
		if _, holds := litNotes(t, lit, dark); holds {
			t.Errorf("%q holds against one that is dark", c.lit)
		}
	}
	for _, added := range []string{"M0\nS0\nM0", "G0 Z1\nG0 Z0\nS0\nM0", "G0 X50.01\nG0 X50\nS0\nM0", "S0\nM0\nM3 S1\nG0 Z1\nG0 Z0\nS0"} {
		if _, holds := litNotes(t, strings.Replace(dark, "S0\nM0", added, 1), dark); holds {
			t.Errorf("%q holds", added)
		}
	}
	if _, holds := litNotes(t, dark+"S9\n", dark); holds {
		t.Error("an end with the beam on holds")
	}
}
