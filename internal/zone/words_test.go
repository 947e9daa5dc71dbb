package zone

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"sagitta/internal/bench"
)

// splitText splits a program over a surface and gives the programs by order.
func splitText(t *testing.T, text string, opt Options) ([]string, *Plan) {
	t.Helper()
	dir := t.TempDir()
	plan, err := Survey(strings.NewReader(text), opt)
	if err != nil {
		t.Fatal(err)
	}
	if err := plan.Split(strings.NewReader(text), dir); err != nil {
		t.Fatal(err)
	}
	var out []string
	for _, z := range plan.Zones {
		b, err := os.ReadFile(filepath.Join(dir, z.Program))
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, string(b))
	}
	return out, plan
}

// What a piece needs is in force where it is entered: units, distance mode,
// feed, power, air; comments, pauses and unknown words go with the burn behind
// them, once.
func TestWordsAndModesAreRestored(t *testing.T) {
	p := stock(t, 100, 50, "", func(x, y float64) float64 { return 0.02 * x })
	text := `%
(head)
G21 G90 M7
G0 X0 Y10 Z5
Z0
M3 S100
M106
G1 X10 F600
(right side)
M5
G0 Z5
G0 X80 Y10
M0
Z0
G91 M9
M8
M3 S200
G1 X5 F700
X5
M5
G4 P1.5
G0 X-85
M3
G1 X2 Y0.5
Y1
M5
G90 Z5
G0 X0 Y0
M30
`
	got, plan := splitText(t, text, options(p, 0.6))
	want := []string{`%
(head)
G21 G90 M7
G0 X0 Y10 Z5
Z0
(sagitta x split y)
M106
(right side)
M0
M5
M9
M8
G0 Z5
G0 X80 Y10
G0 Z0
G91
G1 X5 F700 S200 M3
X5
M5
M5
G90 Z5
G0 X0 Y0
M30
`, `%
(head)
G21 G90 M7
G0 X0 Y10 Z5
Z0
M3 S100
M106
G1 X10 F600
(sagitta x split y)
M5
G4 P1.5
M9
M8
G0 Z5
G0 X5 Y10
G0 Z0
G91
G1 X2 Y0.5 F700 S200 M3
Y1
M5
G90 Z5
G0 X0 Y0
M30
`}
	for i := range want {
		if got[i] != want[i] {
			t.Errorf("zone %d is\n%s\ninstead of\n%s", plan.Zones[i].Order, got[i], want[i])
		}
	}
	if len(got) != len(want) {
		t.Errorf("%d programs", len(got))
	}
}

// Without comments in the profile none is added.
func TestNoCommentsAreAdded(t *testing.T) {
	p := stock(t, 100, 50, "", func(x, y float64) float64 { return 0.02 * x })
	opt := options(p, 0.6)
	opt.Comments, opt.Pause, opt.ZMoves = false, true, bench.ByHand
	got, _ := splitText(t, "G21 G90\nM5\nG0 X0 Y0\nM4 S1\nG1 X99 F100\nM5\n", opt)
	if strings.ContainsAny(got[0], "(;") || !strings.Contains(got[0], "M0") {
		t.Error(got[0])
	}
}
