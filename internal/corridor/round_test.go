package corridor

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/optimize/convex/lp"
	"pgregory.net/rapid"

	"sagitta/internal/focus"
	"sagitta/internal/motion"
)

// slowZ is a bench whose Z is slow to speed up.
func slowZ() *motion.Limits {
	return &motion.Limits{Accel: motion.Vector{500, 500, 50}, CornerMM: 0.01}
}

// straight are gates of a straight way of moves of so many mm each, burned at a speed over
// heights.
func straight(speed, each float64, heights []float64) []Gate {
	gates := []Gate{Open()}
	for k, h := range heights {
		if k > 0 {
			g := Open()
			g.DT, g.Length, g.Burn = each/speed, each, true
			gates = append(gates, g)
		}
		gates[k].Corner = math.Inf(1)
		gates[k].Serve(h, h)
	}
	return gates
}

// roundedPlan plans all of the gates from a free start, and returns the greatest part of the
// depth that is spent, and c at each gate.
func roundedPlan(gates []Gate, depth, use float64) (p Planner, part float64, c []float64) {
	p.Terms = Terms{Depth: focus.Depth{Near: depth, Far: depth}, Use: use, Inertia: slowZ()}
	plan := p.Plan(gates, Start{Free: true}, len(gates)-1)
	for k, at := range plan.Along(gates) {
		c = append(c, at)
		w := gates[k].Window(p.Depth, 0)
		part = max(part, max(w.Lo-at, at-w.Hi)/depth)
	}
	return p, part, c
}

// leastDefocus is the least greatest distance from the heights of a path that begins and ends
// with a step of its speed from rest and to it, and has so little acceleration at most between,
// by a linear programme.
func leastDefocus(h []float64, dt, step, accel float64) float64 {
	// c[k] = h[k] - d + w[k], where w is within 0 and 2·d: the variables are w, d and slack.
	n := len(h)
	m := n + 2*n
	a, b, cost := mat.NewDense(m, n+1+m, nil), make([]float64, m), make([]float64, n+1+m)
	cost[n] = 1
	for k := range n {
		a.Set(k, k, 1)
		a.Set(k, n, -2)
		a.Set(k, n+1+k, 1)
	}
	for k := range n {
		from, by, most := k-1, []float64{1, -2, 1}, accel*dt*dt
		if k == 0 || k+1 == n {
			from, by, most = max(0, k-1), []float64{-1, 1}, step*dt
		}
		for e, s := range [2]float64{1, -1} {
			i := n + 2*k + e
			b[i] = most
			for q, v := range by {
				b[i] -= s * v * h[from+q]
			}
			turn := 1.0
			if b[i] < 0 {
				b[i], turn = -b[i], -1
			}
			for q, v := range by {
				a.Set(i, from+q, turn*s*v)
			}
			a.Set(i, n+1+i, turn)
		}
	}
	least, _, err := lp.Simplex(cost, a, b, 1e-10, nil)
	if err != nil {
		return math.NaN()
	}
	return least
}

// What must be spent more than is to be comes close to the least possible, the path turns
// no more than Z can, and stays in the depth.
func TestRoundedSpendsLittle(t *testing.T) {
	forced := 0
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(4, 16).Draw(t, "gates")
		speed, each := rapid.SampledFrom([]float64{50.0, 100, 200}).Draw(t, "speed"), rapid.SampledFrom([]float64{0.5, 2, 4}).Draw(t, "each")
		h, at, slope := make([]float64, n), 0.0, 0.0
		for k := range h {
			h[k] = at
			slope += rapid.SampledFrom([]float64{0, 0, 0.002, -0.002, 0.02, -0.02, 0.2}).Draw(t, "turns")
			at += slope * each
		}
		const depth = 4.0
		use := rapid.SampledFrom([]float64{0.0005, 0.05, 0.5}).Draw(t, "use")
		dt := each / speed
		least := leastDefocus(h, dt, Gentle*2, min(50, Gentle*2/dt))
		if math.IsNaN(least) || least > 0.9*depth {
			return
		}
		p, part, c := roundedPlan(straight(speed, each, h), depth, use)
		if part > 1.1*max(use, least/depth)+1e-6 {
			t.Fatalf("%g of the depth is spent, where %g would do", part, least/depth)
		}
		if part > use*1.1 {
			forced++
		}
		was := 0.0
		for k := 1; k < n; k++ {
			slope := (c[k] - c[k-1]) / each
			if turn := math.Abs(slope - was); turn > p.rounder.step[k-1]*1.001+1e-6 {
				t.Fatalf("turns by %g at gate %d, not %g", turn, k-1, p.rounder.step[k-1])
			}
			was = slope
		}
		if most := Gentle * 2 / speed; math.Abs(was) > most*1.001+1e-6 {
			t.Fatalf("ends with a slope of %g, not %g", was, most)
		}
	})
	if forced == 0 {
		t.Error("nothing was forced to spend more")
	}
}

// Of a bend of heights by a slope, half of a parabola's height is missed on either side: Z
// turns from one speed to another in the time v/a, and is v²/(8·a) off the corner meanwhile.
func TestRoundedBend(t *testing.T) {
	const speed, each, n, bend = 200.0, 1.0, 400, 0.06
	h := make([]float64, n)
	for k := range h {
		h[k] = bend * max(0, float64(k-n/2)*each)
	}
	v := bend * speed
	gates := straight(speed, each, h)
	gates[n-1].Corner = 0
	_, part, _ := roundedPlan(gates, 4, 0.01)
	if want := v * v / (16 * 50) / 4; part > 1.05*want || part < 0.99*want {
		t.Errorf("%g of the depth is spent, want %g", part, want)
	}
}

