package kriging_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"sagitta/internal/fit/kriging"
	"sagitta/internal/surface"
)

func drawn(n int, r *rand.Rand) (p []surface.Point) {
	for k := range n {
		x, y := 300*r.Float64(), 200*r.Float64()
		p = append(p, surface.Point{X: x, Y: y, Z: 0.02*x + math.Sin(x/60)*math.Cos(y/50), Line: k + 1})
	}
	return p
}

// What is foretold of a point is what waves through the others give there, and as sure.
func TestForetoldIsWithout(t *testing.T) {
	p := drawn(12, rand.New(rand.NewPCG(1, 2)))
	const noise = 1e-3
	for _, reach := range []float64{30, 80, 250} {
		w, ok := kriging.Fit(p, reach, noise)
		if !ok {
			t.Fatalf("range %g: no waves", reach)
		}
		for k := range p {
			without := append(append([]surface.Point{}, p[:k]...), p[k+1:]...)
			o, ok := kriging.Fit(without, reach, noise)
			if !ok {
				t.Fatalf("range %g: no waves without one", reach)
			}
			missed, variance := p[k].Z-o.Height(p[k].X, p[k].Y), o.Variance(p[k].X, p[k].Y)+noise
			if math.Abs(w.Missed[k]-missed) > 1e-6 || math.Abs(w.Left[k]*variance-1) > 1e-6 {
				t.Errorf("range %g, point %d: missed by %g of variance %g, want %g of %g", reach, k, w.Missed[k], 1/w.Left[k], missed, variance)
			}
		}
		if w.Free < 1 || w.Free > float64(len(p)-3) {
			t.Errorf("range %g: %g degrees of freedom", reach, w.Free)
		}
	}
}

// Far from all points there is the plane alone, known as badly as the waves are high; and
// beside one there is that.
func TestFarAndNear(t *testing.T) {
	p := drawn(20, rand.New(rand.NewPCG(3, 4)))
	w, ok := kriging.Fit(p, 20, 1e-6)
	if !ok {
		t.Fatal("no waves")
	}
	if v := w.Variance(2000, 150); v < 1 {
		t.Errorf("far away the variance is %g of that of the waves", v)
	}
	if z, v := w.Height(p[3].X+0.01, p[3].Y), w.Variance(p[3].X+0.01, p[3].Y); math.Abs(z-p[3].Z) > 0.01 || v > 0.01 {
		t.Errorf("beside a point %g, of variance %g, not %g", z, v, p[3].Z)
	}
	// Of a plane there is nothing but that, anywhere.
	for k := range p {
		p[k].Z = 3 - 0.1*p[k].X + 0.2*p[k].Y
	}
	if w, ok = kriging.Fit(p, 20, 1e-6); !ok || math.Abs(w.Height(100, -50)+17) > 1e-9 {
		t.Errorf("of a plane %g at 100, -50, want -17", w.Height(100, -50))
	}
}

// Points that settle no plane, or of which one alone settles part of it, settle no waves.
func TestOpen(t *testing.T) {
	line := []surface.Point{{X: 1}, {X: 2, Z: 1}, {X: 3}, {X: 4, Z: 1}, {X: 5}}
	if _, ok := kriging.Fit(line, 2, 1e-4); ok {
		t.Error("waves over a line")
	}
	if _, ok := kriging.Fit(append(line, surface.Point{X: 3, Y: 1}), 2, 1e-4); ok {
		t.Error("waves over a line and a point beside it")
	}
	if _, ok := kriging.Fit(line[:3], 2, 1e-4); ok {
		t.Error("waves over three points")
	}
}
