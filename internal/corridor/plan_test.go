package corridor

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"sagitta/internal/focus"
)

// A path must have a corner at each end of a move, others only where a move can
// be cut, and stay in the spent tube between links that are no steeper than the
// string is anywhere, within two percent.
func TestPathStaysInTheTube(t *testing.T) {
	cuts, starts := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		rated := rapid.Bool().Draw(t, "rated")
		s := drawSettings(t, rated)
		d := drawing{rated: rated, limits: rapid.Bool().Draw(t, "limits"), close: rapid.Bool().Draw(t, "close")}
		if rapid.Bool().Draw(t, "kinds") {
			d.kinds = &s
		}
		gates := drawGates(t, d)
		from := drawStart(t, &s, &gates[0])
		end := len(gates) - 1
		for range rapid.IntRange(0, 2).Draw(t, "ahead") {
			end = max(1, end-1)
		}
		for gates[end].S < 1 {
			end++
		}
		p := Planner{Terms: s}
		plan := p.Plan(gates, from, end)
		at := 0
		for k, c := range plan.Waypoints {
			g := &gates[c.Gate]
			if k == 0 {
				if c.Gate != 0 || !from.Free && c.C != from.C {
					t.Fatalf("begins with %+v", c)
				}
				continue
			}
			for q := at + 1; q < c.Gate; q++ {
				if gates[q].S == 1 {
					t.Fatalf("no corner at gate %d, where a move ends", q)
				}
			}
			before := gates[at].S
			if before == 1 {
				before = 0
			}
			if g.S < 1 && (min(g.S-before, 1-g.S)*g.Length < ClosestCut-1e-9) {
				t.Fatalf("cut at %g of %g mm, after one at %g", g.S, g.Length, before)
			}
			if g.S < 1 {
				cuts++
			}
			at = c.Gate
		}
		if at != end {
			t.Fatalf("ends at gate %d, not %d", at, end)
		}
		if len(plan.Violations) > 0 {
			return // the path then goes through the middle of what is empty
		}
		if !from.Free {
			starts++
		}
		for _, c := range plan.Waypoints {
			// Where all is level nothing is gained by leaving the string.
			if plan.Peak < 1e-12 && math.Abs(c.C-p.c[c.Gate]) > 2*linkSlack {
				t.Fatalf("%+v off the level string, which is at %g", c, p.c[c.Gate])
			}
		}
		isForced := slices.ContainsFunc(plan.Waypoints, func(c Waypoint) bool { return c.Forced })
		for k, c := range plan.Along(gates) {
			part := p.spent[k]
			if isForced {
				part = 1
			}
			if w := gates[k].Window(s.Depth, part); c < w.Lo-3*linkSlack || c > w.Hi+3*linkSlack {
				if k == 0 && !from.Free {
					continue // it is given
				}
				t.Fatalf("gate %d: %v outside %v, spending %g", k, c, w, part)
			}
		}
		if isForced && !d.close && !d.limits { // limits may ask for more than the rate
			t.Fatal("forced, though there is room for corners")
		}
		if isForced {
			return
		}
		for k := 1; k < len(plan.Waypoints); k++ {
			a, b := plan.Waypoints[k-1], plan.Waypoints[k]
			seconds, burn, longer := 0.0, true, 1.0
			for q := a.Gate + 1; q <= b.Gate; q++ {
				seconds += gates[q].DT
				burn = burn && gates[q].Burn
				longer = max(longer, p.dt[q]/gates[q].DT)
			}
			peak := plan.Peak
			if burn {
				peak = plan.PeakBurn
			}
			most := 1.02 * peak * longer
			if rated {
				most = min(most, s.Rate*longer)
			}
			if rise := math.Abs(b.C - a.C); rise > most*seconds*(1+1e-5)+4*linkSlack {
				t.Fatalf("from gate %d to %d by %g in %g s, at a peak of %g", a.Gate, b.Gate, rise, seconds, peak)
			}
		}
	})
	if cuts == 0 || starts == 0 {
		t.Errorf("%d cuts, %d given starts", cuts, starts)
	}
}

// Where nothing is asked, and where the rest value serves all, the path is the
// rest value to the last bit, whatever the gates are like.
func TestPathRests(t *testing.T) {
	one := []Gate{Open()}
	for _, rest := range []float64{0, 0.3} {
		p := Planner{Terms: Terms{Depth: focus.Depth{Near: 1, Far: 2}, Use: 0.5, Rest: rest}}
		if got := p.Plan(one, Start{Free: true, C: rest}, 0); len(got.Waypoints) != 1 || got.Waypoints[0].C != rest || len(got.Violations) > 0 {
			t.Errorf("one gate: %+v", got)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		s := drawSettings(t, rapid.Bool().Draw(t, "rated"))
		gates := drawGates(t, drawing{})
		for k := range gates { // shift them so that rest serves
			g := &gates[k]
			g.High, g.Low = min(g.High, s.Rest+Narrowing*s.Use*s.Depth.Near*0.99), max(g.Low, s.Rest-Narrowing*s.Use*s.Depth.Far*0.99)
		}
		p := Planner{Terms: s}
		plan := p.Plan(gates, Start{Free: true, C: s.Rest}, len(gates)-1)
		for k, c := range plan.Along(gates) {
			if c != s.Rest {
				t.Fatalf("gate %d: %v", k, c)
			}
		}
	})
}

