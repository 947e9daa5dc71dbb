package fit

import (
	"cmp"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"sagitta/internal/fit/fittest"
	"sagitta/internal/surface"
	"sagitta/internal/touch"
)

// Waves as long as three places of a lattice of four can pass for a cone or a cylinder,
// and then nothing but a doubt tells. Where what it asks for is touched, heights are known
// as is said of them; and what is bowed in truth keeps its form, and is no longer doubted.
func TestFewRowsAreDoubted(t *testing.T) {
	r := rand.New(rand.NewPCG(61, 62))
	var passed, before, after seen
	doubts := func(m *Measured) (of []Doubt) {
		for _, d := range m.Doubts {
			if strings.Contains(d.What, "their spacings") {
				of = append(of, d)
			}
		}
		return of
	}
	measure := func(p []surface.Point) *Measured {
		m, err := Measure("touches", &touch.Reading{Points: p, ResolutionMM: 0.001}, MeasuredOptions{})
		if err != nil {
			t.Fatal(err)
		}
		return m
	}
	for k := range 40 {
		wave := k%2 == 0
		high, turn, lean := 1+r.Float64(), 2*math.Pi*r.Float64(), 0.003*r.NormFloat64()
		z := func(x, y float64) float64 {
			if !wave {
				return lean*y - fittest.Sag(1/(3000+2000*high), x-150)
			}
			return high*math.Cos(turn+2*math.Pi*x/300) + lean*y
		}
		p := fittest.Lattice(4, 3, z, 0.03, r)
		m := measure(p)
		of := doubts(m)
		if m.Choice.Name != "cylinder" && m.Choice.Name != "cone" {
			if len(of) > 0 {
				t.Errorf("a %s is doubted: %v", m.Choice.Name, of)
			}
			continue
		}
		if len(of) == 0 {
			t.Errorf("a %s over 4 x 3 places is not doubted", m.Choice.Name)
			continue
		}
		for _, n := range m.Next(nil) {
			for _, q := range of[0].Places {
				if d := math.Hypot(n.At[0]-q.X, n.At[1]-q.Y); n.Why != "doubted" && d < 20 {
					t.Errorf("a touch at %v is asked for %.0f mm beside one that is doubted", n.At, d)
				}
			}
		}
		for _, q := range of[0].Places {
			p = append(p, surface.Point{X: q.X, Y: q.Y, Z: z(q.X, q.Y) + 0.03*r.NormFloat64(), Line: len(p) + 1})
		}
		again := measure(p)
		if of := doubts(again); len(of) > 0 && len(again.LeftOut) == 0 {
			t.Errorf("doubted when it was touched: %v", of)
		}
		if !wave {
			if again.Choice.Name == "smooth" {
				t.Errorf("a bow was a %s, and then %s", m.Choice.Name, again.Choice.Name)
			}
			continue
		}
		passed.all++
		if err := cmp.Or(before.over(m.Written, m.Points, z, r), after.over(again.Written, again.Points, z, r)); err != nil {
			t.Fatal(err)
		}
	}
	if passed.all < 5 {
		t.Fatalf("%d waves passed for a form: these tell nothing", passed.all)
	}
	t.Logf("of %d waves that passed for a form, heights are within what is said at %.0f %% of places, touched again at %.0f %%", passed.all, before.part(), after.part())
	if after.part() < 85 || before.part() > 90 {
		t.Errorf("within %.0f %%, touched again %.0f %%", before.part(), after.part())
	}
}
