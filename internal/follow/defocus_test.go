package follow

import (
	"math"
	"testing"
)

// A program in G91 that is run twice must not end higher each time.
func TestRelativeProgramEndsWhereItBegan(t *testing.T) {
	const relative = "G21 G90 M5\nG0 X10 Y50\nG91\nM4 S500\nG1 X100 F2000\nM5\nG0 Z5\nG0 X-50\nG0 Z-5\n"
	const absolute = "G21 G90 M5\nG0 X10 Y50\nM4 S500\nG1 X110 F2000\nM5\nG0 Z5\nG0 X60\nG0 Z0\n"
	for _, c := range []struct {
		text         string
		defocus, end float64
		above        float64
	}{
		{relative, 0.6, 0, 0}, {relative, -0.6, 0, 0}, {absolute, 0.6, 0.6, 0}, {absolute, -0.6, -0.6, 0},
		// Beyond the depth the lens would come too close at its best focus.
		{relative, 2, 0.5, 0.5},
	} {
		opt := testOptions(flatSheet(t), 1.5, 1.5, 0.5)
		opt.Defocus = c.defocus
		got, sum := mustRun(t, c.text, opt)
		ms := moves(t, got, opt.Machine)
		burned := false
		for _, m := range ms {
			if m.Burn {
				burned = true
				if math.Abs(m.To.Z-c.defocus) > 0.75 {
					t.Errorf("defocus %v: burns at Z%v", c.defocus, m.To.Z)
				}
			}
		}
		if end := ms[len(ms)-1].To.Z; !burned || math.Abs(end-c.end) > 1e-6 || math.Abs(sum.EndAbove-c.above) > 1e-6 {
			t.Errorf("defocus %v: ends at Z%v, want %v; %v off rest, want %v\n%s", c.defocus, end, c.end, sum.EndAbove, c.above, got)
		}
	}
}
