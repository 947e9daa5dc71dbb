package machine

import (
	"math"
	"testing"
)

func TestXY(t *testing.T) {
	moves, _ := mustRun(t, at(1, 2), "F100 G1 X5 Y10\nG2 X15 I5\nG3 X-5 Y10 R-11\nG2 X-5 I3 J4.001\n")
	for i := range moves {
		m := &moves[i]
		if m.XY(0) != [2]float64{m.From.X, m.From.Y} || m.XY(1) != [2]float64{m.To.X, m.To.Y} {
			t.Errorf("move %d: ends %v and %v", i, m.XY(0), m.XY(1))
		}
		for _, s := range []float64{1e-12, 0.25, 0.5, 0.75, 1 - 1e-12} {
			p := m.XY(s)
			var want float64
			var got float64
			if m.Kind == Arc {
				got, want = math.Hypot(p[0]-m.CX, p[1]-m.CY), m.R0+(m.R1-m.R0)*s
			} else {
				got, want = math.Hypot(p[0]-m.From.X, p[1]-m.From.Y), m.Length*s
			}
			if math.Abs(got-want) > 1e-12 {
				t.Errorf("move %d at %v: %v, want %v", i, s, got, want)
			}
		}
	}
	// A half circle clockwise from (5,10) about (10,10) has its top at (10,15).
	if p := moves[1].XY(0.5); math.Hypot(p[0]-10, p[1]-15) > 1e-12 {
		t.Errorf("half way %v", p)
	}
}
