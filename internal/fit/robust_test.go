package fit

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"sagitta/internal/fit/form"
	"sagitta/internal/fit/layout"
	"sagitta/internal/fit/sift"
	"sagitta/internal/surface"
)

// Whatever is touched, near-degenerate above all, leads to an error or to a
// surface that can be placed, holds the points and has a finite error.
func TestAnyPoints(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(3, 24).Draw(t, "n")
		scale := rapid.SampledFrom([]float64{1, 100, 1e5}).Draw(t, "scale")
		shift := rapid.SampledFrom([]float64{0, 0, 500, -9e5}).Draw(t, "shift")
		high := rapid.SampledFrom([]float64{0, 1e-6, 1, 50}).Draw(t, "high")
		kind := rapid.SampledFrom([]string{"any", "lattice", "two lines", "nearly a line", "clusters"}).Draw(t, "kind")
		f := rapid.Float64Range(0, 1)
		var p []surface.Point
		for k := range n {
			x, y := f.Draw(t, "x"), f.Draw(t, "y")
			switch kind {
			case "lattice":
				x, y = float64(k%4)/3, float64(k/4)/5
			case "two lines":
				y = float64(k % 2)
			case "nearly a line":
				y = x + 1e-3*y
			case "clusters":
				x, y = math.Round(x)+1e-3*x, math.Round(y)+1e-3*y
			}
			q := surface.Point{X: shift + scale*x, Y: shift + scale*y, Z: high * (f.Draw(t, "z") - 0.5), Line: k}
			apart := true
			for _, o := range p {
				apart = apart && math.Hypot(o.X-q.X, o.Y-q.Y) > 1e-4*scale
			}
			if apart {
				p = append(p, q)
			}
		}
		if _, _, err := sift.Outliers(p); err != nil {
			return
		}
		method := rapid.SampledFrom([]string{"auto", "auto", "plane", "cylinder", "cone", "sphere", "smooth", "bilinear", "bicubic"}).Draw(t, "method")
		grid := layout.GridOf(p, 1e-5*scale)
		c, err := Choose(p, grid, method, Given{})
		if err != nil {
			return
		}
		s, err := c.Write(p, surface.Header{})
		if err != nil {
			return
		}
		if h := s.Surface.Header(); !(h.ErrorMM >= 0 && h.ErrorMM < 1e6) {
			t.Fatalf("error %v", h.ErrorMM)
		}
		placed, err := surface.Place(s.Surface, surface.Placement{Raw: true})
		if err != nil {
			t.Fatalf("%s: %v", c.Name, err)
		}
		if c.Round != nil {
			form.FlatnessOf(p)
			SkinOf(c.Shape, p)
			return // a round may end within the points
		}
		for _, q := range p {
			if _, w := placed.At(q.X, q.Y); w != surface.On && c.Grid == nil {
				t.Fatalf("%s: %v is not on the surface", c.Name, q)
			}
		}
	})
}
