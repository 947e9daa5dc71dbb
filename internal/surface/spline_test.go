package surface

import (
	"math"
	"testing"
)

// The error of the spline falls with the fourth power of the spacing, and is
// within 5/384 h⁴ max|f””| of the function for each axis, away from the ends
// (C. Hall and W. Meyer, J. Approximation Theory 16 (1976) 105, for the
// complete spline, whose bound the not-a-knot one nears inside).
func TestCubicErrorBound(t *testing.T) {
	f := func(x, y float64) float64 { return math.Sin(x) * math.Cos(0.7*y) }
	worst := func(h float64) float64 {
		var node []float64
		for k := range int(math.Round(16/h)) + 1 {
			node = append(node, float64(k)*h)
		}
		var z []float64
		for _, y := range node {
			for _, x := range node {
				z = append(z, f(x, y))
			}
		}
		s, err := New(node, node, z)
		if err != nil {
			t.Fatal(err)
		}
		p := mustPlace(t, s, Placement{Method: "bicubic"})
		most := 0.0
		for x := 5.0; x < 11; x += 0.037 {
			for y := 5.0; y < 11; y += 0.041 {
				g, _ := p.At(x, y)
				most = math.Max(most, math.Abs(g-f(x, y)))
			}
		}
		return most
	}
	for _, h := range []float64{0.5, 0.25} {
		bound := 5. / 384 * math.Pow(h, 4) * (1 + math.Pow(0.7, 4))
		// The product of both axes' errors is of higher order.
		if got := worst(h); got > bound*1.02 || got < bound/10 {
			t.Errorf("spacing %v: off by %v, bound %v", h, got, bound)
		}
	}
	if r := worst(0.5) / worst(0.25); r < 14 || r > 18 {
		t.Errorf("half the spacing divides the error by %v, want 16", r)
	}
}
