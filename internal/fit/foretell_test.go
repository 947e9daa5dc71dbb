package fit

import (
	"math"
	"testing"

	"sagitta/internal/fit/form"
	"sagitta/internal/surface"
)

// Where all points of a plane settle it alike the sum of what is foretold has the degrees
// of freedom that are left over; where one of them stands alone it has fewer, as that one
// counts for more than the others.
func TestFreeOfHat(t *testing.T) {
	free := func(p []surface.Point) float64 {
		f, err := form.Fit("plane", p)
		if err != nil {
			t.Fatal(err)
		}
		return freeOfHat(len(p), f.Parameters(), f.Hat(p).At)
	}
	var corners []surface.Point
	for k := range 8 {
		corners = append(corners, surface.Point{X: float64(k % 2), Y: float64(k / 2 % 2), Z: 0.01 * float64(k*k%7)})
	}
	if n := free(corners); math.Abs(n-5) > 1e-6 {
		t.Errorf("%g degrees of freedom of 8 touches at the corners of a square, want 5", n)
	}
	corners[7].X, corners[7].Y = 6, 6
	if n := free(corners); !(n < 4.9 && n >= leastFree) {
		t.Errorf("%g degrees of freedom where one of 8 touches is far away", n)
	}
}
