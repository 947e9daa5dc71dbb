package fit

import (
	"math"
	"slices"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"
	"pgregory.net/rapid"

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
	// What foretells better is not beaten by more degrees of freedom that bear out less.
	if s := (spread{of(45, -1, 1), of(45, 2.4, 1), of(20, 2.9, 1)}).weigh(1); len(s) != 1 || s[0].free != 20 {
		t.Errorf("%d accounts, the first of %g degrees of freedom, where one of 20 foretells far better", len(s), s[0].free)
	}
	// Of points of which only some are heard each stands for several.
	if s := (spread{of(5, 1, 1), of(5, 0, 1)}).weigh(2); len(s) != 1 {
		t.Errorf("%d accounts heard by half of the points, where one foretells nothing", len(s))
	}
}

// What touches scatter more than any probe does is of the surface, also where nothing says
// how much that is.
func TestUnseenByUsualNoise(t *testing.T) {
	of := func(sd float64) foretold { return foretold{variance: sd * sd, free: 8} }
	if mm := (Given{}).unseen(of(0.03)); mm > 1e-9 {
		t.Errorf("a scatter of 0.03 mm leaves %g mm of the surface", mm)
	}
	if mm := (Given{}).unseen(of(0.05)); math.Abs(mm-0.04) > 1e-9 {
		t.Errorf("a scatter of 0.05 mm leaves %g mm of the surface", mm)
	}
	if mm := (Given{}).unseen(of(0.3)); mm < 0.29 || mm > 0.3 {
		t.Errorf("a scatter of 0.3 mm leaves %g mm of the surface", mm)
	}
	if mm := (Given{NoiseMM: 0.3, NoiseFree: 20}).unseen(of(0.3)); mm != 0 {
		t.Errorf("a scatter of 0.3 mm that touches are known to have leaves %g mm of the surface", mm)
	}
}

// Each cell is about as sure as the least sure of its corners, and no corner less than one
// of the cells around it.
func TestCornersCoverCells(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		nx, ny := rapid.IntRange(1, 6).Draw(t, "nx"), rapid.IntRange(1, 6).Draw(t, "ny")
		cells := make([]float64, nx*ny)
		for k := range cells {
			cells[k] = rapid.Float64Range(0.001, 1).Draw(t, "cell")
		}
		mm, least := corners(cells, nx, ny), slices.Min(cells)
		for c, want := range cells {
			n := c/nx*(nx+1) + c%nx
			if got := max(mm[n], mm[n+1], mm[n+nx+1], mm[n+nx+2]); got*evenPart < want {
				t.Fatalf("cell %d of %v: %g, want %g", c, cells, got, want)
			}
		}
		for n, v := range mm {
			if v < least || !slices.Contains(cells, v) {
				t.Fatalf("corner %d of %v: %g", n, cells, v)
			}
		}
		// Where it only rises along both axes nothing is raised.
		for c := range cells {
			cells[c] = float64(1 + c%nx + c/nx)
		}
		for n, v := range corners(cells, nx, ny) {
			if want := float64(1 + max(n%(nx+1)-1, 0) + max(n/(nx+1)-1, 0)); v != want {
				t.Fatalf("corner %d of %d by %d even cells: %g, want %g", n, nx, ny, v, want)
			}
		}
	})
}