// seconds makes burns of one gate a second, 10 mm long, over the heights, each
// its own height from low to high.
func seconds(slow bool, heights ...float64) []Gate {
	var gates []Gate
	for k, h := range heights {
		g := Open()
		g.Serve(h, h)
		if k > 0 {
			g.DT, g.Length, g.Burn, g.Slow = 1, 10, true, slow
		}
		gates = append(gates, g)
	}
	return gates
}

// What cannot be met is returned with its gate and by how much, once for each
// place, and the path still goes on.
func TestBreaches(t *testing.T) {
	edit := func(gates []Gate, k int, f func(g *Gate)) []Gate {
		f(&gates[k])
		return gates
	}
	for name, c := range map[string]struct {
		gates []Gate
		rate  float64
		want  []Violation
	}{
		"all serve":                {seconds(false, 0, 1, 3), 0, nil},
		"too much for one c":       {edit(seconds(false, 0, 1, 3), 1, func(g *Gate) { g.Serve(3, -1) }), 0, []Violation{{Deep, 0, 2, 2}}},
		"too steep":                {seconds(false, 0, 3.5), 1, []Violation{{Steep, 1, 1, 1.5}}},
		"too steep, and slowed":    {seconds(true, 0, 3.5), 1, nil},
		"too steep, even slowed":   {seconds(true, 0, 5), 1, []Violation{{Steep, 1, 1, 3}}},
		"a limit above":            {edit(seconds(false, 0, 0, 0), 1, func(g *Gate) { g.Limit(1.25, 9) }), 0, []Violation{{Closed, 1, 1, 0.25}}},
		"limits that cross":        {edit(seconds(false, 0, 0, 0), 2, func(g *Gate) { g.Limit(0.5, 0.25) }), 0, []Violation{{Closed, 2, 2, 0.25}}},
		"a limit reached in depth": {edit(seconds(false, 0, 0, 0), 1, func(g *Gate) { g.Limit(0.75, 9) }), 0, nil},
	} {
		p := Planner{Terms: Terms{Depth: focus.Depth{Near: 1, Far: 1}, Use: 0.5, Rate: c.rate, Slowest: 0.5}}
		plan := p.Plan(c.gates, Start{Free: true}, len(c.gates)-1)
		got := plan.Violations
		same := len(got) == len(c.want)
		for k := 0; same && k < len(got); k++ {
			g, w := got[k], c.want[k]
			same = g.Kind == w.Kind && g.Gate == w.Gate && g.Last == w.Last && math.Abs(g.Amount-w.Amount) < 1e-6
		}
		if !same {
			t.Errorf("%s: %+v, want %+v", name, got, c.want)
		}
		if last := plan.Waypoints[len(plan.Waypoints)-1]; last.Gate != len(c.gates)-1 {
			t.Errorf("%s: ends at %+v", name, last)
		}
	}
	// Two bends of 1.2 mm within 0.09 mm: no corner has room there.
	gates := seconds(false, 0, 2.6, 0)
	for k := 1; k <= 2; k++ {
		gates[k].S, gates[k].Length = float64(k)/2, 0.09
	}
	p := Planner{Terms: Terms{Depth: focus.Depth{Near: 1, Far: 1}, Use: 1}}
	plan := p.Plan(gates, Start{Free: true}, 2)
	if len(plan.Violations) != 1 || plan.Violations[0].Kind != Sharp || plan.Violations[0].Gate != 1 || !plan.Waypoints[1].Forced {
		t.Errorf("no room for a corner: %+v", plan)
	}
}

// The part of the window that is committed ends a move, leaves an eighth to look
// ahead at, and with a rate enough to come from anywhere to anywhere.
func TestCommit(t *testing.T) {
	gates := make([]Gate, 41)
	for k := range gates {
		gates[k] = Open()
		gates[k].DT = 1
		if k%5 != 0 {
			gates[k].S = 0.5
		}
	}
	depth := focus.Depth{Near: 1, Far: 2}
	for _, c := range []struct {
		rate, swing float64
		n, end      int
		ahead       bool
	}{
		{0, 1, 41, 35, true}, // an eighth of 41 is 5
		{0, 1, 7, 5, true},
		{0, 1, 5, 0, true}, // one move
		{1, 1, 41, 35, true},
		{1, 20, 41, 15, true}, // 23 s ahead: gate 17, in the move after gate 15
		{1, 37, 41, 35, false},
		{0.1, 0.9, 41, 35, false},
	} {
		s := Terms{Depth: depth, Rate: c.rate}
		if end, ahead := s.Commit(gates[:c.n], c.swing); end != c.end || ahead != c.ahead {
			t.Errorf("%+v: %d, %v", c, end, ahead)
		}
	}
}
