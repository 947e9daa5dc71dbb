package verify

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"sagitta/internal/surface/surfacetest"
)

// Short moves at two decimals: each is within a last decimal of the rate, and all
// together are three times as fast.
func TestShortMovesAddUp(t *testing.T) {
	slope := surfacetest.Of(t, "bilinear", []float64{0, 100}, []float64{0, 100}, func(x, _ float64) float64 { return x / 10 })
	opt := options(slope, 5, 5)
	opt.DecimalsMM, opt.ZRate = 2, 200.0/60
	climb := func(step float64) string {
		var b strings.Builder
		b.WriteString("M5\nG0 X0 Y0\nM3 S1 F6140\n")
		for i := 1; i <= 200; i++ { // 0.1 mm takes a millisecond
			fmt.Fprintf(&b, "G1 X%.1f Z%.2f\n", float64(i)/10, float64(i)*step)
		}
		return b.String() + "M5\n"
	}
	f := has(t, run(t, climb(0.01), "", opt), ZTooFast)
	if math.Abs(f.Amount-612) > 3 {
		t.Errorf("%v, want 612 mm/min", f)
	}
	// The same at a third of the speed holds, and so does one step within the 20 ms.
	holds(t, run(t, strings.Replace(climb(0.01), "F6140", "F1990", 1), "", opt))
	holds(t, run(t, strings.Replace(climb(0), "Z0.00", "Z0.08", 200), "", opt))
	has(t, run(t, strings.Replace(climb(0), "Z0.00", "Z0.12", 200), "", opt), ZTooFast)
}

// stretches is what pace is to tell, by looking at every pair of places where one of
// them is a vertex.
func stretches(vertices []vertex, rate float64) (over float64) {
	over = math.Inf(-1)
	at := func(t float64) (float64, bool) {
		for k := 1; k < len(vertices); k++ {
			if a, b := vertices[k-1], vertices[k]; t >= a.t && t <= b.t {
				return between(a, b, t).z, true
			}
		}
		return 0, false
	}
	look := func(t0, t1 float64) {
		z0, ok0 := at(t0)
		z1, ok1 := at(t1)
		if ok0 && ok1 && t1-t0 >= shortStretch-1e-12 {
			over = max(over, math.Abs(z1-z0)-rate*(t1-t0))
		}
	}
	for _, a := range vertices {
		look(a.t, a.t+shortStretch)
		look(a.t-shortStretch, a.t)
		for _, b := range vertices {
			look(a.t, b.t)
		}
	}
	return over
}

func TestPaceFindsTheWorstStretch(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := pace{rate: rapid.SampledFrom([]float64{0.5, 3, 40}).Draw(t, "rate")}
		start := rapid.SampledFrom([]float64{0, 5, longTrack}).Draw(t, "start")
		p.restart(0)
		p.take(max(start, 1e-3), 0, 0)
		all := []vertex{{0, 0}, {max(start, 1e-3), 0}}
		got := math.Inf(-1)
		for range rapid.IntRange(1, 60).Draw(t, "moves") {
			last := all[len(all)-1]
			dt := rapid.SampledFrom([]float64{1e-5, 1e-3, 0.004, 0.01, 0.02, 0.03, 1}).Draw(t, "dt")
			dz := p.rate * dt * rapid.SampledFrom([]float64{-4, -1, 0, 0.5, 1, 1.01, 2}).Draw(t, "part")
			if rapid.IntRange(0, 9).Draw(t, "step") == 0 {
				dz = 0.05
			}
			all = append(all, vertex{last.t + dt, last.z + dz})
			_, _, over := p.take(dt, last.z+dz, 0)
			got = max(got, over)
		}
		if want := stretches(all, p.rate); math.Abs(got-want) > 1e-7 && !(math.IsInf(got, -1) && math.IsInf(want, -1)) {
			t.Fatalf("%v, want %v: %v", got, want, all)
		}
	})
}
