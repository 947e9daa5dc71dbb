package fit

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"sagitta/internal/fit/fittest"
	"sagitta/internal/fit/layout"
	"sagitta/internal/surface"
)

// known are families of surfaces over 300 by 200 mm, drawn anew at each call.
var known = []struct {
	name string
	draw func(r *rand.Rand) func(x, y float64) float64
}{
	{"plane", func(r *rand.Rand) func(x, y float64) float64 {
		a, b := 0.01*r.NormFloat64(), 0.01*r.NormFloat64()
		return func(x, y float64) float64 { return a*x + b*y }
	}},
	{"bow", func(r *rand.Rand) func(x, y float64) float64 {
		a, b, c := 3*r.NormFloat64(), 2*r.NormFloat64(), 2*r.NormFloat64()
		return func(x, y float64) float64 {
			u, v := x/150-1, y/100-1
			return a*u*u + b*u*v + c*v*v
		}
	}},
	{"cylinder", func(r *rand.Rand) func(x, y float64) float64 {
		k, t := 1/(150+800*r.Float64()), r.Float64()
		return func(x, y float64) float64 { return -fittest.Sag(k, math.Cos(t)*(y-100)-math.Sin(t)*(x-150)) }
	}},
	{"sphere", func(r *rand.Rand) func(x, y float64) float64 {
		k := 1 / (300 + 3000*r.Float64())
		return func(x, y float64) float64 { return -fittest.Sag(k, math.Hypot(x-150, y-100)) }
	}},
	{"S", func(r *rand.Rand) func(x, y float64) float64 {
		a, p := 2*r.NormFloat64(), 2*math.Pi*r.Float64()
		return func(x, y float64) float64 { return a * math.Sin(p+2*math.Pi*x/300) * (1 + y/400) }
	}},
	{"bumps", func(r *rand.Rand) func(x, y float64) float64 {
		type bump struct{ x, y, w, h float64 }
		var b []bump
		for range 4 {
			b = append(b, bump{300 * r.Float64(), 200 * r.Float64(), 40 + 60*r.Float64(), r.NormFloat64()})
		}
		return func(x, y float64) float64 {
			z := 0.0
			for _, q := range b {
				z += q.h * math.Exp(-((x-q.x)*(x-q.x)+(y-q.y)*(y-q.y))/(2*q.w*q.w))
			}
			return z
		}
	}},
}

// waved is a cylinder with waves on it, whose lengths are 70 to 150 mm.
func waved(r *rand.Rand) func(x, y float64) float64 {
	k, high, turn := 1/(300+500*r.Float64()), 0.06+0.06*r.Float64(), 2*math.Pi*r.Float64()
	long, across := 70+80*r.Float64(), 70+80*r.Float64()
	return func(x, y float64) float64 {
		return high*math.Sin(turn+2*math.Pi*x/long)*math.Cos(2*math.Pi*y/across) - fittest.Sag(k, y-100)
	}
}

// touched draws n touches over 300 by 200 mm with noise, on a grid or anywhere.
func touched(r *rand.Rand, n int, grid bool, noise float64, z func(x, y float64) float64) []surface.Point {
	var p []surface.Point
	nx := int(math.Round(math.Sqrt(1.5 * float64(n))))
	ny := (n + nx - 1) / nx
	for k := range n {
		x, y := 300*r.Float64(), 200*r.Float64()
		if grid {
			x, y = 300*float64(k%nx)/float64(nx-1), 200*float64(k/nx)/float64(ny-1)
		}
		p = append(p, surface.Point{X: x, Y: y, Z: z(x, y) + noise*r.NormFloat64(), Line: k + 1})
	}
	return p
}

// seen is how often the truth was within twice what is stated, how large what is
// stated was against the truth, and of how many places.
type seen struct {
	within, all int
	ratio       []float64
}

// look makes a surface of touches and reads it at places within them, as any other run
// would: its height, and the greatest of the four uncertainties around.
func (s *seen) look(p []surface.Point, given Given, z func(x, y float64) float64, r *rand.Rand) error {
	c, err := Choose(p, layout.GridOf(p, 0.01), "auto", given)
	if err != nil {
		return err
	}
	w, err := c.Write(p, surface.Header{})
	if err != nil {
		return err
	}
	return s.over(w, p, z, r)
}

// over reads a surface made of touches.
func (s *seen) over(w *Written, p []surface.Point, z func(x, y float64) float64, r *rand.Rand) error {
	on, err := surface.Place(w.Surface, surface.Placement{Raw: true})
	if err != nil {
		return err
	}
	h, f := layout.NewHull(p), w.Surface
	var miss, said float64
	for range 60 {
		x, y := 300*r.Float64(), 200*r.Float64()
		got, where := on.At(x, y)
		if where != surface.On || !h.Holds(x, y) {
			continue
		}
		i, _ := slices.BinarySearch(f.X(), x)
		j, _ := slices.BinarySearch(f.Y(), y)
		i, j = max(i, 1), max(j, 1)
		u := max(f.ErrorAt(i-1, j-1), f.ErrorAt(i, j-1), f.ErrorAt(i-1, j), f.ErrorAt(i, j))
		off := math.Abs(got - z(x, y))
		if off <= 2*u {
			s.within++
		}
		s.all++
		miss, said = miss+off*off, said+u*u
	}
	if miss > 0 {
		s.ratio = append(s.ratio, math.Sqrt(said/miss))
	}
	return nil
}

