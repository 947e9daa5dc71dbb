package zone_test

import (
	"fmt"
	"math"
	"os"
	"strings"
	"testing"

	"sagitta/internal/bench"
	"sagitta/internal/focus"
	"sagitta/internal/machine"
	"sagitta/internal/rewrite"
	"sagitta/internal/surface/surfacetest"
	"sagitta/internal/zone"
)

// plate is a raster of rows over 10 to 110 mm, to and fro, with white in it and run-ins
// at power 0, which an outline then cuts out.
func plate(rows int) string {
	var b strings.Builder
	b.WriteString("G21 G90\nG0 X5 Y10\nM4 S0\nF3000\n")
	for r := range rows {
		way, y := 1.0, 10+0.4*float64(r)
		if r%2 == 1 {
			way = -1
		}
		x := 60 - 50*way
		fmt.Fprintf(&b, "G0 X%g Y%.1f\nG1 X%g S0\n", x-3*way, y, x)
		for k := range 200 {
			x += 0.5 * way
			power := 200 + (k*7+r*3)%90
			if k > 40 && k < 50 {
				power = 0
			}
			fmt.Fprintf(&b, "G1 X%g S%d\n", x, power)
		}
		fmt.Fprintf(&b, "G1 X%g S0\n", x+3*way)
	}
	b.WriteString("M5\nG0 X8 Y5\nM3 S900\nG1 X112 F600\nG1 Y45\nG1 X8\nG1 Y5\nM5\nG0 X0 Y0\nM2\n")
	return b.String()
}

// crown is a bench moved by hand, and stock that is a part of a cylinder.
func crown(t *testing.T) zone.Options {
	var x []float64
	for v := 0.0; v <= 120; v += 2 {
		x = append(x, v)
	}
	opt := zone.Options{
		Options: rewrite.Options{Name: "plate.gcode", Bench: bench.Bench{Machine: machine.DefaultConfig(), ZMoves: bench.ByHand, ZPlusAway: true, DecimalsMM: 3, DecimalsInch: 5}, Comments: true},
		Surface: surfacetest.Of(t, "", x, []float64{0, 50, 100}, func(x, y float64) float64 { return math.Sqrt(80*80-(x-60)*(x-60)) - 80 }),
		Lenses:  []zone.Lens{{Name: "short", Depth: focus.Depth{Near: 1.5, Far: 1.5}}},
	}
	return opt
}

// A raster of 75 rows over a crown is burned on one side first and then on the other, so
// that by hand the lens is raised once to cross; and nothing is cut out before all that
// it encloses is burned, though zones are set twice for that.
func TestCrownIsBurnedOneSideAtATime(t *testing.T) {
	text := plate(75)
	opt := crown(t)
	most := map[bool]int{}
	for _, opt.Original = range []bool{false, true} {
		p, err := zone.Survey(strings.NewReader(text), opt)
		if err != nil {
			t.Fatal(err)
		}
		zones := len(p.Zones)
		dir := folder(t)
		defer os.RemoveAll(dir)
		if err := p.Split(strings.NewReader(text), dir); err != nil {
			t.Fatal(err)
		}
		if res := proveSet(t, dir, text, opt); !res.Holds() {
			t.Fatalf("does not hold:\n%s", complaints(res))
		}
		if p.Original != opt.Original || opt.Original && len(p.Zones) != zones || !opt.Original && len(p.Zones) != 2*zones-1 {
			t.Errorf("original %t: %d zones are set %d times", opt.Original, zones, len(p.Zones))
		}
		cut, words := false, 0
		for _, f := range programs(t, dir) {
			most[opt.Original] = max(most[opt.Original], strings.Count(f, "M0\n"))
			words += strings.Count(f, "M4")
			at := strings.Index(f, "S900") // the outline's power
			if burns := strings.LastIndex(f, "S289"); !opt.Original && burns >= 0 && (cut || at >= 0 && at < burns) {
				t.Errorf("a row is burned behind a part of the outline")
			}
			cut = cut || at >= 0
		}
		if waits := strings.Count(strings.Join(programs(t, dir), ""), "M0\n"); !opt.Original && words > len(p.Zones)+waits {
			t.Errorf("the word that puts the beam on stands %d times in %d programs", words, len(p.Zones))
		}
	}
	if most[false] > 6 || most[true] < 70 {
		t.Errorf("at most %d waits in a zone, and %d in the original's order", most[false], most[true])
	}
}

// How far the path may be left is said in the units in which it was, whatever they are
// where a zone begins.
func TestPathControlKeepsItsUnits(t *testing.T) {
	for _, text := range []string{
		"G21 G90\nM5\nG0 X10 Y10\nM4 S300\nG1 X110 F3000\nM5\nG64 P0.01\nG20\nG0 X0.5 Y1\nM4\nG1 X4 F100\nM5\nM2\n",
		"G20 G90\nM5\nG0 X0.5 Y1\nM4 S300\nG1 X4 F100\nM5\nG64 P0.01\nG21\nG0 X10 Y10\nM4\nG1 X110 F3000\nM5\nM2\n",
	} {
		opt, dir := crown(t), folder(t)
		defer os.RemoveAll(dir)
		p, err := zone.Survey(strings.NewReader(text), opt)
		if err == nil {
			err = p.Split(strings.NewReader(text), dir)
		}
		if err != nil {
			t.Fatal(err)
		}
		if res := proveSet(t, dir, text, opt); !res.Holds() {
			t.Errorf("does not hold:\n%s%s", complaints(res), text)
		}
	}
}
