package corridor

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"sagitta/internal/focus"
)

// picture are the gates of rows of a picture that lie side by side: each is run into,
// burned over its heights at 100 mm/s and run out of, and between two the head turns twice,
// at such a speed at most.
func picture(rows [][]float64, turns float64) []Gate {
	gates := []Gate{Open()}
	to := func(mm, corner, turn float64, heights ...float64) {
		at := &gates[len(gates)-1]
		at.Corner, at.Turn = corner, turn
		g := Open()
		g.DT, g.Length = mm/100, mm
		if len(heights) > 0 {
			g.Burn = true
			at.Serve(heights[0], heights[0])
			g.Serve(heights[1], heights[1])
		}
		gates = append(gates, g)
	}
	for k, h := range rows {
		if k > 0 {
			to(0.2, turns, math.Sqrt2)
		}
		to(10, turns, math.Sqrt2)
		for i := 1; i < len(h); i++ {
			to(5, math.Inf(1), 0, h[i-1], h[i])
		}
		to(10, math.Inf(1), 0)
	}
	gates[0].Corner = 0
	return gates
}

// fewestChanges is how often c changes at least from row to row, each of which it may have
// within so many steps of its middle; no more than most steps at a time. Negative where
// there is no way.
func fewestChanges(middles []int, within, most int) int {
	const far, never = 200, 1 << 30
	was := map[int]int{}
	for c := -far; c <= far; c++ {
		was[c] = 0
	}
	for _, m := range middles {
		next := map[int]int{}
		for c := m - within; c <= m+within; c++ {
			least := never
			for d := -most; d <= most; d++ {
				if n, ok := was[c+d]; ok && d != 0 {
					least = min(least, n+1)
				} else if ok {
					least = min(least, n)
				}
			}
			if least < never {
				next[c] = least
			}
		}
		was = next
	}
	least := -1
	for _, n := range was {
		if least < 0 || n < least {
			least = n
		}
	}
	return least
}

// Rows are held still wherever that is possible, c changes between them by no more than is
// not seen, and hardly more often than it must.
func TestRowsHeldStill(t *testing.T) {
	const step, depth = 0.05, 1.0 // a band is two of them, and what is drawn in 18 to either side
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 40).Draw(t, "rows")
		middles, rows := make([]int, n), make([][]float64, n)
		at, rise := 0, 0
		for k := range rows {
			rise = rapid.SampledFrom([]int{rise, rise, rise, -2, -1, 0, 1, 2}).Draw(t, "rise")
			at += rise
			middles[k] = at
			rows[k] = []float64{step * float64(at), step * float64(at), step * float64(at)}
		}
		p := Planner{Terms: Terms{Depth: focus.Depth{Near: depth, Far: depth}, Use: 1, Inertia: slowZ()}}
		p.Step = rapid.SampledFrom([]float64{0, 1e-4, 1e-3, 7e-3}).Draw(t, "written step")
		gates := picture(rows, 4)
		p.Plan(gates, Start{Free: true}, len(gates)-1)
		if len(p.rows) != n || p.moving() > 0 {
			t.Fatalf("%d of %d rows move", p.moving(), len(p.rows))
		}
		changes := 0
		for k := range p.rows {
			r := &p.rows[k]
			if w := p.along(r, r.last); math.Abs(w.Lo-r.c) > 1e-6 || math.Abs(w.Hi-r.c) > 1e-6 {
				t.Fatalf("row %d is held at %g, and goes from %g to %g", k, r.c, w.Lo, w.Hi)
			}
			if steps := r.c / p.Step; p.Step > 0 && r.w.Hi-r.w.Lo > p.Step && math.Abs(steps-math.Round(steps)) > 1e-6 {
				t.Fatalf("row %d is held at %g, no whole number of steps of %g, in %g", k, r.c, p.Step, r.w)
			}
			if k > 0 {
				if by := math.Abs(r.c - p.rows[k-1].c); by > 2*step+p.Step+1e-9 {
					t.Fatalf("row %d is held %g mm from the one before", k, by)
				} else if by > 0 {
					changes++
				}
			}
		}
		// Where bands are used to the last bit a step takes off them what it is.
		if least := fewestChanges(middles, 18, 2); p.Step == 0 && changes > least+1 {
			t.Fatalf("c changes %d times, where %d would do: %v", changes, least, middles)
		}
	})
}

