package corridor

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"sagitta/internal/focus"
)

// Burns that meet, and that no c serves, are told by the gate where they do.
func TestApart(t *testing.T) {
	gates := seconds(false, 0, 0, -3, -3)
	gates[1].Take(&gates[2])
	gates[1].Meets = true
	p := Planner{Terms: Terms{Depth: focus.Depth{Near: 1, Far: 1}, Use: 0.5}}
	got := p.Plan(gates, Start{Free: true}, 3).Violations
	if len(got) != 1 || got[0].Kind != Apart || got[0].Gate != 1 || math.Abs(got[0].Amount-1) > 1e-9 {
		t.Errorf("%+v", got)
	}
}

// drawAsk draws what a burn or a travel asks of a place.
func drawAsk(t *rapid.T) Gate {
	g := Open()
	number := func(label string) float64 { return rapid.Float64Range(-2, 2).Draw(t, label) }
	g.High = number("high")
	if rapid.Bool().Draw(t, "burn") {
		g.Low = g.High - rapid.SampledFrom([]float64{0, 0.1}).Draw(t, "wide")
	}
	side := func(label string) float64 {
		return rapid.SampledFrom([]float64{0.3, 1, 1, 2.5}).Draw(t, label)
	}
	g.Depth = focus.Depth{Near: side("near"), Far: side("far")}
	return g
}

// Whatever meets at a gate is served by all that the gate allows of any part of the
// depth, and of none and of all of it nothing else is taken away.
func TestTakenTogether(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		all := rapid.SliceOfN(rapid.Custom(drawAsk), 1, 4).Draw(t, "asks")
		g := Open()
		for k := range all {
			g.Take(&all[k])
		}
		for _, part := range []float64{0, 1, rapid.Float64Range(0, 1).Draw(t, "part")} {
			both := focus.Window{Lo: math.Inf(-1), Hi: math.Inf(1)}
			for k := range all {
				both = both.Intersect(all[k].Window(focus.Depth{}, part))
			}
			w := g.Window(focus.Depth{}, part)
			if w.Lo < both.Lo-1e-12 || w.Hi > both.Hi+1e-12 {
				t.Fatalf("part %g: %v, beyond %v", part, w, both)
			}
			if exact := part == 0 || part == 1; exact && (w.Lo > both.Lo+1e-12 || w.Hi < both.Hi-1e-12) {
				t.Fatalf("part %g: %v, less than %v", part, w, both)
			}
		}
		again := Open()
		for range 2 {
			again.Take(&all[0])
		}
		if again.High != all[0].High || again.Low != all[0].Low || !math.IsInf(again.Low, 1) && again.Depth != all[0].Depth {
			t.Fatalf("%+v, taken twice: %+v", all[0], again)
		}
	})
}

// Gates with depths of their own are met by a path that keeps the rate wherever any two
// of them, at their whole depths, leave one, and refused where two do not; where two
// kinds meet that no c serves, that is what is said.
func TestKindsAreMet(t *testing.T) {
	met, apart := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		s := drawSettings(t, true)
		s.Slowest = 1
		gates := drawGates(t, drawing{burns: true, kinds: &s})
		p := Planner{Terms: s}
		plan := p.Plan(gates, Start{Free: true}, len(gates)-1)
		at, worst, own := times(gates), math.Inf(-1), math.Inf(-1)
		for k := range gates {
			w := gates[k].Window(s.Depth, 1)
			if gates[k].Meets {
				own = max(own, -w.Width())
			}
			for j := range gates {
				v := gates[j].Window(s.Depth, 1)
				worst = max(worst, w.Lo-v.Hi-s.Rate*math.Abs(at[k]-at[j]))
			}
		}
		if holds := len(plan.Violations) == 0; worst < -1e-6 && !holds || worst > 1e-6 && holds {
			t.Fatalf("%g mm apart: %+v", worst, plan.Violations)
		}
		for _, v := range plan.Violations {
			if v.Kind == Apart {
				apart++
				if math.Abs(v.Amount+gates[v.Gate].Window(s.Depth, 1).Width()) > 1e-9 || !gates[v.Gate].Meets || own < 0 {
					t.Fatalf("%+v", v)
				}
			}
		}
		if len(plan.Violations) > 0 {
			return
		}
		met++
		for k, c := range plan.Along(gates) {
			if w := gates[k].Window(s.Depth, 1); c < w.Lo-3*linkSlack || c > w.Hi+3*linkSlack {
				t.Fatalf("gate %d: %g outside %v", k, c, w)
			}
		}
	})
	t.Logf("%d met, %d apart", met, apart)
}
