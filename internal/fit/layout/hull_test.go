package layout

import (
	"math"
	"slices"
	"testing"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"

	"sagitta/internal/surface"

	"pgregory.net/rapid"
)

// The corners of a hull are points, have all points to their left on the way round, and
// are as many as a search through all pairs finds.
func TestHull(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		step := rapid.SampledFrom([]float64{0.25, 1e-3}).Draw(t, "step")
		var p []surface.Point
		for range rapid.IntRange(1, 60).Draw(t, "points") {
			x, y := rapid.Float64Range(0, 1).Draw(t, "x"), rapid.Float64Range(0, 1).Draw(t, "y")
			p = append(p, surface.Point{X: math.Round(x/step) * step, Y: math.Round(y/step) * step})
		}
		of := func(p surface.Point) orb.Point { return orb.Point{p.X, p.Y} }
		h := NewHull(p)
		if OnLine(p) {
			return
		}
		for k, a := range h {
			b := h[(k+1)%len(h)]
			if !slices.ContainsFunc(p, func(p surface.Point) bool { return of(p) == a }) {
				t.Fatalf("%v is none of the points", a)
			}
			for _, q := range p {
				if left(b, a, of(q)) {
					t.Fatalf("%v is to the right of the side from %v to %v", q, a, b)
				}
			}
		}
		if area := planar.Area(orb.Polygon{append(orb.Ring(h), h[0])}); !(area > 0) {
			t.Fatalf("area %g", area)
		}
	})
}

// A rectangle meets a hull where a place of it is in it: looked for at many
// places of both. Thin hulls pass between the places of a grid.
func TestHullMeets(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		draw := func(label string, lo, hi float64) float64 { return rapid.Float64Range(lo, hi).Draw(t, label) }
		thin := rapid.SampledFrom([]float64{1, 1e-3, 0}).Draw(t, "thin")
		slope := draw("slope", -2, 2)
		var p []surface.Point
		for range rapid.IntRange(3, 7).Draw(t, "points") {
			x := draw("x", 0, 1)
			p = append(p, surface.Point{X: x, Y: slope*x + thin*draw("y", 0, 1)})
		}
		h := NewHull(p)
		x0, y0 := draw("x0", -0.5, 1.2), draw("y0", -2, 3)
		wide, tall := draw("wide", 1e-3, 1), draw("tall", 1e-3, 1)
		if rapid.Bool().Draw(t, "on the line") {
			y0 = slope*x0 - tall/2
		}
		x1, y1 := x0+wide, y0+tall
		meets := h.Meets(x0, y0, x1, y1)
		// Places of the hull: on the lines between its corners.
		in := func(x, y, by float64) bool { return x >= x0-by && x <= x1+by && y >= y0-by && y <= y1+by }
		for i, a := range h {
			for _, b := range h[i:] {
				for k := range 101 {
					s := float64(k) / 100
					if x, y := a[0]+s*(b[0]-a[0]), a[1]+s*(b[1]-a[1]); !meets && in(x, y, -1e-6) {
						t.Fatalf("%g %g of the hull is in the rectangle", x, y)
					}
				}
			}
		}
		if !meets {
			return
		}
		// What is said to meet must not be further off than rounding: the
		// place of the hull's lines nearest to the rectangle.
		near := math.Inf(1)
		for i, a := range h {
			for _, b := range h[i:] {
				for k := range 2001 {
					s := float64(k) / 2000
					x, y := a[0]+s*(b[0]-a[0]), a[1]+s*(b[1]-a[1])
					near = min(near, max(x0-x, x-x1, y0-y, y-y1))
				}
			}
		}
		if near > 3e-3 && !h.Holds(x0, y0) && !h.Holds(x1, y1) {
			t.Fatalf("the rectangle is %g off", near)
		}
	})
}
