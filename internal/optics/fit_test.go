package optics

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"sagitta/internal/diag"
)

// made gives widths of an ideal hyperbola at planes spread over reach Rayleigh
// lengths on both sides.
func made(z0, d0, zR, reach float64, planes int) Widths {
	var w Widths
	for i := range planes {
		z := z0 + zR*reach*(2*float64(i)/float64(planes-1)-1)
		w.Z, w.D = append(w.Z, z), append(w.D, Diameter(d0, zR, z-z0))
	}
	return w
}

func TestFitRecoversACaustic(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		z0 := rapid.Float64Range(-1000, 1000).Draw(t, "z0")
		d0 := rapid.Float64Range(0.01, 2).Draw(t, "d0")
		m2 := rapid.Float64Range(1, 50).Draw(t, "m2")
		nm := rapid.Float64Range(200, 11000).Draw(t, "nm")
		reach := rapid.Float64Range(0.5, 6).Draw(t, "reach")
		wider := rapid.SampledFrom([]float64{0, 0, d0 / 3, -d0 / 3}).Draw(t, "wider")
		zR := Rayleigh(d0, m2, nm)
		w := made(z0, d0, zR, reach, rapid.IntRange(5, 40).Draw(t, "planes"))
		for i := range w.D {
			w.D[i] += wider
		}
		c, err := Fit(w, FitOptions{WavelengthNM: nm, WiderMM: wider})
		if err != nil {
			t.Fatal(err)
		}
		// Planes carry a rounding of z0; it counts against zR, and the less
		// the planes reach out the more.
		tol := 1e-12 * (1 + math.Abs(z0)/zR) * (1 + 1/(reach*reach))
		if math.Abs(c.FocusMM.Value-z0) > tol*zR || !near(c.WaistMM.Value, d0, tol) || !near(c.RayleighMM.Value, zR, tol) ||
			!near(c.M2.Value, m2, tol) || !near(c.DivergenceRad.Value, d0/zR, tol) {
			t.Fatalf("z0 %g d0 %g zR %g M2 %g: got %+v", z0, d0, zR, m2, c)
		}
		if c.M2.U > 1e3*tol*m2 || c.Scatter > 1e3*tol {
			t.Fatalf("exact widths leave ± %g of M², scatter %g", c.M2.U, c.Scatter)
		}
	})
}

// Units are the caller's: z and widths on other scales scale the result.
func TestFitScales(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))
		w := made(5, 0.3, 20, 3, 15)
		for i := range w.D {
			w.D[i] *= 1 + 0.02*r.NormFloat64()
		}
		sz, sd := math.Exp2(float64(rapid.IntRange(-8, 8).Draw(t, "sz"))), math.Exp2(float64(rapid.IntRange(-8, 8).Draw(t, "sd")))
		o := FitOptions{WavelengthNM: 500}
		c, err := Fit(w, o)
		if err != nil {
			t.Fatal(err)
		}
		v := Widths{}
		for i := range w.Z {
			v.Z, v.D = append(v.Z, sz*w.Z[i]), append(v.D, sd*w.D[i])
		}
		o.WavelengthNM *= sd * sd / sz // keeps M²
		k, err := Fit(v, o)
		if err != nil {
			t.Fatal(err)
		}
		const rel = 1e-10 // rounding of twenty rounds
		for name, q := range map[string][3]Estimate{
			"focus": {c.FocusMM, k.FocusMM, {sz, 0}}, "waist": {c.WaistMM, k.WaistMM, {sd, 0}},
			"rayleigh": {c.RayleighMM, k.RayleighMM, {sz, 0}}, "M2": {c.M2, k.M2, {1, 0}},
			"divergence": {c.DivergenceRad, k.DivergenceRad, {sd / sz, 0}},
		} {
			if f := q[2].Value; !near(q[1].Value, f*q[0].Value, rel) || !near(q[1].U, f*q[0].U, 1e-7) {
				t.Fatalf("%s: %+v scaled by %g is %+v", name, q[0], f, q[1])
			}
		}
	})
}

