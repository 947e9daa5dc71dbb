package follow

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"sagitta/internal/machine"
)

// TestReversals counts the turns of Z over a roof that is crossed row by row,
// against those of the written Z.
func TestReversals(t *testing.T) {
	roof := grid(t, 100, 40, 10, "", func(x, _ float64) float64 { return 3 - math.Abs(x-50)/10 })
	var b strings.Builder
	b.WriteString("G21 G90\nG0 X1 Y1\nM4 S300 F2000\n")
	const rows = 8
	for i := range rows {
		x := 99
		if i%2 == 1 {
			x = 1
		}
		fmt.Fprintf(&b, "G1 X%d S300\nG1 Y%g S0\n", x, 1.5+float64(i)*0.5)
	}
	b.WriteString("M5\nG0 X1 Y1\n")
	for _, window := range []int{0, 8} { // in one go and bit by bit
		opt := testOptions(roof, 0.5, 0.5, 0.5)
		opt.Window = window
		out, sum := mustRun(t, b.String(), opt)
		turns, way, z, begun := 0, 0.0, 0.0, false
		for _, m := range moves(t, out, machine.DefaultConfig()) {
			begun = begun || m.Burn
			if d := m.To.Z - z; d != 0 && begun {
				if d*way < 0 {
					turns++
				}
				way = d
			}
			z = m.To.Z
		}
		// Up and down in each row, and between them.
		if sum.Reversals != turns || turns < 2*rows-1 {
			t.Errorf("window %d: %d reversals, %d in the program, %d rows", window, sum.Reversals, turns, rows)
		}
		if sum.Part > 0.5+1e-9 || sum.Part < 0.4 {
			t.Errorf("window %d: %g of the depth spent, of 0.5", window, sum.Part)
		}
	}
}

// Travels between burns are no burns, however the lines are gathered: neither
// their number nor the heights under them count, and a leg that leaves the
// surface changes nothing.
func TestGapsAreNoBurns(t *testing.T) {
	dip := func(x, y float64) float64 { return math.Abs(x-50)/25 - 2 }
	p := grid(t, 100, 100, 10, "", dip)
	for name, c := range map[string]struct {
		text      string
		burns     int
		length    float64
		low, high float64
	}{
		"gap over a dip":                  {"G0 X40 Y5\nM3 S9\nG1 F900 X41\nX49\nX49.5\nX50 S0\nX50.5\nX51 S9\nX55\nX60\nM5\n", 6, 19, -1.98, -1.6},
		"gap after a leg off the surface": {"G0 X-1 Y5\nM3 S9\nG1 F900 X-0.9\nX-0.5\nX0.5 S0\nY5.5\nY6 S9\nM5\n", 3, 1, -0.02, 0},
	} {
		opt := testOptions(p, 1.5, 1.5, 0.5)
		opt.OutsideHold = true
		_, sum := mustRun(t, c.text, opt)
		if sum.Burns != c.burns || math.Abs(sum.BurnLength-c.length) > 1e-9 || math.Abs(sum.Low.MM-c.low) > 1e-9 || math.Abs(sum.High.MM-c.high) > 1e-9 {
			t.Errorf("%s: %d burns, %g mm, from %g to %g; want %d, %g mm, from %g to %g", name,
				sum.Burns, sum.BurnLength, sum.Low.MM, sum.High.MM, c.burns, c.length, c.low, c.high)
		}
	}
}

// What fails counts once, in whatever order it is found.
func TestFailuresCountOnce(t *testing.T) {
	var f failures
	for k := range 90 {
		f.add(Failure{Line: k % 3, Kind: TooSteep, Amount: float64(k)})
		f.add(Failure{Line: k % 3, Kind: NoRoom, Amount: float64(-k)})
	}
	if f.Count != 6 || len(f.Failures) != 6 || f.Failures[0].Amount != 87 || f.Failures[1].Amount != 0 {
		t.Errorf("%d counted: %+v", f.Count, f.Failures)
	}
}
