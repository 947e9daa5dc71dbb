package corridor

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"sagitta/internal/focus"
)

// The part of the depth that each gate of a burn needs under a rate is McShane's
// bound over every pair of gates, without sweeps; spending it, a path that keeps
// the rate is found, and less serves none.
func TestPartsAreLeast(t *testing.T) {
	forced := 0
	rapid.Check(t, func(t *rapid.T) {
		s := drawSettings(t, true)
		s.Slowest = 1
		gates := drawGates(t, drawing{burns: true})
		p := Planner{Terms: s}
		plan := p.Plan(gates, Start{Free: true}, len(gates)-1)
		at, d := times(gates), s.Depth
		worst, needs := 0.0, make([]float64, len(gates))
		for k := range gates {
			need := 0.0
			for j := range gates {
				r := s.Rate * math.Abs(at[k]-at[j])
				need = max(need, max(gates[k].High-gates[j].Low, gates[j].High-gates[k].Low)-r)
			}
			need /= d.Near + d.Far
			worst, needs[k] = max(worst, need), need
		}
		if met := len(plan.Violations) == 0; worst < 1-1e-6 && !met || worst > 1+1e-6 && met {
			t.Fatalf("%g times the depth: %+v", worst, plan.Violations)
		}
		for k, need := range needs {
			if worst <= 1 && math.Abs(max(0, p.need[k])-need) > 1e-6 {
				t.Fatalf("gate %d needs %g, by pairs %g", k, p.need[k], need)
			}
		}
		if worst > 1 || worst < s.Use {
			return
		}
		forced++
		for k, c := range plan.Along(gates) {
			if part := max((gates[k].High-c)/d.Near, (c-gates[k].Low)/d.Far); part > 1.1*worst+1e-6 {
				t.Fatalf("gate %d spends %g where %g would do", k, part, worst)
			}
		}
	})
	if forced == 0 {
		t.Error("none is forced")
	}
}

// Where even the whole depth does not do, burns are slowed, by no more time than
// any path on a grid of corrections needs.
func TestSlowedLeast(t *testing.T) {
	slowed := 0
	rapid.Check(t, func(t *rapid.T) {
		s := drawSettings(t, true)
		s.Slowest = 1e-12
		gates := drawGates(t, drawing{burns: true})
		for k := range gates {
			gates[k].Slow = true
		}
		p := Planner{Terms: s}
		plan := p.Plan(gates, Start{Free: true}, len(gates)-1)
		if len(plan.Violations) > 0 {
			return // heights that no one c serves
		}
		added := 0.0
		for k := 1; k < len(gates); k++ {
			added += p.dt[k] - gates[k].DT
		}
		const levels = 120
		lo, hi := math.Inf(1), math.Inf(-1)
		for k := range gates {
			w := gates[k].Window(s.Depth, 1)
			lo, hi = min(lo, w.Lo), max(hi, w.Hi)
		}
		step := (hi - lo) / levels
		best := make([]float64, levels+1) // the least time added up to each level of a gate
		for k := range gates {
			w, next := gates[k].Window(s.Depth, 1), make([]float64, levels+1)
			for q := range next {
				next[q] = math.Inf(1)
				if c := lo + float64(q)*step; c < w.Lo-step/2 || c > w.Hi+step/2 {
					continue // with half a step of grace the grid has a path
				}
				for r := range best {
					next[q] = min(next[q], best[r]+max(0, math.Abs(float64(q-r))*step/s.Rate-gates[k].DT))
				}
				if k == 0 {
					next[q] = 0
				}
			}
			best = next
		}
		least := math.Inf(1)
		for _, v := range best {
			least = min(least, v)
		}
		// A grid's path may be off by half a step at each end of every rise.
		if grace := float64(len(gates)) * step / s.Rate; added > least+grace+1e-6*least {
			t.Fatalf("slowed by %g s, on a grid by %g", added, least)
		}
		if added > 1e-3 {
			slowed++
		}
	})
	if slowed == 0 {
		t.Error("none is slowed")
	}
}

// Travels take longer before a burn spends more of the depth, and no longer than
// the way between the tubes of the burns asks for.
func TestTravelsTakeLonger(t *testing.T) {
	for _, c := range []struct {
		name         string
		rise, travel float64
		want         float64 // s
	}{
		{"level", 0, 0.5, 0.5},
		{"gentle", 1.3, 0.5, 0.5},
		{"steep", 3, 0.5, (3 - 2*0.45) / 2},
		{"down", -3, 0.5, (3 - 2*0.45) / 2},
		{"much", 30, 0.001, (30 - 2*0.45) / 2},
	} {
		gates := seconds(false, 0, 0, c.rise, c.rise)
		gates[2].DT, gates[2].Burn = c.travel, false
		p := Planner{Terms: Terms{Depth: focus.Depth{Near: 1, Far: 1}, Use: 0.5, Rate: 2, Slowest: 1}}
		plan := p.Plan(gates, Start{Free: true}, 3)
		if len(plan.Violations) > 0 || math.Abs(p.dt[2]-c.want) > 1e-5*c.want || p.dt[1] != 1 || p.dt[3] != 1 {
			t.Errorf("%s: travels for %g s, want %g; %+v", c.name, p.dt[2], c.want, plan.Violations)
		}
		for k, at := range plan.Along(gates) {
			if w := gates[k].Window(p.Depth, 0.5); at < w.Lo-linkSlack || at > w.Hi+linkSlack {
				t.Errorf("%s: gate %d spends more than half: %g of %v", c.name, k, at, w)
			}
		}
	}
}

// A start outside of the string's tube, where thinning may have left it, lets the
// string in hardly steeper than it has been.
func TestStartIsAdmitted(t *testing.T) {
	const hardly = 1.1
	admitted := 0
	rapid.Check(t, func(t *rapid.T) {
		s := drawSettings(t, false)
		gates := drawGates(t, drawing{burns: rapid.Bool().Draw(t, "burns")})
		p := Planner{Terms: s}
		before := p.Plan(gates, Start{Free: true}, len(gates)-1)
		if len(before.Violations) > 0 {
			return
		}
		// Begin anew in the middle, where the path stands, as after a commit.
		cut := before.Waypoints[rapid.IntRange(0, len(before.Waypoints)-1).Draw(t, "cut")]
		for gates[cut.Gate].S < 1 {
			return
		}
		peak := before.Peak
		from := Start{C: cut.C, Peak: peak, PeakBurn: before.PeakBurn}
		rest := append([]Gate(nil), gates[cut.Gate:]...)
		rest[0].DT, rest[0].Burn = 0, false
		p.Plan(rest, from, len(rest)-1)
		for k := 1; k < len(rest); k++ {
			if rise := math.Abs(p.c[k] - p.c[k-1]); rise > hardly*peak*p.dt[k]+4*linkSlack {
				t.Fatalf("from %g at gate %d: by %g in %g s, the peak being %g", cut.C, cut.Gate, rise, p.dt[k], peak)
			}
		}
		if w := rest[0].Window(s.Depth, Narrowing*s.Use); cut.C < w.Lo-1e-6 || cut.C > w.Hi+1e-6 {
			admitted++
		}
	})
	if admitted == 0 {
		t.Error("no start is outside of the string's tube")
	}
}
