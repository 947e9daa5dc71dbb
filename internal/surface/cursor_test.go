package surface

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// A cursor that reads other heights than AppendLine would put short moves out
// of focus.
func TestCursorIsAppendLine(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		draw := func(label string, lo, hi float64) float64 { return rapid.Float64Range(lo, hi).Draw(t, label) }
		x, y := []float64{0, 3, 7, 20}, []float64{-5, 0, 8}
		z := make([]float64, len(x)*len(y))
		for k := range z {
			z[k] = draw("z", -3, 3)
			if rapid.IntRange(0, 15).Draw(t, "hole") == 0 {
				z[k] = math.NaN()
			}
		}
		z[0] = 1
		s, err := New(x, y, z)
		if err != nil {
			t.Fatal(err)
		}
		at := [2]float64{0, 0}
		p, err := Place(s, Placement{ShiftX: draw("shift", -9, 9), RotateDeg: draw("turn", -180, 180), Datum: nil})
		if err != nil {
			t.Skip(err)
		}
		c := NewCursor(p)
		taken := 0
		for range 20 {
			at[0], at[1] = p.Program(draw("x", -1, 21), draw("y", -6, 9))
			c.Stand(at[0], at[1])
			for range 4 {
				to := [2]float64{at[0] + draw("dx", -1, 1), at[1] + draw("dy", -1, 1)}
				h, up, down, ok := c.To(to[0], to[1])
				if !ok {
					break
				}
				taken++
				pc := p.AppendLine(nil, at[0], at[1], to[0], to[1], 10, 0)
				last := pc[len(pc)-1]
				if len(pc) > 1 && last.S1-last.S0 < 1-1e-6 || last.Where != On {
					t.Fatalf("a move over %d pieces: %+v", len(pc), pc)
				}
				if math.Abs(h-last.H1) > 1e-9 || math.Abs(up-last.Up) > 1e-9 || math.Abs(down-last.Down) > 1e-9 {
					t.Fatalf("%g +%g -%g, want %+v", h, up, down, last)
				}
				at = to
			}
		}
	})
}
