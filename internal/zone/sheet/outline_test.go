package sheet

import (
	"math"
	"testing"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"
	"pgregory.net/rapid"

	"sagitta/internal/cover"
	"sagitta/internal/surface"
	"sagitta/internal/surface/surfacetest"
)

// sheet100 is a surface over 0 to 100 each way.
func sheet100(t testing.TB, h func(x, y float64) float64) *surface.Placed {
	t.Helper()
	var x []float64
	for v := 0.0; v <= 100; v += 2 {
		x = append(x, v)
	}
	return surfacetest.Of(t, "", x, x, h)
}

// The band of a plane is a stripe, and that of a cone a ring with a hole: plane
// geometry.
func TestBandsOfKnownArea(t *testing.T) {
	for _, c := range []struct {
		name  string
		h     func(x, y float64) float64
		area  float64
		rings int
	}{
		{"stripe", func(x, y float64) float64 { return x / 10 }, 100 * 20, 1},
		{"stripe aslant", func(x, y float64) float64 { return (x + y) / 10 }, (50*50 - 30*30) / 2, 1},
		{"ring", func(x, y float64) float64 { return math.Hypot(x-50, y-50) / 5 }, math.Pi * (25*25 - 15*15), 2},
		{"all", func(x, y float64) float64 { return 4 }, 100 * 100, 1},
		{"none", func(x, y float64) float64 { return x / 50 }, 0, 0},
		{"within a rim", func(x, y float64) float64 { return max(3, math.Hypot(x-50, y-50)/5) }, math.Pi * 25 * 25, 1},
		{"two", func(x, y float64) float64 { return math.Abs(x-50) / 5 }, 2 * 100 * 10, 2},
		{"corners", func(x, y float64) float64 { return (200 - x - y) / 10 }, (50*50 - 30*30) / 2, 1},
		{"around a hole", func(x, y float64) float64 {
			if math.Max(math.Abs(x-50), math.Abs(y-50)) < 19 {
				return math.NaN()
			}
			return 4
		}, 100*100 - 40*40, 2},
	} {
		got := newMesh(sheet100(t, c.h)).band(cover.Span{Lo: 3, Hi: 5})
		rings := 0
		for _, p := range got {
			rings += len(p)
			for i, r := range p {
				if !r.Closed() || (r.Orientation() == orb.CCW) != (i == 0) {
					t.Errorf("%s: %v", c.name, r)
				}
			}
		}
		if area := planar.Area(got); math.Abs(area-c.area) > 0.03*c.area || rings != c.rings {
			t.Errorf("%s: %g mm² in %d rings, want %g in %d", c.name, area, rings, c.area, c.rings)
		}
	}
}

// Holes belong to the ring around them, not to one further out: ripples are
// rings within rings.
func TestBandsOfRipples(t *testing.T) {
	ripple := func(r float64) float64 { return 4 + 2*math.Cos(r/3) }
	outline := newMesh(sheet100(t, func(x, y float64) float64 { return ripple(math.Hypot(x-50, y-50)) })).band(cover.Span{Lo: 4, Hi: 7})
	for r := 0.0; r < 48; r += 3 * math.Pi { // in the middle of each ring and between two
		at := orb.Point{50 + r, 50}
		if inside := planar.MultiPolygonContains(outline, at); inside != (ripple(r) > 4) {
			t.Errorf("%v: inside %v, at a height of %g", at, inside, ripple(r))
		}
	}
}

// Places well within a band are inside its outline, and those well without are
// outside, on drawn surfaces.
func TestBandsHoldTheirPlaces(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		heights := rapid.SliceOfN(rapid.Float64Range(-1, 1), 16, 16).Draw(t, "heights")
		axis := []float64{0, 20, 50, 60}
		s, err := surface.New(axis, axis, heights)
		if err != nil {
			t.Fatal(err)
		}
		p, err := surface.Place(s, surface.Placement{Method: "bicubic", RotateDeg: rapid.SampledFrom([]float64{0, 30, 135}).Draw(t, "turned")})
		if err != nil {
			t.Fatal(err)
		}
		band := cover.Span{Lo: rapid.Float64Range(-1, 0.2).Draw(t, "lo")}
		band.Hi = band.Lo + 0.8
		outline := newMesh(p).band(band)
		for _, poly := range outline {
			for _, r := range poly {
				if len(r) < 4 || !r.Closed() {
					t.Fatalf("no ring: %v", r)
				}
			}
		}
		for k := range 400 {
			at := orb.Point{}
			at[0], at[1] = p.Program(1+58*float64(k%20)/19, 1+58*float64(k/20)/19)
			h, _ := p.At(at[0], at[1])
			gx, gy := p.Grad(at[0], at[1])
			off := 0.02 + 1.5*math.Hypot(gx, gy) // of a cell
			inside := planar.MultiPolygonContains(outline, at)
			if h > band.Lo+off && h < band.Hi-off && !inside || (h < band.Lo-off || h > band.Hi+off) && inside {
				t.Fatalf("%v at %.3f, band %v: inside %v", at, h, band, inside)
			}
		}
	})
}