// The uncertainties mean what they say: over many series with a known scatter
// the errors, each over its own uncertainty, have a spread of one.
func TestUncertaintiesAreCalibrated(t *testing.T) {
	const series, planes, scatter = 1500, 20, 0.02
	for name, o := range map[string]FitOptions{
		"plain": {WavelengthNM: 10600}, "wider": {WavelengthNM: 10600, WiderMM: 0.1}, "wider fitted": {WavelengthNM: 10600, FitWider: true},
	} {
		series, wider, spread := series, o.WiderMM, 0.12
		if o.FitWider {
			// Slower, and less linear.
			series, wider, spread = 300, 0.05, 0.2
		}
		r := rand.New(rand.NewPCG(3, 4))
		d0, m2 := 0.3, 1.5
		zR := Rayleigh(d0, m2, 10600)
		var sum, squares [6]float64
		got := 0
		for range series {
			// Best focus is not in the middle: all coefficients count.
			w := made(0, d0, zR, 4, planes)
			for i, z := range w.Z {
				w.Z[i] = 2 + z + zR
				w.D[i] = (Diameter(d0, zR, w.Z[i]-2) + wider) * (1 + scatter*r.NormFloat64())
			}
			c, err := Fit(w, o)
			if err != nil {
				continue
			}
			got++
			for j, q := range [6][2]float64{
				{(c.FocusMM.Value - 2) / c.FocusMM.U}, {(c.WaistMM.Value - d0) / c.WaistMM.U}, {(c.RayleighMM.Value - zR) / c.RayleighMM.U},
				{(c.DivergenceRad.Value - d0/zR) / c.DivergenceRad.U}, {(c.M2.Value - m2) / c.M2.U}, {(c.WiderMM.Value - wider) / math.Max(c.WiderMM.U, 1e-30)},
			} {
				sum[j] += q[0]
				squares[j] += q[0] * q[0]
			}
		}
		if got < series*97/100 {
			t.Errorf("%s: %d of %d series could be fitted", name, got, series)
		}
		n := float64(got)
		for j, what := range []string{"focus", "waist", "rayleigh", "divergence", "M2", "wider"} {
			if what == "wider" && !o.FitWider {
				continue
			}
			mean, sd := sum[j]/n, math.Sqrt(squares[j]/n)
			// Student's t with 17 degrees of freedom has a spread of 1.065.
			if math.Abs(mean) > spread+0.1 || sd < 1-spread || sd > 1.065+spread {
				t.Errorf("%s, %s: pulls have mean %.3f, spread %.3f", name, what, mean, sd)
			}
		}
	}
}

func TestFitRefuses(t *testing.T) {
	beam := made(0, 0.1, 1, 3, 12)
	upper := Widths{}
	for i, z := range beam.Z {
		if z > 0.5 {
			upper.Z, upper.D = append(upper.Z, z), append(upper.D, beam.D[i])
		}
	}
	flat := Widths{Z: beam.Z, D: make([]float64, 12)}
	hump := Widths{Z: beam.Z, D: make([]float64, 12)}
	cross := Widths{Z: beam.Z, D: make([]float64, 12)}
	for i, z := range beam.Z {
		flat.D[i], hump.D[i], cross.D[i] = 0.2, 1-0.05*z*z, math.Abs(z)
	}
	repeated := Widths{Z: []float64{0, 0, 0, 1, 1, 2, 2, 3}, D: []float64{1, 1, 1, 2, 2, 3, 3, 4}}
	hidden := made(0, 0.1, 1, 0.3, 12)
	for i := range hidden.D {
		hidden.D[i] *= 1 + 0.1*float64(2*(i%2)-1)
	}
	nm := 1e6 * math.Pi * 0.01 / 4 / 1.2 // M² 1.2
	for name, c := range map[string]struct {
		w    Widths
		o    FitOptions
		want string
	}{
		"few":          {made(0, 0.1, 1, 3, 4), FitOptions{WavelengthNM: nm}, "too few planes: widths at 4 places"},
		"few for four": {made(0, 0.1, 1, 3, 5), FitOptions{WavelengthNM: nm, FitWider: true}, "wants 6 at least"},
		"repeated":     {repeated, FitOptions{WavelengthNM: nm}, "widths at 4 places"},
		"one side":     {upper, FitOptions{WavelengthNM: nm}, "one side of best focus"},
		"flat":         {flat, FitOptions{WavelengthNM: nm}, ""},
		"hidden":       {hidden, FitOptions{WavelengthNM: nm}, "their scatter hides it"},
		"hump":         {hump, FitOptions{WavelengthNM: nm}, "do not close to a waist"},
		"cross":        {cross, FitOptions{WavelengthNM: nm}, ""},
		"too good":     {beam, FitOptions{WavelengthNM: 2 * nm}, "M² comes out at 0.60 ± 0.00, below 1 beyond its uncertainty"},
		"units":        {beam, FitOptions{WavelengthNM: 1000 * nm}, "M² comes out at 0.0012"},
		"narrower":     {beam, FitOptions{WavelengthNM: nm, WiderMM: 0.11}, "leaves no beam"},
	} {
		_, err := Fit(c.w, c.o)
		if !diag.Is(err, diag.Unmet) || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v", name, err)
		}
	}
	if c, err := Fit(beam, FitOptions{WavelengthNM: nm}); err != nil || len(c.Warnings()) != 0 {
		t.Errorf("a good series: %v, %v", err, c.Warnings())
	}
}

