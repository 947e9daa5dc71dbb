package verify

import (
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"

	"sagitta/internal/machine"
	"sagitta/internal/surface"
	"sagitta/internal/surface/surfacetest"
)

// drawTipSurface draws a sheet, perhaps with holes, laid down askew.
func drawTipSurface(t *rapid.T) *surface.Placed {
	axis := func(label string) (v []float64) {
		v = append(v, -20)
		for v[len(v)-1] < 40 {
			v = append(v, v[len(v)-1]+rapid.SampledFrom([]float64{5, 7, 12}).Draw(t, label))
		}
		return v
	}
	x, y := axis("dx"), axis("dy")
	method := rapid.SampledFrom([]string{"bilinear", "bicubic"}).Draw(t, "method")
	holes := method == "bilinear" && rapid.Bool().Draw(t, "holes")
	var z []float64
	for range len(x) * len(y) {
		h := rapid.Float64Range(-2, 2).Draw(t, "z")
		if holes && rapid.IntRange(0, 9).Draw(t, "hole") == 0 {
			h = math.NaN()
		}
		z = append(z, h)
	}
	z[0] = 1
	s, err := surface.New(x, y, z)
	if err != nil {
		t.Fatal(err)
	}
	p, err := surface.Place(s, surface.Placement{Method: method,
		RotateDeg: rapid.SampledFrom([]float64{0, 0, 90, 31}).Draw(t, "turn"), ShiftX: rapid.SampledFrom([]float64{0, 3.3}).Draw(t, "shift")})
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// What the search finds is there, and nothing that dense sampling finds is
// higher; and it is never above the ceiling that the surface gives.
func TestTipSearchAgainstSampling(t *testing.T) {
	found, runs, givenUp := 0, 0, 0
	rapid.Check(t, func(t *rapid.T) {
		p := drawTipSurface(t)
		draw := func(label string) float64 {
			v := rapid.Float64Range(-25, 45).Draw(t, label)
			if rapid.Bool().Draw(t, "round") {
				v = math.Round(v)
			}
			return v
		}
		h := Head{RadiusMM: rapid.SampledFrom([]float64{0, 0.2, 3, 12}).Draw(t, "radius")}
		for range rapid.IntRange(0, 2).Draw(t, "boxes") {
			x, y := draw("bx"), draw("by")
			h.Boxes = append(h.Boxes, surface.Box{X0: x, Y0: y, X1: x + rapid.SampledFrom([]float64{0.001, 4}).Draw(t, "wide"),
				Y1: y + rapid.SampledFrom([]float64{0.001, 9}).Draw(t, "deep"), Height: rapid.Float64Range(-1, 5).Draw(t, "tall")})
		}
		m := machine.Move{Kind: machine.Line, From: machine.Point{X: draw("x0"), Y: draw("y0")}, To: machine.Point{X: draw("x1"), Y: draw("y1")}}
		if rapid.Bool().Draw(t, "arc") {
			m.Kind = machine.Arc
			m.CX, m.CY, m.R0 = draw("cx"), draw("cy"), rapid.Float64Range(0.1, 20).Draw(t, "r")
			m.R1 = m.R0 * rapid.SampledFrom([]float64{1, 1, 1.01}).Draw(t, "r1")
			m.A0, m.Sweep = rapid.Float64Range(-3, 3).Draw(t, "a"), rapid.SampledFrom([]float64{0.1, -2, 2 * math.Pi}).Draw(t, "sweep")
			for k, at := range []*machine.Point{&m.From, &m.To} {
				r, a := [2]float64{m.R0, m.R1}[k], m.A0+float64(k)*m.Sweep
				at.X, at.Y = m.CX+r*math.Cos(a), m.CY+r*math.Sin(a)
			}
		}
		z0 := rapid.Float64Range(-1, 1).Draw(t, "z0")
		z1 := z0 + rapid.SampledFrom([]float64{0, 0, 0.7, -3}).Draw(t, "dz")
		o := newOverhead(newField(p), &h)
		floor := rapid.SampledFrom([]float64{-10, 0, 1, 2}).Draw(t, "floor")
		o.look(&m, false, z0, z1, floor)
		if runs++; o.open > o.best+2*tipGapMM {
			givenUp++ // what it says must hold all the same
		}
		most := max(o.best, o.open)
		near := func(s, off, way float64) float64 {
			at := m.XY(s)
			x, y := at[0]+off*math.Cos(way), at[1]+off*math.Sin(way)
			v, _ := p.At(x, y)
			for _, b := range h.Boxes {
				if x >= b.X0 && x <= b.X1 && y >= b.Y0 && y <= b.Y1 {
					v = max(v, b.Height)
				}
			}
			return v - (z0 + s*(z1-z0))
		}
		r := max(h.RadiusMM-2*placeSlackMM, 0)
		for range 400 {
			s := rapid.SampledFrom([]float64{0, 1, 0.5, rapid.Float64Range(0, 1).Draw(t, "s")}).Draw(t, "where")
			v := near(s, r*rapid.SampledFrom([]float64{0, 0.7, 1, 1}).Draw(t, "off"), rapid.Float64Range(0, 7).Draw(t, "way"))
			if v > most+tipGapMM+p.Allowance() {
				t.Fatalf("%v at %v of the move, the search says %v", v, s, most)
			}
		}
		if !o.hit {
			return
		}
		found++
		// The same by the surface's own bounds, along the stretch about it.
		var c []surface.Ceiling
		if m.Kind == machine.Arc {
			c = p.AppendArcCeiling(nil, h.Boxes, m.CX, m.CY, m.R0, m.R1, m.A0, m.Sweep, h.RadiusMM, 1e-3)
		} else {
			c = p.AppendLineCeiling(nil, h.Boxes, m.From.X, m.From.Y, m.To.X, m.To.Y, h.RadiusMM, 1e-3)
		}
		for _, k := range c {
			if k.S0 <= o.at && o.at <= k.S1 && k.High-(z0+o.at*(z1-z0)) >= o.best-1e-6-p.Allowance() {
				return
			}
		}
		t.Fatalf("found %v at %v of the move, above every ceiling there", o.best, o.at)
	})
	t.Logf("%d searches, %d given up", runs, givenUp)
	if givenUp > runs/10 {
		t.Errorf("%d of %d searches were given up", givenUp, runs)
	}
	if found == 0 {
		t.Error("nothing was ever found")
	}
}

// The tip over flat stock, beside a box: by what it is too low, to a
// micrometre, and where.
func TestTipBesideABox(t *testing.T) {
	flat := surfacetest.Of(t, "bilinear", []float64{0, 200}, []float64{0, 100}, func(x, y float64) float64 { return 0 })
	const program = "G21 G90 G0 X10 Y50 Z%g\nM3 S100 F600\nG1 X190\nM5\n"
	for _, c := range []struct{ apart, z, out float64 }{
		{8.001, 0, 0}, {8 - 1e-5, 0, 0.5}, {3, 0, 0.5}, {3, 0.5, 0}, {3, 0.499, 0.001}, {3, 0.49, 0.01},
	} {
		opt := options(flat, 1.5, 1.5)
		opt.Head = &Head{RadiusMM: 8, StandoffMM: 6, GapMM: 1.5,
			Boxes: []surface.Box{{X0: 99, Y0: 50 + c.apart, X1: 101, Y1: 80, Height: 5}}}
		r := run(t, fmt.Sprintf(program, c.z), "", opt)
		if c.out == 0 {
			holds(t, r)
			continue
		}
		f := has(t, r, HeadClose)
		if math.Abs(f.Amount-c.out) > certainMM || f.Line != 3 || math.Abs(f.X-100) > 9 || f.Y != 50 || f.Unproven {
			t.Errorf("%v mm apart at Z%v: %+v, want %v mm", c.apart, c.z, f, c.out)
		}
	}
}

// The head counts from the Z of the original's first burn, and travels before
// it are held to it as well.
func TestTipCountsFromTheFirstBurn(t *testing.T) {
	flat := surfacetest.Of(t, "bilinear", []float64{0, 200}, []float64{0, 100}, func(x, y float64) float64 { return 0 })
	opt := options(flat, 1.5, 1.5)
	opt.Head = &Head{RadiusMM: 8, StandoffMM: 6, GapMM: 1.5, Boxes: []surface.Box{{X0: 90, Y0: 0, X1: 110, Y1: 100, Height: 5}}}
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
		if f.Line != 2 || math.Abs(f.Amount-(0.5+c.z-3)) > certainMM {
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
