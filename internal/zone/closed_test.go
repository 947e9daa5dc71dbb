package zone

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"sagitta/internal/bench"
	"sagitta/internal/diag"
	"sagitta/internal/focus"
	"sagitta/internal/machine"
	"sagitta/internal/rewrite"
	"sagitta/internal/surface"
	"sagitta/internal/surface/surfacetest"
)

// stock places a surface of nodes step apart over 0 to size, with these
// heights.
func stock(t testing.TB, size, step float64, method string, h func(x, y float64) float64) *surface.Placed {
	t.Helper()
	var x []float64
	for v := 0.0; v <= size; v += step {
		x = append(x, v)
	}
	return surfacetest.Of(t, method, x, x, h)
}

func options(p *surface.Placed, depth ...float64) Options {
	o := Options{Options: rewrite.Options{Name: "job.gcode", Bench: bench.Bench{Machine: machine.DefaultConfig(), ZPlusAway: true, DecimalsMM: 3, DecimalsInch: 5},
		Comments: true, Marker: "sagitta x split y"}, Surface: p}
	for i, d := range depth {
		o.Lenses = append(o.Lenses, Lens{Name: fmt.Sprintf("lens%d", i+1), Depth: focus.Depth{Near: d, Far: d}})
	}
	return o
}

// sideBySide burns rows along x from 0 to size.
func sideBySide(size float64, n int) string {
	var b strings.Builder
	b.WriteString("G21 G90\nM5\nG0 X0 Y0\nF1000\n")
	for k := range n {
		y := size * float64(k) / float64(n-1)
		fmt.Fprintf(&b, "G0 X0 Y%.3f\nM4 S500\nG1 X%.3f\nM5\n", y, size)
	}
	b.WriteString("M2\n")
	return b.String()
}

// On a plane whose slope is g a burned square of side a has heights over
// g·a·√2 along the slope, or g·a along a side: the fewest zones are that over
// the depth's width, rounded up.
func TestPlaneNeedsRangeOverWidth(t *testing.T) {
	for _, c := range []struct{ gx, gy, half float64 }{
		{0.02, 0, 0.49}, {0.02, 0, 0.51}, {0.02, 0, 0.3}, {0.02, 0.01, 0.4}, {-0.05, 0.03, 0.27}, {0.1, 0, 0.7}, {0.001, 0, 1}, {0.1, 0.1, 0.112},
	} {
		const size = 100
		p := stock(t, size, 10, "", func(x, y float64) float64 { return c.gx*x + c.gy*y })
		plan, err := Survey(strings.NewReader(sideBySide(size, 5)), options(p, c.half))
		if err != nil {
			t.Fatal(err)
		}
		height := (math.Abs(c.gx) + math.Abs(c.gy)) * size
		want := int(math.Ceil(height / (2 * c.half)))
		if got := len(plan.Zones); got != want {
			t.Errorf("%+v: %d zones for %g mm in %g, want %d", c, got, height, 2*c.half, want)
		}
		if math.Abs(plan.High-plan.Low-height) > 1e-6 {
			t.Errorf("%+v: heights over %g mm, want %g", c, plan.High-plan.Low, height)
		}
	}
}

// The sagitta of an arc of radius R over a chord c is R − √(R² − c²/4): plane
// geometry. R 100, c 50 gives 3.175416345; R 500, c 300 gives 23.030399292.
func TestCylinderNeedsSagittaOverWidth(t *testing.T) {
	for _, c := range []struct{ r, chord, sagitta float64 }{{100, 50, 3.175416345}, {500, 300, 23.030399292}} {
		if s := c.r - math.Sqrt(c.r*c.r-c.chord*c.chord/4); math.Abs(s-c.sagitta) > 1e-8 {
			t.Fatalf("sagitta %g", s)
		}
		p := stock(t, c.chord, c.chord/100, "", func(x, y float64) float64 {
			d := x - c.chord/2
			return math.Sqrt(c.r*c.r-d*d) - c.r
		})
		for _, parts := range []float64{0.9, 1.1, 2.5, 3.9, 4.2, 10.5} {
			half := c.sagitta / parts / 2
			plan, err := Survey(strings.NewReader(sideBySide(c.chord, 3)), options(p, half))
			if err != nil {
				t.Fatal(err)
			}
			if got, want := len(plan.Zones), int(math.Ceil(parts)); got != want {
				t.Errorf("R %g, chord %g, depth %g: %d zones, want %d", c.r, c.chord, 2*half, got, want)
			}
		}
	}
}

