package fit

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"

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

// The short way to Student's distribution is as near as it says.
func TestStudent(t *testing.T) {
	for _, free := range []float64{leastFree, 2.5, 3, 7, 40, 1e6} {
		exact := distuv.StudentsT{Mu: 0, Sigma: 1, Nu: free}
		for x := -12.0; x <= 12; x += 0.25 {
			if d := student(x, free) - exact.Survival(x); math.Abs(d) > 0.002 {
				t.Errorf("%g degrees of freedom: %g too much beyond %g", free, d, x)
			}
		}
		// What mostCovered says.
		if student(mostCovered, free) > 1-covered {
			t.Errorf("%g degrees of freedom: more than the least is beyond %g", free, mostCovered)
		}
	}
}

// An account counts by how many degrees of freedom bear it out, its kind as much as one
// form, and what hardly counts is dropped.
func TestWeigh(t *testing.T) {
	of := func(free, density float64, kind int) account {
		return account{foretold: foretold{free: free, density: density}, kind: kind}
	}
	two := spread{of(3, 1, 1), of(2, 2, 1)}.weigh(1)
	if w := two[1].weight / two[0].weight; math.Abs(w-math.Exp(2)) > 1e-9 {
		t.Errorf("twice e foretold, by two degrees of freedom: %g times as much, want e²", w)
	}
	if s := (spread{of(9, 1, 1), of(9, 1, 2), of(9, 1, 2)}).weigh(1); math.Abs(s[0].weight-0.5) > 1e-9 || math.Abs(s[2].weight-0.25) > 1e-9 {
		t.Errorf("two of one kind weigh %g beside %g", s[2].weight, s[0].weight)
	}
	if s := (spread{of(20, 1, 1), of(20, 0, 1)}).weigh(1); len(s) != 1 || s[0].weight != 1 {
		t.Errorf("%d accounts where one foretells nothing", len(s))
	}
	// Of points of which only some are heard each stands for several.
	if s := (spread{of(5, 1, 1), of(5, 0, 1)}).weigh(2); len(s) != 1 {
		t.Errorf("%d accounts heard by half of the points, where one foretells nothing", len(s))
	}
}