// Z can follow a wave with the acceleration that it has: nothing more is spent.
func TestRoundedWave(t *testing.T) {
	const speed, each, n, length = 100.0, 0.5, 800, 60.0
	w := 2 * math.Pi / length
	h := make([]float64, n)
	for k := range h {
		h[k] = 0.9 * 50 / (w * w * speed * speed) * math.Sin(w*each*float64(k))
	}
	if _, part, _ := roundedPlan(straight(speed, each, h), 4, 0.02); part > 0.02*1.001 {
		t.Errorf("%g of the depth is spent, not 0.02", part)
	}
}

// Where a bend has taken the path off the string, it comes back to it.
func TestRoundedComesBack(t *testing.T) {
	const speed, each, n = 100.0, 1.0, 600
	h := make([]float64, n)
	for k := range h {
		h[k] = 0.08 * min(40, max(0, float64(k-n/2)*each))
	}
	gates := straight(speed, each, h)
	gates[n-1].Corner = 0
	_, _, c := roundedPlan(gates, 1, 0.5)
	plain := Planner{Terms: Terms{Depth: focus.Depth{Near: 1, Far: 1}, Use: 0.5}}
	plain.Plan(gates, Start{Free: true}, n-1)
	off := 0.0
	for k, at := range plain.c {
		d := math.Abs(c[k] - at)
		if off = max(off, d); d > 0.01 && (k < 100 || k > n-100) {
			t.Fatalf("%g mm off the string at gate %d", d, k)
		}
	}
	if off < 0.01 {
		t.Errorf("never more than %g mm off it", off)
	}
}

// Where the head stands, Z may turn as it likes.
func TestRoundedWhereItStands(t *testing.T) {
	const speed, each, n = 200.0, 1.0, 100
	h := make([]float64, n)
	for k := range h {
		h[k] = 0.2 * max(0, float64(k-n/2)*each)
	}
	gates := straight(speed, each, h)
	gates[n/2].Corner = 0
	p, part, _ := roundedPlan(gates, 4, 0.001)
	if part > 0.001*1.001 {
		t.Errorf("%g of the depth is spent, not 0.001", part)
	}
	// It brakes for that, and speeds up behind.
	for k, v := range p.rounder.speed {
		if want := min(speed, math.Sqrt(2*500*math.Abs(float64(k-n/2))*each)); math.Abs(v-want) > 1e-9*speed {
			t.Errorf("gate %d is passed at %g mm/s, not %g", k, v, want)
		}
	}
}

// A long move over a bend gets corners no closer than it needs.
func TestRoundedPoints(t *testing.T) {
	const speed, each, n, bend = 50.0, 0.5, 401, 0.1
	h := make([]float64, n)
	for k := range h {
		h[k] = bend * max(0, float64(k-n/2)*each)
	}
	gates := straight(speed, each, h)
	for k := 1; k < n; k++ {
		gates[k].S, gates[k].Length = float64(k)/(n-1), each*(n-1)
	}
	gates[n-1].S = 1
	var p Planner
	p.Terms = Terms{Depth: focus.Depth{Near: 1, Far: 1}, Use: 0.2, Inertia: slowZ()}
	plan := p.Plan(gates, Start{Free: true}, n-1)
	// Z turns by 5 mm/s, and the head takes steps of 2 at once, of which a part is planned.
	if most := 2 + int(math.Ceil(5/(2*Gentle))) + 2; len(plan.Waypoints) > most {
		t.Errorf("%d corners, more than %d", len(plan.Waypoints), most)
	}
	for k := 1; k+1 < len(plan.Waypoints); k++ {
		a, b, c := plan.Waypoints[k-1], plan.Waypoints[k], plan.Waypoints[k+1]
		in, out := (b.C-a.C)/(each*float64(b.Gate-a.Gate)), (c.C-b.C)/(each*float64(c.Gate-b.Gate))
		if step := math.Abs(out-in) * speed; step > 2*Gentle*1.001 {
			t.Errorf("the speed of Z steps by %g mm/s", step)
		}
	}
}

// What is slowed evenly goes on so in the next window, up to where the head stands.
func TestEvenGoesOn(t *testing.T) {
	gates := straight(100, 1, make([]float64, 50))
	const stop = 30
	gates[stop].Corner = 0
	p := Planner{Terms: Terms{Depth: focus.Depth{Near: 1, Far: 1}, Use: 0.5, Inertia: slowZ()}}
	for end, want := range map[int]float64{stop - 10: 2, stop: 1, 49: 1} {
		if plan := p.Plan(gates, Start{Even: 2}, end); plan.Even != want {
			t.Errorf("up to gate %d, burns behind take %g times as long, not %g", end, plan.Even, want)
		}
		for k := 1; k < len(gates); k++ {
			want := 2.0
			if k > stop {
				want = 1
			}
			if longer := p.Longer(k); longer != want {
				t.Fatalf("the burn before gate %d takes %g times as long, not %g", k, longer, want)
			}
		}
	}
}

// The least factor is found to within the ratio, whatever it was last, or that there is none.
func TestSearch(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		factor := rapid.Float64Range(0.5, 20)
		less := factor.Draw(t, "less")
		most := less * rapid.Float64Range(1, 40).Draw(t, "most")
		want, last := less*rapid.Float64Range(1, 60).Draw(t, "want"), factor.Draw(t, "last")
		const within = 1.01
		got, ok := search(less, most, last, within, func(f float64) bool {
			if f < less || f > most {
				t.Fatalf("%g is tried, which is not between %g and %g", f, less, most)
			}
			return f >= want
		})
		if ok != (want <= most) || ok && (got < want || got > want*within*(1+1e-9)) {
			t.Fatalf("%g, %t, want %g", got, ok, want)
		}
	})
}