func TestFitWarns(t *testing.T) {
	nm := 1e6 * math.Pi * 0.01 / 4 / 1.2
	for name, c := range map[string]struct {
		w    Widths
		nm   float64
		want string
	}{
		"few":         {made(0, 0.1, 1, 3, 9), nm, "only 9 planes; ISO 11146-1 asks for 10"},
		"all near":    {made(0, 0.1, 1, 1, 12), nm, "0 of 12 widths lie beyond two"},
		"all far":     {made(0, 0.1, 1, 30, 12), nm, "0 of 12 widths lie within one"},
		"below ideal": {made(0, 0.1, 1, 3, 12), nm * 1.2 / 0.97, "M² of 0.970 ± 0.000 is below 1 by more"},
		"huge":        {made(0, 0.1, 1, 3, 12), nm / 1000, "more than any laser"},
	} {
		k, err := Fit(c.w, FitOptions{WavelengthNM: c.nm})
		if err != nil {
			t.Errorf("%s: %v", name, err)
		} else if !strings.Contains(strings.Join(k.Warnings(), "\n"), c.want) {
			t.Errorf("%s: %v", name, k.Warnings())
		}
	}
}

// Two axes alike are as one that was measured twice.
func TestMeanOfAxesAlike(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 6))
	w := made(3, 0.2, 2, 3, 14)
	for i := range w.D {
		w.D[i] *= 1 + 0.03*r.NormFloat64()
	}
	c, err := Fit(w, FitOptions{WavelengthNM: 1000})
	if err != nil {
		t.Fatal(err)
	}
	m, err := Astigmatic{c, c}.Mean()
	if err != nil {
		t.Fatal(err)
	}
	for name, q := range map[string][2]Estimate{
		"focus": {c.FocusMM, m.FocusMM}, "waist": {c.WaistMM, m.WaistMM}, "rayleigh": {c.RayleighMM, m.RayleighMM}, "M2": {c.M2, m.M2},
	} {
		if !near(q[1].Value, q[0].Value, 1e-12) || !near(q[1].U, q[0].U/math.Sqrt2, 1e-9) {
			t.Errorf("%s: %+v, and of both %+v", name, q[0], q[1])
		}
	}
}

// A slender axis and a wide one: the smallest spot over both lies where the
// slender one is long out of focus.
func TestSharedDepthAboutItsMiddle(t *testing.T) {
	axis := func(z0, d0, zR float64) *Caustic {
		w := Widths{}
		for i := range 21 {
			z := float64(i-10) / 2
			w.Z, w.D = append(w.Z, z), append(w.D, Diameter(d0, zR, z-z0))
		}
		c, err := Fit(w, FitOptions{WavelengthNM: 1000})
		if err != nil {
			t.Fatal(err)
		}
		return c
	}
	a := Astigmatic{axis(0, 0.02, 0.3), axis(1.2, 0.5, 3)}
	s, err := a.Shared(1.1)
	h := HalfDepth(0.3, 1.1)
	if err != nil || !s.Middle || math.Abs(s.FocusMM) > 1e-9 || !near(s.Near, h, 1e-9) || !near(s.Far, h, 1e-9) {
		t.Errorf("%+v, %v", s, err)
	}
}

