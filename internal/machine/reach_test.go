package machine

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// What is told of a move is as far as it comes, by sampling it.
func TestReachOfMoves(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		place := rapid.Float64Range(-30, 30)
		limits := func(label string) *[2]float64 {
			low := rapid.Float64Range(-25, 10).Draw(t, label)
			return rapid.SampledFrom([]*[2]float64{nil, {low, low + 20}, {low, low + 60}}).Draw(t, label+" limits")
		}
		r := Reach{limits("x"), limits("y")}
		m := Move{Kind: Line, From: Point{X: place.Draw(t, "x0"), Y: place.Draw(t, "y0")}, To: Point{X: place.Draw(t, "x1"), Y: place.Draw(t, "y1")}}
		if rapid.Bool().Draw(t, "arc") {
			m.Kind, m.CX, m.CY = Arc, place.Draw(t, "cx"), place.Draw(t, "cy")
			m.R0 = rapid.Float64Range(0.5, 20).Draw(t, "r")
			m.R1 = m.R0
			m.A0 = rapid.Float64Range(-7, 7).Draw(t, "a0")
			m.Sweep = rapid.SampledFrom([]float64{0.3, -0.3, 2, -2, 2 * math.Pi, -5, 15}).Draw(t, "sweep")
			m.From = Point{X: m.CX + m.R0*math.Cos(m.A0), Y: m.CY + m.R0*math.Sin(m.A0)}
			m.To = Point{X: m.CX + m.R0*math.Cos(m.A0+m.Sweep), Y: m.CY + m.R0*math.Sin(m.A0+m.Sweep)}
		}
		if m.Kind == Arc && r.Beyond(m.From.X, m.From.Y) > 0 {
			t.Skip("it starts out of reach")
		}
		at, by := r.Worst(&m)
		const samples = 2000
		most := 0.0
		for k := range samples + 1 {
			p := m.XY(float64(k) / samples)
			if m.Kind == Line {
				p = m.XY(1)
			}
			if r.X != nil {
				most = max(most, r.X[0]-p[0], p[0]-r.X[1])
			}
			if r.Y != nil {
				most = max(most, r.Y[0]-p[1], p[1]-r.Y[1])
			}
		}
		if by < most-1e-5 || by > most+0.01 {
			t.Fatalf("%g mm beyond, by sampling %g", by, most)
		}
		if by > 0 && r.Beyond(at[0], at[1]) != by {
			t.Fatalf("%g mm beyond, but %g at %v", by, r.Beyond(at[0], at[1]), at)
		}
		m.FromUnknown = true
		if _, by := r.Worst(&m); by != r.Beyond(m.To.X, m.To.Y) {
			t.Fatalf("from an unknown place %g mm beyond", by)
		}
	})
}