// A row beside one that moves is held only where that stays near enough to it, as far as it
// is seen, and beside one that is written wherever it can be.
func TestHeldBesideMoving(t *testing.T) {
	held, moved := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(2, 25).Draw(t, "rows")
		rows := make([][]float64, n)
		at, swing := 0.0, 0.0
		for k := range rows {
			at += rapid.SampledFrom([]float64{0, 0.01, 0.01, -0.02, 0.05, 0.3}).Draw(t, "up")
			swing = max(0, swing+rapid.SampledFrom([]float64{0, 0, 0.01, -0.01, 0.1, -0.1}).Draw(t, "wider"))
			rows[k] = make([]float64, 21)
			for i := range rows[k] {
				rows[k][i] = at + swing*math.Sin(float64(i)/3)
			}
		}
		depth := rapid.SampledFrom([]float64{0.3, 1}).Draw(t, "depth")
		p := Planner{Terms: Terms{Depth: focus.Depth{Near: depth, Far: depth}, Use: 0.5, Inertia: slowZ(), Rate: rapid.SampledFrom([]float64{0, 20}).Draw(t, "rate")}}
		gates := picture(rows, rapid.SampledFrom([]float64{4, 60}).Draw(t, "turns"))
		size, between := rapid.IntRange(60, 200).Draw(t, "window"), rapid.Bool().Draw(t, "between rows")
		start, was := Start{Free: true}, Row{}
		for at := 0; at < len(gates)-1; {
			window := append([]Gate{}, gates[at:min(len(gates), at+size)]...)
			end := len(window) - 1
			if at+size < len(gates) {
				end = 3 * end / 4
				for between && end > 1 && (window[end].Turn == 0 || window[end].Burn) {
					end--
				}
			}
			plan := p.Plan(window, start, end)
			for k := range p.rows {
				r := &p.rows[k]
				if r.first >= end {
					break
				}
				w := p.along(r, r.last)
				if w.Hi-w.Lo > 1e-6 && r.still {
					t.Fatalf("a row that is held goes from %g to %g", w.Lo, w.Hi)
				}
				if r.still {
					held++
				} else {
					moved++
				}
				if far := max(w.Hi-was.C.Lo, was.C.Hi-w.Lo); r.first > 0 && was.Laid && (r.still || k > 0 && was.Held) && far > r.band+1e-6 {
					t.Fatalf("a row goes from %g to %g beside one from %g to %g, further than %g", w.Lo, w.Hi, was.C.Lo, was.C.Hi, r.band)
				}
				was = Row{Laid: true, C: w, Held: r.still}
			}
			last := plan.Waypoints[len(plan.Waypoints)-1]
			start = plan.Next(last.C)
			at += end
		}
	})
	if held == 0 || moved == 0 {
		t.Errorf("%d rows held, %d moved", held, moved)
	}
}

// A window of rows is committed up to where the head as good as stands, not in the middle of
// a row, which would be planned in two parts that know nothing of each other.
func TestCommitBetweenRows(t *testing.T) {
	row := make([]float64, 30)
	gates := picture([][]float64{row, row, row, row, row, row}, 4)
	s := Terms{Depth: focus.Depth{Near: 1, Far: 1}, Use: 0.5, Inertia: slowZ()}
	for n := 90; n <= len(gates); n++ {
		end, _ := s.Commit(gates[:n], 1)
		if gates[end].Turn == 0 {
			t.Fatalf("of %d gates those up to %d are committed, where the head goes on", n, end)
		}
	}
}

// Rows among burns that bend too much for any, from wherever c stands, planned one window after
// another: what could be reached in one before tells nothing of the next, and c stays in the
// depth.
func TestRowsBehindBends(t *testing.T) {
	still, bent := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		const depth = 0.4
		var p Planner
		for range 4 {
			p.Terms = Terms{Depth: focus.Depth{Near: depth, Far: depth}, Use: rapid.SampledFrom([]float64{0.1, 0.5, 1}).Draw(t, "use"), Inertia: slowZ()}
			height := rapid.SampledFrom([]float64{-0.9, -0.4, 0, 0, 0, 0.3, 0.8})
			rows := make([][]float64, rapid.IntRange(1, 6).Draw(t, "rows"))
			for k := range rows {
				rows[k] = rapid.SliceOfN(height, 2, 6).Draw(t, "heights")
				if rapid.Bool().Draw(t, "even") {
					for i := range rows[k] {
						rows[k][i] = rows[k][0]
					}
				}
			}
			gates := picture(rows, rapid.SampledFrom([]float64{4, 20, 90}).Draw(t, "turns"))
			start := Start{Free: rapid.Bool().Draw(t, "free")}
			if !start.Free {
				start.C, start.Slope = height.Draw(t, "c"), rapid.SampledFrom([]float64{-0.05, 0, 0.05}).Draw(t, "slope")
			}
			plan := p.Plan(gates, start, len(gates)-1)
			still, bent = still+len(p.rows)-p.moving(), bent+p.moving()
			for k, c := range plan.Along(gates) {
				if w := gates[k].Window(p.Depth, 1); k > 0 && (c < w.Lo-1e-6 || c > w.Hi+1e-6) {
					t.Fatalf("gate %d: %g is not in %g", k, c, w)
				}
			}
		}
	})
	if still == 0 || bent == 0 {
		t.Errorf("%d rows were held still, %d not", still, bent)
	}
}
