package record

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"sagitta/internal/optics"
)

// Source: the fonts' own figures; a point is 25.4/72 mm.
func TestCapHeight(t *testing.T) {
	for font, want := range map[string]float64{"liberation": 12.0 / 72 * 25.4 * 0.68798828125, "dejavu": 12.0 / 72 * 25.4 * 0.72900390625} {
		if mm, name, ok := CapHeightMM(12, font); !ok || math.Abs(mm-want) > 1e-12 || !strings.HasSuffix(name, "Sans") {
			t.Errorf("%s: %g mm, %s", font, mm, name)
		}
	}
	if _, _, ok := CapHeightMM(12, "other"); ok {
		t.Error("a font that is not known")
	}
}

func TestBeam(t *testing.T) {
	for text, want := range map[string][3]float64{
		"waist_um = 90\nrayleigh_mm = 0.5":                        {0.09, 0.5, 1},
		"waist_um = 90\nwavelength_nm = 10600\nm2 = 1.3":          {0.09, 0.461664, 1},
		"rayleigh_mm = 0.461664\nwavelength_nm = 10600\nm2 = 1.3": {0.09, 0.461664, 1},
		"rayleigh_mm = 0.5":                                       {},
		"depth_mm = [-1, 1]":                                      {},
		"waist_um = 90\nwavelength_nm = 10600":                    {},
	} {
		l, err := ReadLens(strings.NewReader(text), "some.toml")
		if err != nil {
			t.Fatal(err)
		}
		waist, zR, ok := l.Beam()
		if ok != (want[2] == 1) || math.Abs(waist-want[0]) > 1e-6 || math.Abs(zR-want[1]) > 1e-6 { // six digits given
			t.Errorf("%q: %g, %g, %v", text, waist, zR, ok)
		}
	}
}

func TestDepthFor(t *testing.T) {
	const beam = "waist_um = 100\nrayleigh_mm = 0.5\n"
	root3 := 0.5 * math.Sqrt(3) // zR √(2² − 1)
	for _, c := range []struct {
		text      string
		detail    float64
		near, far float64 // 0: none
		assumed   bool
		from      string
	}{
		{beam, 1, root3, root3, true, "for a spot of 1/5 of the detail"},
		{beam, 0.5, 0, 0, true, "too wide for it even at best focus"},
		{"rayleigh_mm = 2", 1, 0, 0, false, "the waist is not known"},
		{"focal_length_mm = 38.1", 1, 0, 0, false, "is missing"},
		{"depth_mm = [-1, 2]", 0.1, 1, 2, false, "with which detail it was seen is not in the record"},
		{"depth_mm = [-1, 2]\nsmallest_detail_mm = 0.5", 0.5, 1, 2, false, "seen with a detail of 0.5 mm"},
		{"depth_mm = [-1, 2]\nsmallest_detail_mm = 0.5", 5, 1, 2, false, "depth_mm"},
		{"depth_mm = [-1, 2]\nsmallest_detail_mm = 0.5", 0.4, 0, 0, false, "tells nothing of finer ones"},
		// At ±0.5·√15 the spot is four waists; for half of the detail it may
		// be two.
		{beam + "depth_mm = [-1.9364916731037085, 1.9364916731037085]\nsmallest_detail_mm = 0.5", 0.25, root3, root3, true, "in proportion"},
		{beam + "depth_mm = [-1.9364916731037085, 1.9364916731037085]\nsmallest_detail_mm = 0.5", 0.12, 0, 0, true, "too wide"},
	} {
		l, err := ReadLens(strings.NewReader(c.text), "some.toml")
		if err != nil {
			t.Fatal(err)
		}
		d, ok := l.DepthFor(c.detail)
		if ok != (c.near > 0) || math.Abs(d.Near-c.near) > 1e-12 || math.Abs(d.Far-c.far) > 1e-12 || d.Assumed != c.assumed || !strings.Contains(d.From, c.from) {
			t.Errorf("%q for %g: %+v, %v", c.text, c.detail, d, ok)
		}
	}
}

// A finer detail never has more depth, and a test is never widened.
func TestDepthForGrowsWithDetail(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := lens().Draw(t, "lens")
		if l.Validate() != nil {
			t.Skip()
		}
		a := rapid.Float64Range(0.01, 5).Draw(t, "fine")
		b := a * rapid.Float64Range(1, 10).Draw(t, "times")
		fine, okFine := l.DepthFor(a)
		coarse, okCoarse := l.DepthFor(b)
		if okFine && (!okCoarse || fine.Near > coarse.Near || fine.Far > coarse.Far) {
			t.Fatalf("%g: %+v, %g: %+v %v", a, fine, b, coarse, okCoarse)
		}
		if okCoarse && l.DepthMM != nil && (coarse.Near > -l.DepthMM[0] || coarse.Far > l.DepthMM[1]) {
			t.Fatalf("tested %v, %+v", *l.DepthMM, coarse)
		}
		if waist, zR, ok := l.Beam(); okFine && ok && l.DepthMM == nil {
			if d := optics.Diameter(waist, zR, fine.Far); d > a/StrokesOfDetail*(1+1e-9) {
				t.Fatalf("spot %g for a detail of %g", d, a)
			}
		}
	})
}