// Zones share what they have too much: neighbours overlap by the same amount,
// so that no seam is at the edge of what is sharp.
func TestZonesOverlapEvenly(t *testing.T) {
	p := stock(t, 100, 10, "", func(x, y float64) float64 { return 0.025 * x })
	plan, err := Survey(strings.NewReader(sideBySide(100, 3)), options(p, 0.5))
	if err != nil || len(plan.Zones) != 3 {
		t.Fatalf("%v, %v", plan, err)
	}
	a, b, c := plan.Zones[0].Band, plan.Zones[1].Band, plan.Zones[2].Band
	if over, next := a.Hi-b.Lo, b.Hi-c.Lo; math.Abs(over-0.25) > 0.01 || math.Abs(next-0.25) > 0.01 {
		t.Errorf("overlaps of %g and %g, want 0.25: %v %v %v", over, next, a, b, c)
	}
	if err := plan.Split(strings.NewReader(sideBySide(100, 3)), t.TempDir()); err != nil {
		t.Fatal(err)
	}
	for i, z := range plan.Zones {
		if i > 0 && z.Band.Lo > plan.Zones[i-1].Band.Lo {
			t.Errorf("zone %d is higher than the one before: the highest comes first", i)
		}
		h, where := p.At(z.Point.X, z.Point.Y)
		if where != surface.On || math.Abs(h-z.Focus) > 0.001 || math.Abs(z.Point.Height-h) > 1e-9 {
			t.Errorf("zone %d: focus %g, the point is %g high", i, z.Focus, h)
		}
	}
}

// A figure that fits either zone as a whole is not cut.
func TestFiguresStayWhole(t *testing.T) {
	p := stock(t, 100, 10, "", func(x, y float64) float64 { return 0.02 * x })
	var b strings.Builder
	b.WriteString("G21 G90\nM5\nG0 X0 Y0\nF1000\n")
	// A frame's worth of travel to both ends, and letters of 4 mm between.
	for x := 0.0; x <= 96; x += 4.8 {
		fmt.Fprintf(&b, "G0 X%.3f Y50\nM4 S500\nG1 X%.3f Y54\nX%.3f Y50\nX%.3f Y52\nX%.3f\nM5\n", x, x+2, x+4, x+3, x+1)
	}
	b.WriteString("M2\n")
	plan, err := Survey(strings.NewReader(b.String()), options(p, 0.6))
	if err != nil {
		t.Fatal(err)
	}
	if err := plan.Split(strings.NewReader(b.String()), t.TempDir()); err != nil {
		t.Fatal(err)
	}
	if len(plan.Zones) != 2 || plan.Cuts != 0 || plan.JointChanges != 0 || plan.CutBurns != 0 {
		t.Errorf("%d zones, %d cuts, %d other changes", len(plan.Zones), plan.Cuts, plan.JointChanges)
	}
	for _, z := range plan.Zones {
		if z.Pieces != 1 {
			t.Errorf("zone %d in %d pieces: the path flips between zones", z.Order, z.Pieces)
		}
	}
}

