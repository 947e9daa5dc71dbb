package zone

import (
	"os"
	"path/filepath"
	"testing"
)

// Which unbroken burns begin or end below nine tenths of their feed follows from
// v² = 2 a s: at 100 mm/s and 500 mm/s² it takes 8.1 mm to come to 90 mm/s.
func TestPace(t *testing.T) {
	const in, row, out = "G0 X10 Y10\nM4 S0\nG1 X18.2 F6000\n", "X30 S500\nX40 S300\n", "X48.2 S0\n"
	for _, c := range []struct {
		name                      string
		text                      string
		stops                     bool
		unbroken, tooSlow, darker int
	}{
		{"run in and out", in + row + out + "M5\n", false, 1, 0, 0},
		{"too short a run-in", "G0 X10 Y10\nM4 S0\nG1 X18 F6000\n" + row + out, false, 1, 1, 0},
		{"too short a run-out", in + row + "X48 S0\nG0 X0\n", false, 1, 1, 0},
		{"none at all", "G0 X10 Y10\nM3 S500\nG1 X90 F6000\nM5\nG0 X0\n", false, 1, 1, 1},
		{"slow enough for none", "G0 X10 Y10\nM3 S500\nG1 X90 F6\nM5\nG0 X0\n", false, 1, 1, 1},
		{"slow with a bit", "G0 X10 Y10\nM3 S0\nG1 X10.1 F600\nX90 S500\nX90.1 S0\nM5\nG0 X0\n", false, 1, 0, 0},
		{"over white", in + row + "X41 S0\n" + "X60 S500\nX70 S0\nM5\n", false, 2, 0, 0},
		{"round a corner", "G0 X18 Y0\nM4 S0\nG1 Y10 F6000\n" + row + out, false, 1, 1, 0},
		{"burning round a corner", in + "X30 S500\nY30\nY39 S0\nM5\n", false, 1, 0, 0},
		{"ends in a corner", in + "X30 S500\nY39 S0\nM5\n", false, 1, 1, 0},
		{"askew", "G0 X10 Y10\nM4 S0\nG1 X14.1 Y14.1 F6000\nX40 Y40 S500\nX44.1 Y44.1 S0\n", false, 1, 0, 0},
		{"askew and too short", "G0 X10 Y10\nM4 S0\nG1 X13.9 Y13.9 F6000\nX40 Y40 S500\nX44.1 Y44.1 S0\n", false, 1, 1, 0},
		{"rapid straight ahead", "G0 X10 Y10\nM4 S0\nG0 X18.2\nG1 X30 S500 F6000\nX40 S0\n", false, 1, 1, 0},
		{"a beam word", "G0 X10 Y10\nM5\nG1 X18.2 F6000\nM4 S500\nX40\nM5\nX49\n", false, 1, 0, 0},
		{"a beam word that stops", "G0 X10 Y10\nM5\nG1 X18.2 F6000\nM4 S500\nX40\nM5\nX49\n", true, 1, 1, 0},
		{"a dwell", in + "G4 P1\nG1 X40 S500\n" + out, false, 1, 1, 0},
		{"back over the same", in + row + "X30 S0\n", false, 1, 1, 0},
		{"nothing", "G0 X10\n", false, 0, 0, 0},
	} {
		dir := t.TempDir()
		if err := os.WriteFile(filepath.Join(dir, "z.gcode"), []byte("G21 G90\n"+c.text+"M2\n"), 0o644); err != nil {
			t.Fatal(err)
		}
		opt := options(stock(t, 100, 50, "", func(x, y float64) float64 { return 0 }), 1)
		opt.Accel, opt.StopsAtBeam = 500, c.stops
		p := &Plan{opt: &opt}
		p.Zones = []Zone{{Program: "z.gcode"}}
		if err := paces(p, dir); err != nil {
			t.Fatal(err)
		}
		if z := &p.Zones[0]; !p.Paced || z.Unbroken != c.unbroken || z.TooSlow != c.tooSlow || z.Darker != c.darker {
			t.Errorf("%s: %d unbroken, %d too slow, %d darker, want %d, %d, %d", c.name, z.Unbroken, z.TooSlow, z.Darker, c.unbroken, c.tooSlow, c.darker)
		}
	}
}
