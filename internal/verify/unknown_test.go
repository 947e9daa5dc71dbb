package verify

import (
	"strings"
	"testing"
)

// A job on the slope that sends axes away between its burns, and the same with
// the corrections.
const (
	sent = `M5
G0 X0 Y0
G92 X5 Z2
M3 S5
G1 X7 F600
M5
G28 Z3
G30 X1 Y1
G0 X25 Y0
G0 Z2
G53 G0 Y4
G0 Y0
M3
G1 X22
M5
G28
M2
`
	sentFollowed = `M5
G0 X0 Y0
G92 X5 Z2
M3 S5
G1 X7 Z2.2 F600
M5
G28 Z3
G30 X1 Y1
G0 X25 Y0
G0 Z4
G53 G0 Y4
G0 Y0 Z3.8
M3
G1 X22 Z3.7
M5
G28
M2
`
)

func TestAxesThatAreSentAway(t *testing.T) {
	opt := options(slope(t), 0.3, 0.3)
	r := run(t, sentFollowed, sent, opt)
	holds(t, r)
	if r.Burns != 2 || r.ZMaxMM != 2 {
		t.Errorf("%d burns, Z up to %g, want 2 up to 2", r.Burns, r.ZMaxMM)
	}
	for _, c := range []struct {
		old, new string
		kind     Kind
	}{
		{"G28 Z3\n", "", Missing},
		{"G28 Z3\n", "G30 Z3\n", Missing},
		{"G28 Z3\n", "G28 Z4\n", Missing},
		{"G28 Z3\n", "G28 Z3\nG28 Z3\nG28 X3\n", Added},
		{"G30 X1 Y1\n", "G30 X1 Y2\n", Missing},
		{"G53 G0 Y4\n", "G53 G0 Y5\n", Missing},
		{"G0 Z4\n", "G0 Z3.4\n", NotClear},
		{"G0 Y0 Z3.8\n", "G0 Y0 Z4.4\n", TooFar},
		{"G0 Y0 Z3.8\n", "G0 Y0 Z3.3\n", NotClear},
		{"G92 X5 Z2\n", "G92 X5 Z2.5\n", TooNear},
		{"G28\nM2", "G28\nM2\nG90.1", EndDiffers},
		{"G28\nM2", "G28\nM2\nG92.3", EndDiffers},
		{"G28\nM2", "G28\nM2\nG0 X0", EndDiffers},
	} {
		changed := strings.Replace(sentFollowed, c.old, c.new, 1)
		if changed == sentFollowed {
			t.Fatalf("%q is not there", c.old)
		}
		r := run(t, changed, sent, opt)
		found := false
		for _, f := range r.Failures {
			found = found || f.Kind == c.kind
		}
		if !found {
			t.Errorf("%q for %q: %v", c.new, c.old, r.Failures)
		}
	}
}
