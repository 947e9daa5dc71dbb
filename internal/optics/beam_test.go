package optics

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// near reports whether got is want to a relative part of rel.
func near(got, want, rel float64) bool { return math.Abs(got-want) <= rel*math.Abs(want) }

// digits is the relative error allowed where the source gives 15 digits: their
// last one, and the rounding of a handful of operations.
const digits = 1e-14

// Source: SymPy documentation, BeamParameter: wavelength 530 nm, waist radius
// 1 mm, M² 1; Rayleigh length and radii in its own digits.
func TestWideBeam(t *testing.T) {
	zR := Rayleigh(2, 1, 530)
	if !near(zR, 5927.53330865999, digits) {
		t.Errorf("zR %.15g mm", zR)
	}
	for z, w := range map[float64]float64{1000: 1.01413072159615, 11000: 2.10803120913829} {
		if got := Diameter(2, zR, z) / 2; !near(got, w, digits) {
			t.Errorf("radius %.15g mm at %g mm, want %.15g", got, z, w)
		}
	}
}

// Source: S. A. Self, Applied Optics 22, 658 (1983); digits from the formula.
func TestHalfDepthByGrowth(t *testing.T) {
	for k, part := range map[float64]float64{1.05: 0.320156, 1.10: 0.458258, math.Sqrt2: 1} {
		if got := HalfDepth(1, k); math.Abs(got-part) > 5e-7 { // six decimals given
			t.Errorf("k %g: %.7f zR, want %g", k, got, part)
		}
	}
	if HalfDepth(7, 1) != 0 || !math.IsNaN(HalfDepth(7, 0.9)) {
		t.Error("no growth has no depth; shrinking does not exist")
	}
}

// Source: a course page's rough table for CO2 (10.6 µm), of which only the
// trend counts: spot grows with f, depth with f².
func TestTrendWithFocalLength(t *testing.T) {
	const beam, m2, nm = 10, 1.3, 10600
	d1, d2 := Waist(m2, nm, 38.1, beam), Waist(m2, nm, 63.5, beam)
	if !near(d2/d1, 63.5/38.1, 1e-12) {
		t.Errorf("spots %g and %g mm", d1, d2)
	}
	// Common practice, no source: the spot of a 2.5 in lens is about 70 %
	// larger than that of a 1.5 in lens.
	if r := d2 / d1; math.Round(10*r) != 17 {
		t.Errorf("spots in the ratio %.3f, not about 1.7", r)
	}
	z1, z2 := HalfDepth(Rayleigh(d1, m2, nm), 1.1), HalfDepth(Rayleigh(d2, m2, nm), 1.1)
	if !near(z2/z1, 63.5*63.5/(38.1*38.1), 1e-12) {
		t.Errorf("depths %g and %g mm", z1, z2)
	}
}

func TestFormulasAgree(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m2 := rapid.Float64Range(1, 40).Draw(t, "m2")
		nm := rapid.Float64Range(100, 20000).Draw(t, "nm")
		f := rapid.Float64Range(10, 500).Draw(t, "f")
		d := Waist(m2, nm, f, rapid.Float64Range(1, 50).Draw(t, "beam"))
		k := rapid.Float64Range(1+1e-9, 5).Draw(t, "k")
		zR := Rayleigh(d, m2, nm)
		const rel = 1e-12 // some ten operations
		if got := Quality(d, zR, nm); !near(got, m2, rel) {
			t.Fatalf("M² %g comes back as %g", m2, got)
		}
		if got := WaistOf(zR, m2, nm); !near(got, d, rel) {
			t.Fatalf("waist %g comes back as %g", d, got)
		}
		h := HalfDepth(zR, k)
		for _, z := range []float64{h, -h} {
			if got := Diameter(d, zR, z); !near(got, k*d, rel) {
				t.Fatalf("at the half depth for %g the beam is %g of its waist", k, got/d)
			}
		}
	})
}
