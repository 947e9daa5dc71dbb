package verify_test

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"sagitta/internal/bench"
	"sagitta/internal/focus"
	"sagitta/internal/machine/drawn"
	"sagitta/internal/motion"
	"sagitta/internal/surface/surfacetest"
	"sagitta/internal/timing"
	"sagitta/internal/verify"
)

// On a bench with inertia the check's own clock says of drawn programs what they are timed
// by when they are made: two plans that share nothing.
func TestClockWithInertia(t *testing.T) {
	flat := surfacetest.Of(t, "bilinear", []float64{-1000, 1000}, []float64{-1000, 1000}, func(x, y float64) float64 { return 0 })
	rapid.Check(t, func(t *rapid.T) {
		job := drawn.Draw(t, drawn.Options{Side: 40})
		l := motion.Limits{CornerMM: 0.01, Accel: motion.Vector{rapid.Float64Range(100, 3000).Draw(t, "ax"), rapid.Float64Range(100, 3000).Draw(t, "ay"), rapid.Float64Range(5, 300).Draw(t, "az")}}
		if rapid.Bool().Draw(t, "steps") {
			l.Step = motion.Vector{10, 10, 0.4}
		}
		if rapid.Bool().Draw(t, "lines") {
			l.LinesPerS = 200
		}
		stops := rapid.Bool().Draw(t, "stops at beam")
		want, err := timing.Of(strings.NewReader(job.Text), "a.gcode", timing.Bench{Machine: job.Config(), Limits: l, StopsAtBeam: stops})
		if err != nil {
			t.Skip(err)
		}
		opt := verify.Options{Bench: bench.Bench{Machine: job.Config(), ZPlusAway: true, DecimalsMM: 3, DecimalsInch: 5, Slowest: 1, Inertia: &l, StopsAtBeam: stops},
			Surface: flat, Depth: focus.Depth{Near: 1e6, Far: 1e6}, OutsideHold: true}
		r, err := verify.Run(strings.NewReader(job.Text), "a.gcode", strings.NewReader(job.Text), "a.gcode", opt)
		if err != nil {
			t.Fatal(err)
		}
		for name, got := range map[string]float64{"checked": r.Seconds, "original": r.SecondsOriginal} {
			if math.Abs(got-want.Seconds) > 0.001*want.Seconds+1e-6 {
				t.Errorf("%s: %v s, not %v\n%s", name, got, want.Seconds, job.Text)
			}
		}
	})
}