func TestRefused(t *testing.T) {
	slope := stock(t, 100, 10, "", func(x, y float64) float64 { return 0.1 * x })
	for _, c := range []struct {
		name, text string
		half       float64
		want       string
	}{
		{"no burn", "G21\nM5\nG0 X1 Y1\nM2\n", 1, "job.gcode: nothing burns in this program"},
		{"too many", sideBySide(100, 2), 0.002, "job.gcode: lens lens1, with 0.004 mm of usable depth for heights from 0.000 to 10.000 mm, would need"},
		{"off", "G21\nM4 S1\nG0 X1 Y1\nG1 X120 F100\n", 1, "job.gcode:4: a burn leaves the surface, from X1.000 Y1.000"},
	} {
		_, err := Survey(strings.NewReader(c.text), options(slope, c.half))
		if err == nil || !strings.HasPrefix(err.Error(), c.want) {
			t.Errorf("%s: %v", c.name, err)
		}
	}
	_, err := Survey(strings.NewReader("G21\n(sagitta 1 split x)\nG1 X1 F1\n"), options(slope, 1))
	if diag.As(err).Caret() == "" {
		t.Errorf("a program that was split before: %v", err)
	}
}

// One burn over a bent strip is cut in the fewest places that its zones allow:
// as many as a search over finely sampled heights finds, for zones a little
// wider and a little narrower.
func TestCutsAreFewest(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		const size, step = 100.0, 10.0
		heights := map[float64]float64{}
		for x := 0.0; x <= size; x += step {
			heights[x] = rapid.Float64Range(-1, 1).Draw(rt, "height")
		}
		p := stock(t, size, step, "", func(x, y float64) float64 { return heights[x] })
		text := "G21 G90\nM5\nG0 X0 Y50\nM4 S1\nG1 X100 F1000\nM5\n"
		opt := options(p, rapid.Float64Range(0.15, 0.6).Draw(rt, "depth"))
		plan, err := Survey(strings.NewReader(text), opt)
		if err != nil {
			rt.Fatal(err)
		}
		if err := plan.Split(strings.NewReader(text), t.TempDir()); err != nil {
			rt.Fatal(err)
		}
		if plan.extra != 0 {
			rt.Fatalf("zones were made narrower by %g", plan.extra)
		}
		fewest := func(more float64) int {
			least := make([]int, len(plan.Zones))
			for i := range 20_001 {
				h, _ := p.At(size*float64(i)/20_000, 50)
				best := math.MaxInt / 2
				for _, n := range least {
					best = min(best, n)
				}
				for k, z := range plan.Zones {
					switch {
					case h < z.Band.Lo-more || h > z.Band.Hi+more:
						least[k] = math.MaxInt / 2
					case i > 0:
						least[k] = min(least[k], best+1)
					}
				}
			}
			best := math.MaxInt / 2
			for _, n := range least {
				best = min(best, n)
			}
			return best
		}
		if wide, narrow := fewest(0.002), fewest(-0.001); plan.Cuts < wide || plan.Cuts > narrow {
			rt.Fatalf("%d cuts, %d to %d would do", plan.Cuts, wide, narrow)
		}
	})
}

// By hand the focus comes in whole divisions of the crank, where that costs no
// zone.
func TestFocusInDivisions(t *testing.T) {
	p := stock(t, 100, 10, "", func(x, y float64) float64 { return 0.027*x + 0.3 })
	for _, c := range []struct {
		crank float64
		whole bool
	}{{0.05, true}, {0.1, true}, {0.7, false}} {
		opt := options(p, 0.6)
		opt.ZMoves, opt.Turn.DivisionMM = bench.ByHand, c.crank
		plan, err := Survey(strings.NewReader(sideBySide(100, 3)), opt)
		if err != nil || len(plan.Zones) != 3 {
			t.Fatalf("%v, %v", plan, err)
		}
		whole := true
		for _, z := range plan.Zones {
			whole = whole && math.Abs(z.Focus/c.crank-math.Round(z.Focus/c.crank)) < 1e-6
		}
		if whole != c.whole {
			t.Errorf("divisions of %g: %+v", c.crank, plan.Zones)
		}
		if err := plan.Split(strings.NewReader(sideBySide(100, 3)), t.TempDir()); err != nil || plan.extra != 0 {
			t.Errorf("divisions of %g: %v, narrower by %g", c.crank, err, plan.extra)
		}
	}
}

