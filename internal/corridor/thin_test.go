package corridor

import (
	"math"
	"testing"

	"sagitta/internal/focus"
)

// In a tube that is one long move, the path has at most twice the links that any
// polyline needs: those of tube_optima.csv were found by a greedy sweep over
// windows of 401 levels.
func TestFewCorners(t *testing.T) {
	cases := tubeCases(t)
	for _, r := range readCSV(t, "testdata/tube_optima.csv") {
		tb, gates := cases[r[0]], []Gate(nil)
		n := len(tb.t) - 1
		for k := range tb.t {
			g := Open()
			g.High, g.Low = tb.lo[k]+1, tb.hi[k]-1 // spending ±1 leaves the tube itself
			if k > 0 {
				g.DT, g.S, g.Length, g.Burn = tb.t[k]-tb.t[k-1], tb.t[k]/tb.t[n], 1e6, true
			}
			gates = append(gates, g)
		}
		gates[n].S = 1
		p := Planner{Terms: Terms{Depth: focus.Depth{Near: 1, Far: 1}, Use: 1}}
		plan := p.Plan(gates, Start{C: tb.lo[0]}, n)
		if links, fewest := len(plan.Waypoints)-1, num(t, r[4]); float64(links) > 2*fewest {
			t.Errorf("%s: %d links, fewest %g", r[0], links, fewest)
		}
		for k, c := range plan.Along(gates) {
			if c < tb.lo[k]-2*linkSlack || c > tb.hi[k]+2*linkSlack {
				t.Errorf("%s: %g outside [%g, %g]", r[0], c, tb.lo[k], tb.hi[k])
			}
		}
		if peak := num(t, r[2]); len(plan.Violations) > 0 || math.Abs(plan.Peak-peak) > 1e-6 && plan.Peak < peak {
			t.Errorf("%s: peak %g, at least %g; %+v", r[0], plan.Peak, peak, plan.Violations)
		}
	}
}
