package follow

import (
	"math"

	"sagitta/internal/focus"
)

const (
	// narrowing is the part of the spent tube in which the string is
	// pulled: a tenth is left to thinning.
	narrowing = 0.9
	// forcedRoom is how much wider than least the tube is drawn for
	// thinning where the Z rate forces it wider. It must stay under the
	// tenth by which the greatest defocus may exceed the least possible.
	forcedRoom = 1.08
	// rounding is the relative error allowed to times and slopes that are
	// met exactly in theory.
	rounding = 1e-9
)

// budget decides for each gate which part of the depth is spent, and for each
// stretch how long it takes, so that a path with |dc/dt| <= rate exists
// (travels longer first, then the tube wider, then burns slower). With rate
// 0 nothing limits Z, and only windows that are empty by themselves widen.
//
// Results: p.dt the times, p.part the part of the depth for the string,
// p.spent that for thinning.
func (p *planner) budget() {
	n := len(p.gates)
	p.dt = grow(p.dt, n)
	for k := range p.gates {
		p.dt[k] = p.gates[k].dt
	}
	p.need, p.part, p.spent = grow(p.need, n), grow(p.part, n), grow(p.spent, n)
	for i := 0; i < n; {
		j := i
		for j+1 < n && p.gates[j+1].burn {
			j++
		}
		p.budgetRun(i, j)
		i = j + 1
	}
	if p.opt.ZRate > 0 {
		p.stretchTravels()
	} else {
		p.admitStart()
	}
}

// admitStart widens the string's tube after a given start that thinning has
// left outside of it, so that the string comes in no steeper than it was.
func (p *planner) admitStart() {
	if p.startFree {
		return
	}
	d, c, reach := p.opt.Depth, p.start, 0.0
	for k := range p.gates {
		if k > 0 {
			reach += p.peak * p.dt[k]
		}
		if reach > d.Near+d.Far {
			return
		}
		g := &p.gates[k]
		ask := math.Max((g.a-c-reach)/d.Near, (c-reach-g.b)/d.Far)
		p.part[k] = math.Min(p.spent[k], math.Max(p.part[k], ask))
	}
}

// budgetRun does it for the unbroken burn from gate i to gate j, or for a
// single gate of a travel.
func (p *planner) budgetRun(i, j int) {
	p.leastParts(i, j)
	worst, at := 0.0, i
	for k := i; k <= j; k++ {
		if p.need[k] > worst {
			worst, at = p.need[k], k
		}
	}
	if worst > 1+rounding {
		g := &p.gates[at]
		if over := (g.a - g.b) / (p.opt.Depth.Near + p.opt.Depth.Far); over > 1+rounding {
			// No speed helps: one c must serve more than the depth.
			p.failRun(i, j, over)
		} else {
			p.slowRun(i, j)
			p.leastParts(i, j)
		}
	}
	for k := i; k <= j; k++ {
		p.part[k] = math.Min(1, math.Max(narrowing*p.opt.Use, p.need[k]))
		p.spent[k] = math.Min(1, math.Max(p.opt.Use, forcedRoom*p.need[k]))
	}
}

// leastParts writes the least part of the depth that each gate of the run
// must spend into p.need: half the gap between the envelopes
// sup(a(s) - v|t-s|) and inf(b(s) + v|t-s|) over the depth, taken at each
// gate on its own. With these parts the widened tube holds a path with
// |dc/dt| <= v: for any two gates the one's lower end less the other's upper
// end is at most v times their distance (E. J. McShane, Bull. AMS 40 (1934)
// 837). Two sweeps, forward and back.
func (p *planner) leastParts(i, j int) {
	d, v := p.opt.Depth, p.opt.ZRate
	whole := d.Near + d.Far
	for k := i; k <= j; k++ {
		g := &p.gates[k]
		p.need[k] = (g.a - g.b) / whole
	}
	if v <= 0 {
		return
	}
	sup, inf := math.Inf(-1), math.Inf(1)
	// A start that is given counts as a window that no depth widens.
	pin := math.Inf(1)
	if i == 0 && !p.startFree {
		pin = 0
	}
	step := func(k int) {
		g := &p.gates[k]
		sup, inf = math.Max(sup, g.a), math.Min(inf, g.b)
		p.need[k] = math.Max(p.need[k], math.Max(g.a-inf, sup-g.b)/whole)
		if !isInf(pin) {
			c := p.start
			p.need[k] = math.Max(p.need[k], math.Max((g.a-c-pin)/d.Near, (c-pin-g.b)/d.Far))
		}
	}
	for k := i; k <= j; k++ {
		if k > i {
			sup, inf, pin = sup-v*p.dt[k], inf+v*p.dt[k], pin+v*p.dt[k]
		}
		step(k)
	}
	sup, inf, pin = math.Inf(-1), math.Inf(1), math.Inf(1)
	for k := j; k >= i; k-- {
		step(k)
		sup, inf = sup-v*p.dt[k], inf+v*p.dt[k]
	}
}