// However long nothing moves within a figure, it is one, and those behind it are
// given their own lenses.
func TestLongPausesAreWithinFigures(t *testing.T) {
	const size = 100
	p := stock(t, size, 10, "", func(x, _ float64) float64 { return 0.1 * x })
	pause := strings.Repeat("(a block without motion)\n", mostQueue+10)
	text := "G21 G90\nM5\nG0 X0 Y0\nM4 S500\nG1 X2 F1000\n" + pause + "G1 Y2\n" + pause + "G1 X0\n"
	for y := 10; y <= 90; y += 20 { // one for the deep lens, one for the other
		text += fmt.Sprintf("M5\nG0 X20 Y%d\nM4\nG1 X60\nM5\nG0 X40 Y%d\nM4\nG1 X44\n", y, y+5)
	}
	plan, err := Survey(strings.NewReader(text+"M5\n"), options(p, 0.5, 3))
	if err == nil {
		err = plan.Split(strings.NewReader(text+"M5\n"), t.TempDir())
	}
	if err != nil || plan.Lenses[0].Figures != 6 || plan.Lenses[1].Figures != 5 || plan.Cuts != 0 {
		t.Errorf("%+v: %v", plan, err)
	}
}

// A program that somebody writes anew meanwhile, with more figures, does not end in
// a panic.
func TestProgramThatChangesMeanwhile(t *testing.T) {
	p := stock(t, 100, 10, "", func(x, _ float64) float64 { return 0.02 * x })
	const figure = "M5\nG0 X20\nM4\nG1 X30\n"
	text := "G21 G90\nM5\nG0 X0 Y0\nM4 S500\nG1 X2 F1000\n(here)" + figure
	plan, err := Survey(strings.NewReader(strings.Replace(text, "(here)", "\n\n\n\n\n\n\n\n", 1)), options(p, 3))
	if err == nil {
		err = plan.Split(strings.NewReader(strings.Replace(text, "(here)", figure+figure, 1)), t.TempDir())
	}
	if err != nil {
		t.Error(err)
	}
}

// Zones cannot be followed within where the program's own Z would be part of it.
func TestLevelsToFollowWithin(t *testing.T) {
	p := stock(t, 100, 10, "", func(x, _ float64) float64 { return 0.02 * x })
	for _, c := range []struct{ program, want string }{
		{"M5\nG0 X0 Y0\nM4 S500\nG1 X9 F1000\nM5\nG0 Z1\nM4\nG1 Y9\nM5\n", "job.gcode:8: burns are programmed at different Z"},
		{"M5\nG0 X0 Y0\nM4 S500\nG1 X9 Z1 F1000\nM5\n", "job.gcode:4: burns are programmed at different Z"},
		{"M5\nG0 X0 Y0\nM4 S500\nG1 X9 F1000\nM5\nG0 Y5 Z-0.5\nG0 Z0\n", "job.gcode: a travel is programmed 0.500 mm lower than the burns"},
		{"M5\nG0 X0 Y0 Z-2\nG0 X5 Z0\nM4 S500\nG1 X9 F1000\nM5\n", "job.gcode: a travel is programmed 2.000 mm lower than the burns"},
		{"M5\nG0 X0 Y0 Z-2\nG0 Z0\nM4 S500\nG1 X9 F1000\nM5\nG0 Z9\n", "job.gcode: a travel is programmed 2.000 mm lower than the burns"},
	} {
		opt := options(p, 0.3)
		opt.KeepRamps, opt.Within = true, &Within{Wider: 1}
		if _, err := Survey(strings.NewReader(c.program), opt); err == nil || !strings.HasPrefix(err.Error(), c.want) {
			t.Errorf("%q: %v, want %q", c.program, err, c.want)
		}
	}
}
