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
	"sagitta/internal/touch"
)

// sheet is a lattice of touches on a drawn surface that is known.
type sheet struct {
	name   string
	height func(x, y float64) float64
	nx, ny int
	noise  float64
	p      []surface.Point
	bad    map[int]bool // lines of touches that slipped
}

func (s *sheet) draw(r *rand.Rand) {
	w, h := 300.0, 200.0
	kinds := map[string]func() func(x, y float64) float64{
		"plane": func() func(x, y float64) float64 {
			a, b := 0.02*r.NormFloat64(), 0.02*r.NormFloat64()
			return func(x, y float64) float64 { return a*x + b*y }
		},
		"bow": func() func(x, y float64) float64 {
			a, b := 2*r.NormFloat64(), r.NormFloat64()
			return func(x, y float64) float64 { u, v := x/150-1, y/100-1; return a*u*u + b*v*v + 0.3*u*v }
		},
		"dome": func() func(x, y float64) float64 {
			k := 1 / (250 + 600*r.Float64())
			return func(x, y float64) float64 { return -fittest.Sag(k, math.Hypot(x-150, y-100)) }
		},
		"cylinder": func() func(x, y float64) float64 {
			k := 1 / (130 + 200*r.Float64())
			return func(x, y float64) float64 { return -fittest.Sag(k, y-100) }
		},
		"waves": func() func(x, y float64) float64 {
			a, u, v := 0.3+r.Float64(), 40+20*r.Float64(), 40+20*r.Float64()
			return func(x, y float64) float64 { return a * math.Sin(x/u) * math.Cos(y/v) }
		},
		"ridge": func() func(x, y float64) float64 {
			at, s := 100+100*r.Float64(), 0.02+0.03*r.Float64()
			return func(x, y float64) float64 { return -s * math.Abs(x-at) }
		},
		"rim": func() func(x, y float64) float64 {
			a := 0.5 + r.Float64()
			return func(x, y float64) float64 {
				u, v := math.Abs(x/150-1), math.Abs(y/100-1)
				return a * math.Pow(max(u, v), 4)
			}
		},
	}
	names := []string{"plane", "bow", "dome", "cylinder", "waves", "ridge", "rim"}
	s.name = names[r.IntN(len(names))]
	s.height = kinds[s.name]()
	s.nx, s.ny = 7+r.IntN(10), 6+r.IntN(7)
	s.noise = []float64{0.005, 0.01, 0.03}[r.IntN(3)]
	s.p, s.bad = nil, map[int]bool{}
	for j := range s.ny {
		for i := range s.nx {
			x, y := w*float64(i)/float64(s.nx-1), h*float64(j)/float64(s.ny-1)
			z := s.height(x, y) + s.noise*r.NormFloat64()
			s.p = append(s.p, surface.Point{X: x, Y: y, Z: math.Round(z*1000) / 1000, Line: len(s.p) + 1})
		}
	}
}

// slip puts a part of the touches off by 0.3 to 10 mm, a third of them with one beside
// them as much.
func (s *sheet) slip(part float64, r *rand.Rand) {
	for range int(math.Round(part * float64(len(s.p)))) {
		off := math.Copysign(0.3*math.Pow(10/0.3, r.Float64()), r.Float64()-0.5)
		k := r.IntN(len(s.p))
		if s.bad[k+1] {
			continue
		}
		s.p[k].Z += off
		s.bad[k+1] = true
		if r.IntN(6) == 0 && k%s.nx+1 < s.nx && !s.bad[k+2] {
			s.p[k+1].Z += off
			s.bad[k+2] = true
		}
	}
}

// sift takes the sheet up to where a form is chosen, with the error of the grid.
func (s *sheet) sift() (*Measured, float64, error) {
	m := &Measured{Reading: &touch.Reading{Points: append([]surface.Point(nil), s.p...)}}
	if err := m.merge(false); err != nil {
		return nil, 0, err
	}
	m.slips()
	if err := m.leaveOut(); err != nil {
		return nil, 0, err
	}
	m.doubt()
	g := layout.GridOf(m.Points, 0.01)
	return m, crossValidate(newForms(m.Points), g, "bilinear", false).ErrorMM, nil
}

