package surface

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// No height within the radius of a rectangle is outside its bounds, and the
// bounds are those of the cells about it, not of the whole sheet.
func TestPeaksCertified(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawPlaced(t)
		k := NewPeaks(p)
		x0, y0 := drawPoint(t, p, "from")
		x1, y1 := drawPoint(t, p, "to")
		x0, x1, y0, y1 = min(x0, x1), max(x0, x1), min(y0, y1), max(y0, y1)
		r := rapid.SampledFrom(headRadii).Draw(t, "radius")
		low, high := k.Bounds(x0, y0, x1, y1, r)
		for range 40 {
			u := rapid.SampledFrom([]float64{0, 0.2, 0.5, 1}).Draw(t, "u")
			v := rapid.SampledFrom([]float64{0, 0.3, 0.7, 1}).Draw(t, "v")
			sin, cos := math.Sincos(rapid.SampledFrom([]float64{0, 0.8, 1.6, 2.6, 3.2, 4.7, 5.5}).Draw(t, "direction"))
			h, _ := p.At(lerp(x0, x1, u)+r*cos, lerp(y0, y1, v)+r*sin)
			if a := p.Allowance(); h > high+a || h < low-a {
				t.Fatalf("height %v at %v, %v of the rectangle; bounds %v to %v", h, u, v, low, high)
			}
		}
	})
}

func TestPeaksAreLocal(t *testing.T) {
	var x, z []float64
	for i := range 101 {
		x = append(x, float64(i))
	}
	for j := range 101 {
		for i := range 101 {
			h := 0.0
			if i == 50 && j == 50 {
				h = 7
			}
			z = append(z, h)
		}
	}
	s, err := New(x, x, z)
	if err != nil {
		t.Fatal(err)
	}
	p, err := Place(s, Placement{})
	if err != nil {
		t.Fatal(err)
	}
	k := NewPeaks(p)
	if _, high := k.Bounds(0, 0, 20, 20, 8); high != 0 {
		t.Errorf("far from the peak the bound is %v", high)
	}
	if _, high := k.Bounds(10, 10, 42, 43, 8); high != 7 {
		t.Errorf("8 mm from the peak's cells the bound is %v", high)
	}
}
