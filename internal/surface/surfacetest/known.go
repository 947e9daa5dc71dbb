package surfacetest

import (
	"math"
	"math/rand"
)

// Known are the kinds of surfaces that Height draws: bent along one direction or both,
// twisted, like an S, with a bump, or of all that together.
var Known = []string{"bow", "dome", "twist", "S", "bump", "mixed"}

// Height draws a surface whose height is known everywhere, over a rectangle of w by h mm
// from the origin, some 0.5 to 3.5 mm from its lowest to its highest. A bump is no
// narrower than narrowest mm at half its height, an S as long as the sides or longer.
func Height(r *rand.Rand, kind string, w, h, narrowest float64) func(x, y float64) float64 {
	rise := 0.5 + 3*r.Float64()
	sin, cos := math.Sincos(r.Float64() * math.Pi)
	x0, y0 := r.Float64(), r.Float64()
	var f func(x, y float64) float64 // over the unit square
	switch kind {
	case "bow":
		f = func(x, y float64) float64 { u := cos*(x-0.5) + sin*(y-0.5); return -4 * u * u }
	case "dome": // or a saddle
		k := 2*r.Float64() - 1
		f = func(x, y float64) float64 { return -2 * ((x-x0)*(x-x0) + k*(y-y0)*(y-y0)) }
	case "twist":
		f = func(x, y float64) float64 { return 4*(x-0.5)*(y-0.5) + 2*(x-x0)*(x-x0) }
	case "S":
		phase := 2 * math.Pi * r.Float64()
		f = func(x, y float64) float64 { return math.Sin(2*math.Pi*(cos*x+sin*y)+phase) / 2 }
	case "bump":
		const widths = 2.3548 // 2 √(2 ln 2): of a normal curve at half its height
		s := narrowest / widths * (1 + 1.5*r.Float64())
		f = func(x, y float64) float64 {
			dx, dy := w*(x-x0)/s, h*(y-y0)/s
			return math.Exp(-(dx*dx + dy*dy) / 2)
		}
	default:
		var parts []func(x, y float64) float64
		for _, kind := range Known[:len(Known)-1] {
			parts = append(parts, Height(r, kind, w, h, narrowest))
		}
		return func(x, y float64) (z float64) {
			for _, part := range parts {
				z += part(x, y) / 3
			}
			return z
		}
	}
	return func(x, y float64) float64 { return rise * f(x/w, y/h) }
}