// verdicts counts what became of touches.
type verdicts struct {
	jobs, refused                     int
	bad, out, doubted, covered, quiet int
	worst                             float64
	goodOut, goodSteps                int
	accused                           int // of rows in wrong places
	jobsQuiet, jobsGoodOut            int
}

func (v *verdicts) count(s *sheet, log func(string, ...any)) {
	v.jobs++
	v.bad += len(s.bad)
	m, errorMM, err := s.sift()
	if err != nil {
		v.refused++
		v.out += len(s.bad)
		return
	}
	named := map[int]bool{}
	if slices.Contains(m.slipped, true) {
		v.accused++
		if log != nil {
			log("%s %dx%d noise %g, %d bad: %s", s.name, s.nx, s.ny, s.noise, len(s.bad), m.Doubts[0].What)
		}
	}
	for _, d := range m.Doubts {
		for _, p := range d.Places {
			named[p.Line] = true
		}
	}
	quiet, lost := 0, 0
	for _, b := range m.LeftOut {
		if s.bad[b.Line] {
			v.out++
			named[b.Line] = true
			continue
		}
		lost++
		if log != nil {
			log("%s %dx%d noise %g: good touch left out, X%.0f Y%.0f off %.3f", s.name, s.nx, s.ny, s.noise, b.X, b.Y, b.OffMM)
		}
	}
	outs := map[int]bool{}
	for _, b := range m.LeftOut {
		outs[b.Line] = true
	}
	for _, p := range s.p {
		switch off := math.Abs(p.Z - s.height(p.X, p.Y)); {
		case !s.bad[p.Line]:
			if named[p.Line] && !outs[p.Line] {
				v.goodSteps++
			}
		case outs[p.Line]:
		case named[p.Line]:
			v.doubted++
		case off <= 3*errorMM+0.1:
			v.covered++
		default:
			v.quiet++
			quiet++
			v.worst = max(v.worst, off)
			if log != nil {
				log("%s %dx%d noise %g, %d bad: kept quietly, X%.0f Y%.0f off %.3f", s.name, s.nx, s.ny, s.noise, len(s.bad), p.X, p.Y, off)
			}
		}
	}
	v.goodOut += lost
	if quiet > 0 {
		v.jobsQuiet++
	}
	if lost > 0 {
		v.jobsGoodOut++
	}
}

func (v *verdicts) String() string {
	return fmt.Sprintf("%d jobs (%d refused), %d bad: %d out, %d doubted, %d covered by the error, %d kept quietly in %d jobs, worst %.2f mm; good ones: %d out in %d jobs, %d doubted; %d accused of wrong places",
		v.jobs, v.refused, v.bad, v.out, v.doubted, v.covered, v.quiet, v.jobsQuiet, v.worst, v.goodOut, v.jobsGoodOut, v.goodSteps, v.accused)
}

// slips draws sheets with a part of the touches bad.
func slips(part float64, jobs int, r *rand.Rand, log func(string, ...any)) *verdicts {
	v := &verdicts{}
	for range jobs {
		var s sheet
		s.draw(r)
		s.slip(part, r)
		v.count(&s, log)
	}
	return v
}

// Touches that slipped, alone and side by side, are left out or doubted, few are kept
// without a word, and none of the good ones of sheets, bows, domes, cylinders, waves,
// ridges and rims is left out, and hardly any doubted.
func TestDrawnSlips(t *testing.T) {
	r := rand.New(rand.NewPCG(41, 42))
	if v := slips(0, 25, r, t.Logf); v.goodOut > 0 || v.goodSteps > 2 {
		t.Errorf("good sheets: %v", v)
	}
	for _, part := range []float64{0.02, 0.05, 0.1} {
		v := slips(part, 15, r, t.Logf)
		if 20*v.quiet > v.bad || v.goodOut > 0 || v.goodSteps > 4 || v.refused > 1 {
			t.Errorf("%.0f %%: %v", 100*part, v)
		}
	}
}

// BenchmarkDrawnSlips prints what became of touches on a thousand drawn sheets.
func BenchmarkDrawnSlips(b *testing.B) {
	r := rand.New(rand.NewPCG(43, 44))
	for b.Loop() {
		for _, part := range []float64{0, 0.01, 0.02, 0.05, 0.1} {
			b.Logf("%3.0f %% bad: %v", 100*part, slips(part, 200, r, nil))
		}
	}
}
