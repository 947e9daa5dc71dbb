package follow

import (
	"strings"
	"testing"

	"sagitta/internal/bench"
)

// Between burns whose heights are further apart than the depth, c changes
// where nothing is known of the way: the block that says the place again has
// the Z for it, and no other block of the way is touched.
func TestUnknownWaysLetTheFocusChange(t *testing.T) {
	p := grid(t, 300, 20, 10, "", func(x, y float64) float64 { return x / 50 })
	opt := testOptions(p, 0.5, 0.5, 0.5)
	for _, c := range []struct {
		name, way string
		fixed     string // how the block that fixes the last axis is written
	}{
		{"Z", "G28 Z9\nG0 X255\nG0 Z2", "G0 Z6.8"},
		{"XY", "G91 G30 X0 Y0\nG90\nG0 X255 Y5", "G0 X255 Y5 Z4.8"},
		{"all", "G28\nG0 X255\nY5\nG0 Z2", "G0 Z6.8"},
		{"Z first", "G28\nG0 Z2\nG0 X255 Y5", "G0 X255 Y5 Z6.8"},
		{"machine", "G53 G0 X0 Z0\nG0 X255 Z1", "G0 X255 Z5.8"},
	} {
		for _, window := range []int{0, 8} {
			for _, rate := range []float64{0, 0.01} {
				opt.Window, opt.ZRate, opt.Slow, opt.Slowest = window, rate, bench.SlowBurns, 0.01
				text := "M5\nG0 X10 Y5\nM4 S9\nG1 X20 F600\nM5\n" + c.way + "\nM4\nG1 X256\nM5\n"
				out, _, err := run(t, text, opt)
				if err != nil {
					t.Errorf("%s: %v", c.name, err)
					continue
				}
				if !strings.Contains(out, "\n"+c.fixed) {
					t.Errorf("%s: no %q in\n%s", c.name, c.fixed, out)
				}
				for _, line := range strings.Split(c.way, "\n")[:strings.Count(c.way, "\n")] {
					if c.name != "Z first" && !strings.Contains(out, line+"\n") {
						t.Errorf("%s: %q is not in\n%s", c.name, line, out)
					}
				}
			}
		}
	}
}

// No block of Z alone stands where Z is unknown, before the first burn or
// after the last.
func TestNoZWhereZIsUnknown(t *testing.T) {
	p := grid(t, 300, 20, 10, "", func(x, y float64) float64 { return 3 })
	for _, text := range []string{
		"G28\nG0 X10 Y5\nG0 Z1\nM4 S9\nG1 X20 F600\nM5\nG28 Z5\n",
		"G28\nG0 X10 Y5\nM5\nG0 Z1\nM4 S9\nG1 X20 F600\nG28\nM5\nG0 X3 Y3\nM2\n",
		"G0 Z1\nG28 Z2\nG0 X10 Y5\nG0 Z1\nM4 S9\nG1 X20 F600\nG53 G0 Z0\nM5",
	} {
		out, sum := mustRun(t, text, testOptions(p, 1, 1, 0.5))
		want := strings.Replace(text, "G0 X10 Y5\nG0 Z1\n", "G0 X10 Y5\n(sagitta test follow --use)\nG0 Z3.55\n", 1)
		want = strings.Replace(want, "M5\nG0 Z1\n", "M5\n(sagitta test follow --use)\nG0 Z3.55\n", 1)
		if out != want || sum.EndAbove != 0 {
			t.Errorf("ends %g off rest\n%s\nwant\n%s", sum.EndAbove, out, want)
		}
	}
}

// G92 of the focus axis keeps the offset that the program means.
func TestOffsetOfZIsKept(t *testing.T) {
	p := grid(t, 300, 20, 10, "", func(x, y float64) float64 { return 3 })
	text := "M5\nG0 X10 Y5\nM4 S9\nG1 X20 F600\nG92 Z10.5 X0\nM5\nG0 Z12\nX5\nM4\nZ10.5\nG1 X9\nM5\n"
	out, _ := mustRun(t, text, testOptions(p, 1, 1, 0.5))
	for _, want := range []string{"\nG92 Z13.05 X0\n", "\nG0 Z14.55\n", "\nZ13.05\n"} {
		if !strings.Contains(out, want) {
			t.Errorf("no %q in\n%s", want, out)
		}
	}
	ms := moves(t, out, testOptions(p, 1, 1, 0.5).Machine)
	if z := ms[len(ms)-1].To; z.Z != 2.55 || z.X != 29 {
		t.Errorf("the last burn is at %v", z)
	}
}

// Lines of 0.1 mm at 6000 mm/min are a thousand a second, whether they are
// written as a chunk, with a Z each, or one by one as blocks.
func TestLinesOfARaster(t *testing.T) {
	for name, slope := range map[string]float64{"flat": 0, "slope": 0.05} {
		p := grid(t, 400, 20, 10, "", func(x, y float64) float64 { return slope * x })
		for _, eachLine := range []bool{false, true} {
			opt := testOptions(p, 1, 1, 0.5)
			if eachLine {
				ByBlock(&opt)
			}
			_, sum := mustRun(t, "G21 G90 M5\nG0 X10 Y5\nG91 M4 S9\nG1 X0.1 F6000\n"+strings.Repeat("X0.1\n", 3000)+"M5\n", opt)
			if sum.LinesPerS < 999 || sum.LinesPerS > 1012 {
				t.Errorf("%s: %g lines a second", name, sum.LinesPerS)
			}
		}
	}
}
