package motion

import (
	"math"
	"testing"
)

// BenchmarkRows plans rows of pixels over a wave, and an outline of short chords.
func BenchmarkRows(b *testing.B) {
	l := Limits{Accel: Vector{500, 500, 50}, CornerMM: 0.01, LinesPerS: 500}
	for _, c := range []struct {
		name string
		by   func(k int) Vector
	}{
		{"rows", func(k int) Vector {
			if k%1500 == 0 {
				return Vector{0, 0.1}
			}
			return Vector{0.1 * float64(1-2*(k/1500%2)), 0, 0.001 * math.Sin(float64(k)/50)}
		}},
		{"chords", func(k int) Vector { return Vector{0.2 * math.Cos(float64(k)/30), 0.2 * math.Sin(float64(k)/30)} }},
	} {
		b.Run(c.name, func(b *testing.B) {
			total := 0.0
			p := New(l, func(m *Planned) { total += m.Seconds })
			b.ReportAllocs()
			k := 0
			for b.Loop() {
				p.Add(Move{By: c.by(k), Speed: 200})
				k++
			}
			p.End()
		})
	}
}
