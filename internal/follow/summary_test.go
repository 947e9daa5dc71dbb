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
		turns, way, z := 0, 0.0, 0.0
		for _, m := range moves(t, out, machine.DefaultConfig()) {
			if d := m.To.Z - z; d != 0 && m.Length > 0 {
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
