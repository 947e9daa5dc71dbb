package fit

import (
	"math"
	"math/rand/v2"
	"testing"

	"sagitta/internal/fit/fittest"
	"sagitta/internal/fit/form"
	"sagitta/internal/surface"
	"sagitta/internal/touch"
)

// A recess stays in the surface however few touches it holds from two on, is said to
// be one, and the form bears it. Plates, bowed sheets and domes, recesses of 1.5 to 5
// spacings square, and grooves.
func TestRecessStays(t *testing.T) {
	r := rand.New(rand.NewPCG(51, 52))
	lost, quiet, plain, jobs := 0, 0, 0, 0
	for _, width := range []float64{1.5, 3, 5} {
		for _, length := range []float64{width, 6} {
			for n := range 2 {
				if n == 1 && width == 3 {
					continue // slow
				}
				base := []func(x, y float64) float64{
					func(x, y float64) float64 { return 0.01 * x },
					func(x, y float64) float64 { u := x/150 - 1; return -1.5 * u * u },
				}[n]
				const deep = -1.89
				x0, y0 := 75+50*r.Float64(), 40+30*r.Float64()
				in := func(p surface.Point) bool {
					return p.X >= x0 && p.X <= x0+25*length && p.Y >= y0 && p.Y <= y0+25*width
				}
				p := fittest.Lattice(13, 9, base, 0.01, r)
				held := 0
				for k := range p {
					if in(p[k]) {
						p[k].Z += deep
						held++
					}
				}
				if held < 2 {
					continue
				}
				jobs++
				m, err := Measure("recess.csv", &touch.Reading{Points: p}, MeasuredOptions{})
				if err != nil {
					t.Fatal(err)
				}
				for _, b := range m.LeftOut {
					if in(b.Point) {
						lost++
					}
				}
				if len(m.Steps) == 0 {
					quiet++
					t.Logf("width %v length %v, %d touches on base %d: not said", width, length, held, n)
				}
				if form.Is(m.Choice.Name) {
					plain++
				}
				// Near its edge the surface may be off by half of its depth.
				if most := m.Written.MostErrorMM; most < 0.28*-deep || most > 0.9*-deep {
					t.Errorf("width %v length %v: uncertain by no more than %.3f", width, length, most)
				}
				for _, q := range m.Points {
					if d := m.Choice.Shape.At(q.X, q.Y) - q.Z; math.Abs(d) > 0.4 {
						t.Errorf("width %v length %v: %s is %.3f off a touch that was kept", width, length, m.Choice.Name, d)
						break
					}
				}
			}
		}
	}
	if lost > 0 || quiet > 0 || plain > 0 {
		t.Errorf("of %d recesses touches of %d were left out, %d not said, %d read by a form", jobs, lost, quiet, plain)
	}
}

// BenchmarkRecess prints what became of recesses by their width in spacings, on sheets
// of all kinds.
func BenchmarkRecess(b *testing.B) {
	r := rand.New(rand.NewPCG(53, 54))
	for b.Loop() {
		for _, width := range []float64{1.5, 2, 3, 4, 5} {
			jobs, touches, lost, quiet := 0, 0, 0, 0
			for jobs < 50 {
				var s sheet
				s.draw(r)
				dx, dy := 300/float64(s.nx-1), 200/float64(s.ny-1)
				x0, y0 := (300-width*dx)*r.Float64(), (200-width*dy)*r.Float64()
				deep := -0.4 - 2*r.Float64()
				in := map[int]bool{}
				for k, p := range s.p {
					if p.X >= x0 && p.X <= x0+width*dx && p.Y >= y0 && p.Y <= y0+width*dy {
						s.p[k].Z += deep
						in[p.Line] = true
					}
				}
				if len(in) < 2 {
					continue
				}
				jobs++
				touches += len(in)
				m, _, err := s.sift()
				if err != nil {
					quiet++
					continue
				}
				said := false
				for _, p := range m.LeftOut {
					if in[p.Line] {
						lost++
					}
				}
				for _, d := range m.Doubts {
					for _, p := range d.Places {
						said = said || in[p.Line]
					}
				}
				if !said {
					quiet++
				}
			}
			b.Logf("%.1f spacings wide: %d recesses of %d touches, %d touches left out, %d recesses not said", width, jobs, touches, lost, quiet)
		}
	}
}
