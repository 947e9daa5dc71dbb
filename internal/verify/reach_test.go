package verify

import (
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"

	"sagitta/internal/machine"
	"sagitta/internal/surface/surfacetest"
)

// A motion out of reach is found, by how much and where, however the program says it;
// one that stays within is not.
func TestReach(t *testing.T) {
	flat := surfacetest.Of(t, "bilinear", []float64{-300, 300}, []float64{-300, 300}, func(x, y float64) float64 { return 0 })
	for _, c := range []struct {
		program string
		line    int
		x, y    float64
		by      float64
	}{
		{"G0 X10 Y10\nM3 S100\nG1 X100\nM5\n", 0, 0, 0, 0},
		{"G0 X10 Y10\nM3 S100\nG1 X100.5\nM5\n", 4, 100.5, 10, 0.5},
		{"G0 X-3 Y10\nM3 S100\nG1 X100\nM5\n", 2, -3, 10, 3},
		{"G0 X10 Y10\nM3 S100\nG1 X90\nM5\nG0 Y52\n", 6, 90, 52, 2},
		{"G0 X10 Y20\nM3 S100\nG3 X10 Y40 J10\nM5\n", 0, 0, 0, 0},         // away from the edge
		{"G0 X5 Y20\nM3 S100\nG2 X5 Y40 J10\nM5\n", 4, -5, 30, 5},         // its side is beyond
		{"G0 X50 Y45\nM3 S100\nG2 X50 Y45 I0 J-8\nM5\n", 0, 0, 0, 0},      // a whole turn
		{"G0 X50 Y45\nM3 S100\nG2 X50 Y45 I0 J3\nM5\n", 4, 50, 51, 1},     //
		{"G0 X10 Y10\nG92 X0\nM3 S100\nG1 X95 F600\nM5\n", 5, 105, 10, 5}, // G92 moves the numbers, not the head
	} {
		opt := options(flat, 1, 1)
		opt.Reach = machine.Reach{X: &[2]float64{0, 100}, Y: &[2]float64{0, 50}}
		r := run(t, "G21 G90 F600\n"+c.program, "", opt)
		if c.by == 0 {
			holds(t, r)
			continue
		}
		if f := has(t, r, OutOfReach); f.Line != c.line || math.Abs(f.Amount-c.by) > 1e-9 || math.Abs(f.X-c.x)+math.Abs(f.Y-c.y) > 1e-9 || r.FailureCount > 1 {
			t.Errorf("%q: %+v of %v", c.program, f, r.Failures)
		}
	}
}

// Arcs come as far as by sampling.
func TestReachOfArcs(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := machine.Move{Kind: machine.Arc, CX: rapid.Float64Range(-20, 20).Draw(t, "cx"), CY: rapid.Float64Range(-20, 20).Draw(t, "cy"),
			R0: rapid.Float64Range(0.5, 20).Draw(t, "r"), A0: rapid.Float64Range(-7, 7).Draw(t, "a0"),
			Sweep: rapid.SampledFrom([]float64{0.3, -0.3, 2, -2, 2 * math.Pi, -5, 15}).Draw(t, "sweep")}
		m.R1 = m.R0
		m.From = machine.Point{X: m.CX + m.R0*math.Cos(m.A0), Y: m.CY + m.R0*math.Sin(m.A0)}
		m.To = machine.Point{X: m.CX + m.R0*math.Cos(m.A0+m.Sweep), Y: m.CY + m.R0*math.Sin(m.A0+m.Sweep)}
		j := &Judge{S: Step{Kind: Motion, M: m, Known: true}}
		j.Opt.Reach = machine.Reach{X: &[2]float64{-15, 12}}
		if rapid.Bool().Draw(t, "y too") {
			j.Opt.Reach.Y = &[2]float64{-9, 15}
		}
		if j.Opt.Reach.Beyond(m.From.X, m.From.Y) > 0 {
			t.Skip("it starts out of reach")
		}
		by, at := j.beyond()
		most := 0.0
		for k := 1; k <= 2000; k++ {
			p := m.XY(float64(k) / 2000)
			most = max(most, j.Opt.Reach.Beyond(p[0], p[1]))
		}
		if by < most-1e-5 || by > most+0.01 || by > 0 && math.Abs(j.Opt.Reach.Beyond(at[0], at[1])-by) > 1e-9 {
			t.Fatal(fmt.Sprintf("%g mm beyond at %v, by sampling %g", by, at, most))
		}
	})
}
