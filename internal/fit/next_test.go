package fit

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/paulmach/orb"

	"sagitta/internal/surface"
	"sagitta/internal/touch"
)

// bumped is a sheet over 300 by 200 mm that is nearly flat but for a dome of that width,
// as narrow as a coarse grid shows at all.
func bumped(r *rand.Rand, width float64) func(x, y float64) float64 {
	a, bx, by := 0.5*r.NormFloat64(), 60+180*r.Float64(), 50+100*r.Float64()
	return func(x, y float64) float64 {
		return a*x/300 + 1.5*math.Exp(-((x-bx)*(x-bx)+(y-by)*(y-by))/(2*width*width))
	}
}

// off is the most by which a measured surface is off the truth.
func off(t *testing.T, p []surface.Point, z func(x, y float64) float64) (float64, *Measured) {
	t.Helper()
	m, err := Measure("touches", &touch.Reading{Points: slices.Clone(p), ResolutionMM: 0.001}, MeasuredOptions{KeepAll: true})
	if err != nil {
		t.Fatal(err)
	}
	most := 0.0
	for k := range 61 * 41 {
		x, y := 5*float64(k%61), 5*float64(k/61)
		if h := m.Choice.Shape.At(x, y); h == h {
			most = max(most, math.Abs(h-z(x, y)))
		}
	}
	return most, m
}

// Three rounds that go where the run asks for, half the touches of a full grid in all,
// lead to a surface that is at its worst place as good as the grid's, or as a gauge
// scatters.
func TestRoundsReachAGrid(t *testing.T) {
	r := rand.New(rand.NewPCG(51, 52))
	const noise, gauge = 0.005, 0.05
	var ratio []float64
	for range 8 {
		z := bumped(r, 18+8*r.Float64())
		full, _ := off(t, touched(r, 96, true, noise, z), z)
		p := touched(r, 24, true, noise, z)
		first, m := off(t, p, z)
		now := first
		for range 3 {
			next := m.Next(nil)
			for _, n := range next[:min(len(next), 8)] {
				x, y := n.At[0], n.At[1]
				p = append(p, surface.Point{X: x, Y: y, Z: z(x, y) + noise*r.NormFloat64(), Line: len(p) + 1})
			}
			now, m = off(t, p, z)
		}
		t.Logf("grid of 96: %.4f; 24 touches: %.4f, %d after three rounds: %.4f", full, first, len(p), now)
		ratio = append(ratio, now/max(full, gauge))
	}
	slices.Sort(ratio)
	if ratio[len(ratio)/2] > 1.5 {
		t.Errorf("off by %.2f of what a full grid is", ratio)
	}
}

// With a job, places are within reach of its burns; what is doubted comes first.
func TestNextServesTheJob(t *testing.T) {
	r := rand.New(rand.NewPCG(53, 54))
	z := bumped(r, 30)
	p := touched(r, 48, true, 0.005, z)
	p[20].Z += 2
	shift := [2]float64{1000, 0}
	m, err := Measure("touches", &touch.Reading{Points: p, ResolutionMM: 0.001}, MeasuredOptions{Shift: &shift})
	if err != nil {
		t.Fatal(err)
	}
	next := m.Next(orb.MultiLineString{{{1020, 20}, {1080, 60}}})
	if len(next) < 3 || next[0].At != [2]float64{p[20].X, p[20].Y} {
		t.Fatalf("%+v, want the doubted touch at %v,%v first", next, p[20].X, p[20].Y)
	}
	for _, n := range next[1:] {
		if n.Why == "doubted" {
			continue
		}
		if n.At[0] < 15 || n.At[0] > 85 || n.At[1] < 15 || n.At[1] > 65 {
			t.Errorf("%+v is far from what is burned", n)
		}
	}
}

// A dent that is found again later is no slip: it stays, and is doubted. A datum beside
// the rows of touches makes no surface that has no height at it.
func TestDentFoundAgain(t *testing.T) {
	r := rand.New(rand.NewPCG(55, 56))
	for again := range 2 {
		p := []surface.Point{{Line: 1}}
		for k := range 30 {
			x, y := 10+26*float64(k%6), 10+20*float64(k/6)
			z := 0.6*(1-(x/75-1)*(x/75-1)) + 0.004*r.NormFloat64()
			if k == 14 {
				z -= 0.9
			}
			p = append(p, surface.Point{X: x, Y: y, Z: z, Line: k + 2})
		}
		dent := p[15]
		if again == 1 {
			p = append(p, surface.Point{X: dent.X, Y: dent.Y, Z: dent.Z + 0.003, Line: 40})
		}
		p = append(p, surface.Point{Line: 41})
		m, err := Measure("touches", &touch.Reading{Points: p, ResolutionMM: 0.001}, MeasuredOptions{})
		if err != nil {
			t.Fatal(err)
		}
		out := slices.ContainsFunc(m.LeftOut, func(b LeftOut) bool { return b.Line == dent.Line })
		if out != (again == 0) || len(m.Doubts) == 0 {
			t.Errorf("found %d times again: left out %v, doubts %+v", again, m.LeftOut, m.Doubts)
		}
		if _, err := surface.Place(m.Written.Surface, m.Header.Placement()); err != nil {
			t.Error(err)
		}
		at := m.Choice.Shape.At(dent.X, dent.Y)
		u := m.Written.MostErrorMM
		if again == 1 && math.Abs(at-dent.Z) > 2*u+0.01 {
			t.Errorf("the dent is read as %.3f, not %.3f, and nothing more than %.3f is said", at, dent.Z, u)
		}
	}
}

// What a file says of its heights, no fit makes less.
func TestErrorThatIsSaidStays(t *testing.T) {
	r := rand.New(rand.NewPCG(57, 58))
	p := touched(r, 30, true, 0.01, func(x, y float64) float64 { return 0.01 * x })
	reading := &touch.Reading{Points: p, Header: surface.Header{ErrorMM: 0.5, ErrorSaid: true}, ResolutionMM: 0.001}
	for _, method := range []string{"auto", "bilinear", "smooth"} {
		m, err := Measure("touches", reading, MeasuredOptions{Method: method})
		if err != nil {
			t.Fatal(err)
		}
		if h := m.Written.Surface.Header(); h.ErrorMM < 0.5 {
			t.Errorf("%s: error %v", method, h.ErrorMM)
		}
	}
}