// The depth that two axes share lies within each axis's own, and touches one
// at either end.
func TestSharedDepth(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		nm, k := 1000.0, rapid.Float64Range(1.01, 1.5).Draw(t, "k")
		axis := func(name string) (*Caustic, float64, float64) {
			z0 := rapid.Float64Range(-1, 1).Draw(t, name+" z0")
			d0, m2 := rapid.Float64Range(0.02, 0.1).Draw(t, name+" d0"), rapid.Float64Range(1, 3).Draw(t, name+" m2")
			zR := Rayleigh(d0, m2, nm)
			w := Widths{}
			for i := range 15 {
				z := float64(i-7) * 2
				w.Z, w.D = append(w.Z, z), append(w.D, Diameter(d0, zR, z-z0))
			}
			c, err := Fit(w, FitOptions{WavelengthNM: nm})
			if err != nil {
				t.Fatal(err)
			}
			return c, z0, HalfDepth(zR, k)
		}
		x, zx, hx := axis("x")
		y, zy, hy := axis("y")
		a := Astigmatic{x, y}
		if got := a.AstigmaticMM(); math.Abs(got.Value-(zy-zx)) > 1e-9 {
			t.Fatalf("foci %g apart: %+v", zy-zx, got)
		}
		s, err := a.Shared(k)
		if math.Abs(zy-zx) >= hx+hy {
			if err == nil {
				t.Fatalf("no overlap, and %+v", s)
			}
			return
		}
		if err != nil {
			t.Fatal(err)
		}
		const tol = 1e-9
		lo, hi := s.FocusMM-s.Near, s.FocusMM+s.Far
		if s.Near <= 0 || s.Far <= 0 || math.Abs(lo-math.Max(zx-hx, zy-hy)) > tol || math.Abs(hi-math.Min(zx+hx, zy+hy)) > tol {
			t.Fatalf("x %g ± %g, y %g ± %g: %g to %g about %g", zx, hx, zy, hy, lo, hi, s.FocusMM)
		}
		mean, err := a.Mean()
		if err != nil {
			t.Fatal(err)
		}
		for _, z := range []float64{-5, 0, 3} {
			dx, dy := Diameter(x.WaistMM.Value, x.RayleighMM.Value, z-zx), Diameter(y.WaistMM.Value, y.RayleighMM.Value, z-zy)
			if d := Diameter(mean.WaistMM.Value, mean.RayleighMM.Value, z-mean.FocusMM.Value); !near(d*d, (dx*dx+dy*dy)/2, 1e-9) {
				t.Fatalf("at z %g the mean beam is %g over %g and %g", z, d, dx, dy)
			}
		}
	})
}

// Whatever the widths, there is a beam with finite figures or a reason.
func TestFitOfAnything(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 12).Draw(t, "n")
		size := rapid.SampledFrom([]float64{1e-6, 1, 1e6}).Draw(t, "size")
		w := Widths{
			Z: rapid.SliceOfN(rapid.OneOf(rapid.Float64Range(-1e6, 1e6), rapid.Float64Range(-2, 2), rapid.Just(0.0)), n, n).Draw(t, "z"),
			D: rapid.SliceOfN(rapid.OneOf(rapid.Float64Range(1e-6, 1e6), rapid.Float64Range(size/2, size), rapid.Just(size)), n, n).Draw(t, "d"),
		}
		o := FitOptions{WavelengthNM: rapid.Float64Range(100, 20000).Draw(t, "nm"), FitWider: rapid.Bool().Draw(t, "fit")}
		if !o.FitWider {
			o.WiderMM = rapid.SampledFrom([]float64{0, 1e-3, -1e-3, -1e9, 1e9}).Draw(t, "wider")
		}
		c, err := Fit(w, o)
		if err != nil {
			if !diag.Is(err, diag.Unmet) || c != nil && c.M2.Value >= 1 && c.Before > 0 && c.After > 0 {
				t.Fatalf("%v of %+v", err, c)
			}
			return
		}
		for _, q := range []Estimate{c.FocusMM, c.WaistMM, c.RayleighMM, c.DivergenceRad, c.M2, c.WiderMM} {
			if math.IsNaN(q.Value+q.U) || math.IsInf(q.Value+q.U, 0) || q.U < 0 {
				t.Fatalf("%+v", c)
			}
		}
		if !(c.WaistMM.Value > 0 && c.RayleighMM.Value > 0 && c.M2.Value >= leastM2) {
			t.Fatalf("%+v", c)
		}
		c.Warnings()
	})
}
