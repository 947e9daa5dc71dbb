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