// slowRun lengthens the steep stretches of a run for which the whole depth is
// not enough. The string in the whole tube has the least sum of
// max(0, |slope|/v - 1)·dt, which is the time that slowing to v adds: it is a
// convex functional of the slope like any other.
func (p *planner) slowRun(i, j int) {
	v := p.opt.ZRate
	p.pull(i, j, 1, i > 0 || p.startFree, p.opt.Defocus)
	for k := i + 1; k <= j; k++ {
		factor := math.Abs(p.c[k]-p.c[k-1]) / (v * p.dt[k])
		if factor <= 1 {
			continue
		}
		m := p.blocks[p.gates[k].move]
		if !p.maySlow(m) || factor > (1+rounding)/p.opt.Slowest {
			p.failSlope(k, factor*v)
		}
		p.dt[k] *= factor * (1 + rounding)
	}
}

// maySlow tells whether the burn m may be slowed at all.
func (p *planner) maySlow(m *held) bool {
	switch p.opt.Slow {
	case SlowBurns:
		return true
	case SlowScaled:
		return m.mv.PowerFollows
	}
	return false
}

// stretchTravels walks the set of c that can be reached within the rate, and
// lengthens a travel just enough where that set misses the next window.
func (p *planner) stretchTravels() {
	v, n := p.opt.ZRate, len(p.gates)
	p.lo, p.hi = grow(p.lo, n), grow(p.hi, n)
	for k := range p.gates {
		w := p.gates[k].window(p.opt.Depth, p.part[k])
		p.lo[k], p.hi[k] = w.Lo, w.Hi
	}
	// Inside a run only what can still be reached and left counts.
	for k := 1; k < n; k++ {
		if p.gates[k].burn {
			p.lo[k] = math.Max(p.lo[k], p.lo[k-1]-v*p.dt[k])
			p.hi[k] = math.Min(p.hi[k], p.hi[k-1]+v*p.dt[k])
		}
	}
	for k := n - 1; k > 0; k-- {
		if p.gates[k].burn {
			p.lo[k-1] = math.Max(p.lo[k-1], p.lo[k]-v*p.dt[k])
			p.hi[k-1] = math.Min(p.hi[k-1], p.hi[k]+v*p.dt[k])
		}
	}
	reach := focus.Window{Lo: p.lo[0], Hi: p.hi[0]}
	if !p.startFree {
		reach = focus.Window{Lo: p.start, Hi: p.start}
	}
	for i := 0; i+1 < n; {
		e := i + 1
		for p.gates[e].s < 1 {
			e++
		}
		for {
			end, longer := p.reachOver(i, e, reach)
			if longer <= 1 {
				reach, i = end, e
				break
			}
			for k := i + 1; k <= e; k++ {
				p.dt[k] *= longer * (1 + rounding)
			}
		}
	}
}

// reachOver carries the set of reachable c over one move, from gate i to gate
// e. Where a travel's set misses a window it tells how many times longer the
// travel must take.
func (p *planner) reachOver(i, e int, reach focus.Window) (end focus.Window, longer float64) {
	v, t := p.opt.ZRate, 0.0
	for k := i + 1; k <= e; k++ {
		t += p.dt[k]
		lo, hi := reach.Lo-v*p.dt[k], reach.Hi+v*p.dt[k]
		if gap := math.Max(p.lo[k]-hi, lo-p.hi[k]); gap > v*t*rounding && !p.gates[k].burn {
			return reach, 1 + gap/(v*t)
		}
		reach = focus.Window{Lo: math.Max(lo, p.lo[k]), Hi: math.Min(hi, p.hi[k])}
		if reach.Empty() { // only by rounding: what cannot be is known before
			m := (reach.Lo + reach.Hi) / 2
			reach = focus.Window{Lo: m, Hi: m}
		}
	}
	return reach, 1
}
