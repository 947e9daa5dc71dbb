package surface

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// The quick way of At and the general one agree to the last bit, on uneven
// axes, at nodes, a step of float64 beside them, off the surface and at no
// place at all.
func TestAtQuickIsGeneral(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		axis := func(name string) []float64 {
			v := []float64{rapid.Float64Range(-100, 100).Draw(t, name)}
			for range rapid.IntRange(1, 7).Draw(t, name) {
				v = append(v, v[len(v)-1]+rapid.SampledFrom([]float64{1, 1, 1, 0.3, 7, 1e-5, 120}).Draw(t, name))
			}
			return v
		}
		x, y := axis("x"), axis("y")
		z := make([]float64, len(x)*len(y))
		method := rapid.SampledFrom([]string{"bilinear", "bicubic"}).Draw(t, "method")
		for k := range z {
			z[k] = rapid.Float64Range(-3, 3).Draw(t, "z")
			if method == "bilinear" && k > 0 && rapid.IntRange(0, 9).Draw(t, "hole") == 0 {
				z[k] = math.NaN()
			}
		}
		s, err := New(x, y, z)
		if err != nil {
			t.Skip(err)
		}
		p, err := Place(s, Placement{Method: method, Raw: true})
		if err != nil {
			t.Fatal(err)
		}
		place := func(node []float64, name string) float64 {
			v := node[rapid.IntRange(0, len(node)-1).Draw(t, name)]
			switch rapid.IntRange(0, 6).Draw(t, name) {
			case 0:
				return v
			case 1:
				return math.Nextafter(v, math.Inf(1))
			case 2:
				return math.Nextafter(v, math.Inf(-1))
			case 3:
				return rapid.SampledFrom([]float64{math.NaN(), math.Inf(1), math.Inf(-1), 1e300, -1e300}).Draw(t, name)
			}
			return rapid.Float64Range(node[0]-2, node[len(node)-1]+2).Draw(t, name)
		}
		px, py := place(x, "px"), place(y, "py")
		h, w := p.At(px, py)
		g, v := p.atEdge(p.Local(px, py))
		if math.Float64bits(h) != math.Float64bits(g) || w != v {
			t.Fatalf("%v (%v) at %v,%v, by the general way %v (%v)", h, w, px, py, g, v)
		}
	})
}

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
