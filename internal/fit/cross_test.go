package fit

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mat"

	"sagitta/internal/fit/fittest"
)

// Errors at wider spacings lead to that at the points' own: exactly for a
// power with and without noise, and half way on where the power itself grows
// as the spacing falls.
func TestAtSpacing(t *testing.T) {
	at := func(f func(h float64) float64, wider ...float64) (out []spacingError) {
		for _, h := range wider {
			out = append(out, spacingError{h, f(h)})
		}
		return out
	}
	power := func(n, c, p float64) func(h float64) float64 {
		return func(h float64) float64 { return n + c*spacingError{wider: h}.raised(p) }
	}
	for _, c := range []struct {
		name   string
		levels []spacingError
		order  float64
		want   float64
	}{
		{"a power", at(power(0, 0.04, 1.5), 2, 3, 4, 8), 2, 0.04},
		{"a power beyond the order", at(power(0, 0.04, 3), 2, 3, 4), 2, 0.04 * 64 / 16},
		{"noise alone", at(power(0.09, 0, 1), 2, 3, 4), 2, 0.09},
		{"noise and a power", at(power(0.09, 0.001, 2), 2, 3, 4), 2, 0.091},
		{"one level", at(power(0, 0.04, 1), 2), 2, 0.16},
		{"exact", at(power(0, 0, 1), 2, 3, 4), 2, 0},
		// Powers 1 between 2 and 4, and 0.5 between 4 and 8: 1.25 below 2.
		{"a growing power", []spacingError{{2, 1}, {3, 2.1}, {4, 4}, {8, 8}}, 2, math.Pow(2, -2.5)},
	} {
		if got, _ := atSpacing(c.levels, c.order, 0); math.Abs(got-c.want) > 1e-3*c.want+1e-12 {
			t.Errorf("%s: %v, want %v", c.name, got, c.want)
		}
	}
}

// The penalty is the integral of zxx² + 2 zxy² + zyy².
func TestBendingEnergy(t *testing.T) {
	s := &Smooth{nx: 5, ny: 7, step: 1, wider: 1}
	q := s.system(nil)
	w := s.nx + 3
	energy := func(f func(x, y float64) float64) float64 {
		v := mat.NewVecDense(q.n, nil)
		for a := range q.n {
			v.SetVec(a, f(float64(a%w-1), float64(a/w-1)))
		}
		return mat.Inner(v, q.bend, v)
	}
	// Coefficients of polynomials: those of x² are the places squared less
	// a third (B-splines on unit knots).
	for _, c := range []struct {
		name string
		f    func(x, y float64) float64
		want float64
	}{
		{"plane", func(x, y float64) float64 { return 3 + x - 2*y }, 0},
		{"twist", func(x, y float64) float64 { return x * y }, 2 * 35},
		{"bow along x", func(x, y float64) float64 { return x*x - 1./3 }, 4 * 35},
		{"bow along y", func(x, y float64) float64 { return y*y - 1./3 }, 4 * 35},
	} {
		if got := energy(c.f); math.Abs(got-c.want) > 1e-9 {
			t.Errorf("%s: %v, want %v", c.name, got, c.want)
		}
	}
}

// A plane through many touches is known better than each of them: to their noise times
// the square root of parameters over touches (JCGM 100, H.3, for a straight line).
func TestFormIsKnownBetterThanATouch(t *testing.T) {
	r := rand.New(rand.NewPCG(33, 34))
	p := fittest.Lattice(12, 9, func(x, y float64) float64 { return 0.01 * x }, 0.02, r)
	want := 0.02 * math.Sqrt(3./108)
	choice, err := Choose(p, nil, "plane", Given{})
	if err != nil || choice.ErrorMM < 0.7*want || choice.ErrorMM > 2*want {
		t.Errorf("error %v, want about %v (%v)", choice.ErrorMM, want, err)
	}
	// Nothing is known better than the last decimal.
	if choice, err := Choose(p, nil, "plane", Given{StepMM: 1}); err != nil || math.Abs(choice.ErrorMM-1/math.Sqrt(12)) > 1e-12 {
		t.Errorf("last decimal 1 mm: error %v", choice.ErrorMM)
	}
}
