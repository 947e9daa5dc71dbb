package motion

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// At the change of slope that Rise allows, the corner is passed at the speed; at a
// greater one it is not.
func TestRise(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := Limits{Accel: Vector{500, 500, rapid.Float64Range(5, 400).Draw(t, "z accel")}, CornerMM: rapid.SampledFrom([]float64{0.002, 0.01, 0.1}).Draw(t, "corner")}
		if rapid.Bool().Draw(t, "steps") {
			l.Step = Vector{0, 0, rapid.SampledFrom([]float64{0.1, 0.4, 3}).Draw(t, "step")}
		}
		angle := rapid.SampledFrom([]float64{0, 1e-9, 0.01, 0.1, 0.5, 1.5}).Draw(t, "angle")
		to := rapid.Float64Range(0, 2*math.Pi).Draw(t, "to")
		in, out := [2]float64{math.Cos(to), math.Sin(to)}, [2]float64{math.Cos(to + angle), math.Sin(to + angle)}
		turn := math.Hypot(out[0]-in[0], out[1]-in[1])
		speed := min(200, 0.5*l.Turn(in, out)) * rapid.Float64Range(0.3, 1).Draw(t, "speed")
		rise := l.Rise(turn, speed)
		if rise > 0.15 { // second order counts
			return
		}
		passed := func(rise float64) float64 {
			a, b := slanted(in, -rise/2), slanted(out, rise/2)
			return l.through(&a, &b)
		}
		if v := passed(rise); v < 0.97*speed {
			t.Fatalf("a rise of %g passes at %g, not at %g", rise, v, speed)
		}
		if v := passed(1.1 * rise); v > 0.99*speed {
			t.Fatalf("a rise of more than %g passes at %g still, over %g", rise, v, speed)
		}
	})
	if none := (&Limits{Accel: Vector{500, 500, 0}, CornerMM: 0.01}); !math.IsInf(none.Rise(0, 100), 1) || !math.IsInf(heavyZ().Rise(0, 0), 1) {
		t.Error("what limits nothing does, or what stands")
	}
}

// slanted is a direction of length 1 over XY that rises so much.
func slanted(xy [2]float64, rise float64) Vector {
	n := math.Hypot(1, rise)
	return Vector{xy[0] / n, xy[1] / n, rise / n}
}

// heavyZ is a bench whose Z is slow to speed up.
func heavyZ() *Limits { return &Limits{Accel: Vector{500, 500, 50}, CornerMM: 0.01} }
