package verify

import (
	"fmt"
	"math"
	"testing"

	"sagitta/internal/bench"
	"sagitta/internal/surface"
	"sagitta/internal/surface/surfacetest"
	"sagitta/internal/verify/extremes"
)

// The tip over flat stock, beside a box: by what it is too low, to a
// micrometre, and where.
func TestTipBesideABox(t *testing.T) {
	flat := surfacetest.Of(t, "bilinear", []float64{0, 200}, []float64{0, 100}, func(x, y float64) float64 { return 0 })
	const program = "G21 G90 G0 X10 Y50 Z%g\nM3 S100 F600\nG1 X190\nM5\n"
	for _, c := range []struct{ apart, z, out float64 }{
		{8.001, 0, 0}, {8 - 1e-5, 0, 0.5}, {3, 0, 0.5}, {3, 0.5, 0}, {3, 0.499, 0.001}, {3, 0.49, 0.01},
	} {
		opt := options(flat, 1.5, 1.5)
		opt.Head = &bench.Head{Radius: 8, Standoff: 6, Gap: 1.5,
			Boxes: []surface.Box{{X0: 99, Y0: 50 + c.apart, X1: 101, Y1: 80, Height: 5}}}
		r := run(t, fmt.Sprintf(program, c.z), "", opt)
		if c.out == 0 {
			holds(t, r)
			continue
		}
		f := has(t, r, HeadClose)
		if math.Abs(f.Amount-c.out) > extremes.CertainMM || f.Line != 3 || math.Abs(f.X-100) > 9 || f.Y != 50 || f.Unproven {
			t.Errorf("%v mm apart at Z%v: %+v, want %v mm", c.apart, c.z, f, c.out)
		}
	}
}

// A head that is wider above its tip: what is lowest against any of its steps counts,
// over a box and over a step of the stock.
func TestHeadOfSteps(t *testing.T) {
	flat := surfacetest.Of(t, "bilinear", []float64{0, 200}, []float64{0, 100}, func(x, y float64) float64 { return 0 })
	bank := surfacetest.Of(t, "bilinear", []float64{0, 200}, []float64{0, 71, 71.001, 100}, func(x, y float64) float64 {
		if y > 71 {
			return 18
		}
		return 0
	})
	const program = "G21 G90 G0 X10 Y50 Z%g\nM3 S100 F600\nG1 X190\nM5\n"
	for _, c := range []struct {
		on                    *surface.Placed
		apart, height, z, out float64 // of a box beside the way
	}{
		{flat, 8.001, 11, 0, 0},        // within the first step alone: 6 + 7 - 11 = 2 are left
		{flat, 8.001, 12, 0, 0.5},      // 1 left of 1.5
		{flat, 8.001, 12, 0.5, 0},      //
		{flat, 7.9, 5, 0, 0.5},         // the tip asks for more
		{flat, 19.999, 12, 0, 0.5},     //
		{flat, 20.001, 12, 0, 0},       // within the second: 6 + 15 - 12
		{flat, 29.999, 20.25, 0, 0.75}, //
		{flat, 30.001, 99, 0, 0},       //
		{bank, 40, 0, -1.5, 0},         // 6 - 1.5 + 15 - 18 = 1.5
		{bank, 40, 0, -1.75, 0.25},     //
	} {
		opt := options(c.on, 2, 1.5)
		opt.Head = &bench.Head{Radius: 8, Standoff: 6, Gap: 1.5, Above: []bench.Disk{{Radius: 20, Up: 7}, {Radius: 30, Up: 15}},
			Boxes: []surface.Box{{X0: 99, Y0: 50 + c.apart, X1: 101, Y1: 51 + c.apart, Height: c.height}}}
		r := run(t, fmt.Sprintf(program, c.z), "", opt)
		if c.out == 0 {
			holds(t, r)
			continue
		}
		if f := has(t, r, HeadClose); math.Abs(f.Amount-c.out) > extremes.CertainMM || f.Y != 50 || f.Unproven || c.on == flat && (f.Line != 3 || math.Abs(f.X-100) > 31) {
			t.Errorf("%+v: %+v, want %v mm", c, f, c.out)
		}
	}
}

// The head counts from the Z of the original's first burn, and travels before
// it are held to it as well.
func TestTipCountsFromTheFirstBurn(t *testing.T) {
	flat := surfacetest.Of(t, "bilinear", []float64{0, 200}, []float64{0, 100}, func(x, y float64) float64 { return 0 })
	opt := options(flat, 1.5, 1.5)
	opt.Head = &bench.Head{Radius: 8, Standoff: 6, Gap: 1.5, Boxes: []surface.Box{{X0: 90, Y0: 0, X1: 110, Y1: 100, Height: 5}}}
	const program = "G21 G90 G0 X10 Y50 Z3\nG0 X%d\nG0 X10\nG0 Z%g\nM3 S100 F600\nG1 X20\nM5\n"
	for _, c := range []struct {
		x    int
		z    float64
		fail bool
	}{{60, 3, false}, {120, 2.5, false}, {120, 3, true}, {120, 2.51, true}, {84, 3, true}} {
		text := fmt.Sprintf(program, c.x, c.z)
		r := run(t, text, text, opt)
		if !c.fail {
			holds(t, r)
			continue
		}
		f := has(t, r, HeadClose)
		if f.Line != 2 || math.Abs(f.Amount-(0.5+c.z-3)) > extremes.CertainMM {
			t.Errorf("to X%d, burns at Z%v: %+v", c.x, c.z, f)
		}
	}
	// So many that they cannot be kept.
	text := "G21 G90 G0 X10 Y50\n"
	for k := range 2 * waitingMoves {
		text += fmt.Sprintf("G0 X%d\n", 120-60*(k%2))
	}
	text += "G0 X10\nM3 S100 F600\nG1 X20\nM5\n"
	has(t, run(t, text, text, opt), HeadClose)
	opt.Head.Boxes = nil
	holds(t, run(t, text, text, opt))
}

// How near the axis comes is told over burns and travels.
func TestNearestOfTheAxis(t *testing.T) {
	slope := surfacetest.Of(t, "bilinear", []float64{0, 100}, []float64{0, 100}, func(x, y float64) float64 { return x / 100 })
	r := run(t, "G21 G90 G0 X10 Y50\nM3 S100 F600\nG1 X20\nM5\nG0 X70\nG0 X0\n", "", options(slope, 1.5, 1.5))
	if n := r.Nearest; math.Abs(n.MM+0.7) > 1e-6 || n.X != 70 || n.Line != 5 {
		t.Errorf("%+v, want -0.7 mm at X70 on line 5", n)
	}
}
