package surfacetest

import (
	"math"

	"pgregory.net/rapid"

	"sagitta/internal/surface"
)

// Wild draws a surface with uneven nodes, cells no narrower than given, heights
// from -2 to 2 mm and perhaps holes, turned and shifted.
func Wild(t *rapid.T, method string, holes bool, narrowest float64) *surface.Placed {
	axis := func(name string) []float64 {
		n := rapid.IntRange(2, 7).Draw(t, "nodes "+name)
		v := []float64{rapid.Float64Range(-20, 5).Draw(t, "first "+name)}
		for range n - 1 {
			step := rapid.OneOf(rapid.Float64Range(0.5, 12), rapid.Just(5.0), rapid.Float64Range(narrowest, 5*narrowest)).Draw(t, "step "+name)
			v = append(v, v[len(v)-1]+step)
		}
		return v
	}
	x, y := axis("x"), axis("y")
	z := make([]float64, len(x)*len(y))
	good := false
	for i := range z {
		z[i] = rapid.Float64Range(-2, 2).Draw(t, "z")
		if holes && rapid.IntRange(0, 9).Draw(t, "hole") == 0 {
			z[i] = math.NaN()
		}
		good = good || z[i] == z[i]
	}
	if !good {
		z[0] = 1
	}
	p := place(t, x, y, z, nil, surface.Placement{
		ShiftX:    rapid.Float64Range(-50, 50).Draw(t, "shift x"),
		ShiftY:    rapid.Float64Range(-50, 50).Draw(t, "shift y"),
		RotateDeg: rapid.OneOf(rapid.SampledFrom([]float64{0, 90, 180, 270, 45}), rapid.Float64Range(-180, 180)).Draw(t, "turn"),
		Method:    method,
	})
	if p.MaxSlope() > maxSlope {
		t.Skip("steeper than any stock")
	}
	return p
}

// maxSlope is the slope up to which a place that is known to a nanometre tells
// the height as well as verify decides by it. Splines through random heights a
// micrometre apart go beyond.
const maxSlope = 250