func (s *seen) String() string {
	slices.Sort(s.ratio)
	return fmt.Sprintf("%.0f %% x%.1f", s.part(), s.ratio[len(s.ratio)/2])
}

func (s *seen) part() float64 { return 100 * float64(s.within) / float64(s.all) }

// BenchmarkCoverage prints how often the truth is within twice what is stated, and the
// middle of how many times what is stated is as large as the truth.
func BenchmarkCoverage(b *testing.B) {
	for b.Loop() {
		for _, n := range []int{6, 12, 24, 48, 96} {
			for _, noise := range []float64{0.005, 0.05} {
				line := fmt.Sprintf("%3d touches, noise %.3f:", n, noise)
				var whole seen
				for _, f := range known {
					var s seen
					r := rand.New(rand.NewPCG(uint64(n), 7))
					for d := range 20 {
						z := f.draw(r)
						_ = s.look(touched(r, n, d%2 == 0, noise, z), Given{StepMM: 0.001}, z, r)
					}
					line += fmt.Sprintf("  %s %v", f.name, &s)
					whole.within, whole.all = whole.within+s.within, whole.all+s.all
				}
				b.Logf("%s  all %.1f %%", line, whole.part())
			}
		}
		for _, n := range []int{24, 48, 96, 200} {
			line := fmt.Sprintf("%3d touches of waves on a cylinder", n)
			for _, told := range []float64{0.02, 0} {
				var s seen
				r := rand.New(rand.NewPCG(uint64(n), 7))
				for d := range 20 {
					z := waved(r)
					_ = s.look(touched(r, n, d%2 == 0, 0.02, z), Given{StepMM: 0.001, NoiseMM: told, NoiseFree: math.Inf(1)}, z, r)
				}
				line += fmt.Sprintf("; noise said to be %g: %v", told, &s)
			}
			b.Log(line)
		}
	}
}

// Twice what is stated holds the truth about as often as a normal distribution has it,
// whatever the surface, as long as the touches can tell it: BenchmarkCoverage prints
// more of it.
func TestCoverage(t *testing.T) {
	var whole seen
	for _, n := range []int{12, 48} {
		for _, f := range known {
			var s seen
			r := rand.New(rand.NewPCG(uint64(n), 11))
			for d := range 6 {
				z := f.draw(r)
				if err := s.look(touched(r, n, d%2 == 0, 0.03, z), Given{StepMM: 0.001}, z, r); err != nil {
					t.Fatal(err)
				}
			}
			t.Logf("%d touches of a %s: %v", n, f.name, &s)
			if s.part() < 70 || slices.Max(s.ratio) > 12 {
				t.Errorf("%d touches of a %s: within %.0f %%, stated up to %.1f times the truth", n, f.name, s.part(), slices.Max(s.ratio))
			}
			whole.within, whole.all = whole.within+s.within, whole.all+s.all
		}
	}
	if p := whole.part(); p < 91 || p > 98.5 {
		t.Errorf("the truth is within twice what is stated at %.1f %% of all places", p)
	}
}

// Six touches cannot exclude much of what may be between them, and that is in the error:
// by what they show alone a fifth of all places was further off.
func TestCoverageOfSix(t *testing.T) {
	var whole seen
	for _, f := range known {
		var s seen
		r := rand.New(rand.NewPCG(6, 11))
		for d := range 12 {
			z := f.draw(r)
			_ = s.look(touched(r, 6, d%2 == 0, 0.03, z), Given{StepMM: 0.001}, z, r)
		}
		t.Logf("6 touches of a %s: %v", f.name, &s)
		whole.within, whole.all = whole.within+s.within, whole.all+s.all
		whole.ratio = append(whole.ratio, s.ratio...)
	}
	slices.Sort(whole.ratio)
	if p := whole.part(); p < 88 {
		t.Errorf("the truth is within twice what is stated at %.1f %% of all places", p)
	}
	if m := whole.ratio[len(whole.ratio)/2]; m > 5 {
		t.Errorf("in the middle %.1f times what heights are off is stated", m)
	}
}

// Waves that a form leaves are stated: where touches are close enough together to foretell
// them, and, where their noise is known, also where they look like more of it.
func TestWavesAreStated(t *testing.T) {
	part := func(n int, grid bool, told float64) float64 {
		var s seen
		r := rand.New(rand.NewPCG(uint64(n), 13))
		for range 8 {
			z := waved(r)
			if err := s.look(touched(r, n, grid, 0.02, z), Given{StepMM: 0.001, NoiseMM: told, NoiseFree: 20}, z, r); err != nil {
				t.Fatal(err)
			}
		}
		t.Logf("%d touches, on a grid %v, noise said to be %g: %v", n, grid, told, &s)
		return s.part()
	}
	if p := part(48, true, 0.02); p < 85 {
		t.Errorf("48 touches on a grid, noise known: within %.0f %%", p)
	}
	if p := part(130, false, 0); p < 80 {
		t.Errorf("130 scattered touches: within %.0f %%", p)
	}
	if p := part(180, true, 0); p < 75 {
		t.Errorf("180 touches: within %.0f %%", p)
	}
}
