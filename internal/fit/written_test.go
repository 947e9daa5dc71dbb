package fit

import (
	"math"
	"math/rand/v2"
	"strconv"
	"strings"
	"testing"

	"sagitta/internal/fit/fittest"
	"sagitta/internal/fit/layout"
	"sagitta/internal/surface"
)

// What is written reads as what was fitted, within what is stated, and holds
// every touched point; beyond the hull, but for one cell, there is nothing.
func TestSheet(t *testing.T) {
	r := rand.New(rand.NewPCG(21, 22))
	for _, c := range []struct {
		method    string
		scattered bool
		shape     func(x, y float64) float64
	}{
		{"plane", false, func(x, y float64) float64 { return 0.1*x - 0.03*y }},
		{"plane", true, func(x, y float64) float64 { return 0.1*x - 0.03*y }},
		{"cylinder", false, func(x, y float64) float64 { return -fittest.Sag(1./70, y-60) }},
		{"cylinder", true, func(x, y float64) float64 { return -fittest.Sag(1./70, 0.8*y-0.6*x) }},
		{"sphere", true, func(x, y float64) float64 { return -fittest.Sag(1./200, math.Hypot(x-50, y-50)) }},
		{"cone", false, func(x, y float64) float64 { return fittest.Cone(80, 0.05, 0)(x, y-60) }},
		{"smooth", true, func(x, y float64) float64 { return math.Sin(x/20) * math.Cos(y/25) }},
		{"smooth", false, func(x, y float64) float64 { return math.Sin(x/20) * math.Cos(y/25) }},
		{"bicubic", false, func(x, y float64) float64 { return math.Sin(x/20) * math.Cos(y/25) }},
	} {
		var p []surface.Point
		for k := range 81 {
			x, y := float64(k%9)*12.5, float64(k/9)*15
			if c.scattered {
				x, y = 100*r.Float64(), 120*r.Float64()
				if k < 3 { // a hull with a long slanted side
					x, y = []float64{0, 100, 100}[k], []float64{0, 0, 120}[k]
				} else if y > 1.2*x {
					x, y = 100-x, 120-y
				}
			}
			p = append(p, surface.Point{X: x, Y: y, Z: c.shape(x, y), Line: k + 1})
		}
		choice, err := Choose(p, layout.GridOf(p, 0.01), c.method, Given{StepMM: 0.001})
		if err != nil {
			t.Fatalf("%s: %v", c.method, err)
		}
		written, err := choice.Write(p, surface.Header{})
		if err != nil {
			t.Fatalf("%s: %v", c.method, err)
		}
		placed, err := surface.Place(written.Surface, surface.Placement{Raw: true})
		if err != nil {
			t.Fatalf("%s: %v", c.method, err)
		}
		most := 0.0
		for k := range len(written.Surface.X()) * len(written.Surface.Y()) {
			most = max(most, written.Surface.ErrorAt(k%len(written.Surface.X()), k/len(written.Surface.X())))
		}
		if most < math.Hypot(choice.ErrorMM, written.ReadingMM/2)-1e-9 || written.ReadingMM > 0.01 {
			t.Errorf("%s: error of %v at most from %v and reading %v", c.method, most, choice.ErrorMM, written.ReadingMM)
		}
		for _, q := range p {
			if _, where := placed.At(q.X, q.Y); where != surface.On {
				t.Errorf("%s: touched point %v is not on the surface", c.method, q)
			}
		}
		h := layout.NewHull(p)
		x, y := written.Surface.X(), written.Surface.Y()
		cell := math.Hypot((x[len(x)-1]-x[0])/float64(len(x)-1), (y[len(y)-1]-y[0])/float64(len(y)-1))
		for range 3000 {
			px, py := 100*r.Float64(), 120*r.Float64()
			got, where := placed.At(px, py)
			if h.Holds(px, py) {
				if want := choice.Shape.At(px, py); where != surface.On || math.Abs(got-want) > 1.5*written.ReadingMM+2e-6 {
					t.Fatalf("%s: %v (%v) at %v,%v, fitted %v, stated %v", c.method, got, where, px, py, want, written.ReadingMM)
				}
			} else if where == surface.On && c.scattered && far(h, px, py) > 1.1*cell {
				t.Fatalf("%s: a height %.1f mm beyond the hull, cells of %.1f", c.method, far(h, px, py), cell)
			}
		}
	}
}

// far is the distance from a hull.
func far(h layout.Hull, x, y float64) float64 {
	best := math.Inf(1)
	for k, a := range h {
		b := h[(k+1)%len(h)]
		dx, dy := b[0]-a[0], b[1]-a[1]
		t := min(max(((x-a[0])*dx+(y-a[1])*dy)/(dx*dx+dy*dy), 0), 1)
		best = min(best, math.Hypot(a[0]+t*dx-x, a[1]+t*dy-y))
	}
	return best
}

// A strict file of scattered points is fitted when it is loaded; a bad touch
// in it is refused by its line; a grid without a wish stays as it is.
func TestLoad(t *testing.T) {
	r := rand.New(rand.NewPCG(23, 24))
	var good strings.Builder
	good.WriteString("# noise_mm: 0.004\nx,y,z\n")
	line := func(b *strings.Builder, x, y, z float64) {
		b.WriteString(strings.Join([]string{sprint(x), sprint(y), sprint(z)}, ",") + "\n")
	}
	for range 40 {
		x, y := 100*r.Float64(), 100*r.Float64()
		line(&good, x, y, 2+0.01*x)
	}
	s, err := Load(strings.NewReader(good.String()), "f", "auto")
	if err != nil {
		t.Fatal(err)
	}
	p, err := surface.Place(s.Surface, surface.Placement{})
	if err != nil {
		t.Fatal(err)
	}
	if h, where := p.At(50, 50); where != surface.On || math.Abs(h-2.5) > 1e-3 || s.Source().Name != "f" || s.Header().NoiseMM != 0.004 {
		t.Errorf("height %v (%v), header %+v", h, where, s.Header())
	}
	if _, err := Load(strings.NewReader(good.String()), "f", ""); err == nil || !strings.Contains(err.Error(), "use the method auto") {
		t.Errorf("scattered points without a fit: %v", err)
	}
	line(&good, 40, 60, 5)
	if _, err := Load(strings.NewReader(good.String()), "f", "auto"); err == nil || !strings.HasPrefix(err.Error(), "f:43:1: a touch is +2.6") {
		t.Errorf("a bad touch: %v", err)
	}
	grid := "y\\x,0,10,20\n0,0,1,0\n10,0,1,0\n20,0,1,0\n"
	if s, err = Load(strings.NewReader(grid), "f", ""); err != nil || s.Height(1, 1) != 1 || s.Header().Method != "" {
		t.Errorf("a grid: %v %v", s, err)
	}
	if s, err = Load(strings.NewReader(grid), "f", "plane"); err != nil || math.Abs(s.Height(0, 0)-1./3) > 1e-6 {
		t.Errorf("a plane of a grid: %v", err)
	}
}

func sprint(v float64) string { return strconv.FormatFloat(v, 'f', 4, 64) }
