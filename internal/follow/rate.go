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
	if p.opt.ZRate <= 0 && p.budgetAlone() {
		p.admitStart()
		return
	}
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

// budgetAlone is budget where nothing limits Z, each gate on its own. It reports
// false where one needs more than the depth, and has then done nothing.
func (p *planner) budgetAlone() bool {
	for k := range p.gates {
		p.need[k] = p.leastAlone(k)
		if p.need[k] > 1+rounding {
			return false
		}
		p.give(k)
	}
	return true
}

// give sets the parts of a gate from what it needs.
func (p *planner) give(k int) {
	p.part[k] = min(1, max(narrowing*p.opt.Use, p.need[k]))
	p.spent[k] = min(1, max(p.opt.Use, forcedRoom*p.need[k]))
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
		ask := max((g.a-c-reach)/d.Near, (c-reach-g.b)/d.Far)
		p.part[k] = min(p.spent[k], max(p.part[k], ask))
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
		switch over := (g.a - g.b) / (p.opt.Depth.Near + p.opt.Depth.Far); {
		case over > 1+rounding:
			// No speed helps: one c must serve more than the depth.
			p.failRun(i, j, over)
		case p.leastAlone(at) > 1+rounding:
			// Nor here: a limit leaves nothing. checkLimits tells.
		default:
			p.slowRun(i, j)
			p.leastParts(i, j)
		}
	}
	for k := i; k <= j; k++ {
		p.give(k)
	}
}

// leastParts writes the least part of the depth that each gate of the run
// must spend into p.need: half the gap between the envelopes
// sup(a(s) - v|t-s|) and inf(b(s) + v|t-s|) over the depth, taken at each
// gate on its own. With these parts the widened tube holds a path with
// |dc/dt| <= v: for any two gates the one's lower end less the other's upper
// end is at most v times their distance (E. J. McShane, Bull. AMS 40 (1934)
// 837). Two sweeps, forward and back.
//
// Limits that no depth widens, and a start that is given, ask for the part
// that reaches them.
func (p *planner) leastParts(i, j int) {
	v := p.opt.ZRate
	for k := i; k <= j; k++ {
		p.need[k] = p.leastAlone(k)
	}
	if v <= 0 {
		return
	}
	e := newEnvelopes()
	for k := i; k <= j; k++ {
		e.pass(v * p.dt[k])
		p.need[k] = max(p.need[k], p.least(k, e))
		e.take(&p.gates[k])
		if k == 0 && !p.startFree {
			e.takeStart(p.start)
		}
	}
	e = newEnvelopes()
	for k := j; k >= i; k-- {
		p.need[k] = max(p.need[k], p.least(k, e))
		e.take(&p.gates[k])
		e.pass(v * p.dt[k])
	}
}

// envelopes are those of the gates on one side, at the gate that a sweep has
// come to.
type envelopes struct {
	supA, infB     float64 // of the windows
	supMin, infMax float64 // of the limits
}

func newEnvelopes() envelopes {
	return envelopes{math.Inf(-1), math.Inf(1), math.Inf(-1), math.Inf(1)}
}

// pass moves on by the change of c that the rate allows.
func (e *envelopes) pass(r float64) {
	e.supA, e.infB, e.supMin, e.infMax = e.supA-r, e.infB+r, e.supMin-r, e.infMax+r
}

func (e *envelopes) take(g *gate) {
	e.supA, e.infB = max(e.supA, g.a), min(e.infB, g.b)
	e.supMin, e.infMax = max(e.supMin, g.min), min(e.infMax, g.max)
}

func (e *envelopes) takeStart(c float64) {
	e.supMin, e.infMax = max(e.supMin, c), min(e.infMax, c)
}

// leastAlone is the part of the depth that gate k needs against itself.
func (p *planner) leastAlone(k int) float64 {
	d, g := p.opt.Depth, &p.gates[k]
	return max((g.a-g.b)/(d.Near+d.Far), (g.a-g.max)/d.Near, (g.min-g.b)/d.Far)
}

// least is the part of the depth that gate k needs against itself and the
// envelopes.
func (p *planner) least(k int, e envelopes) float64 {
	d := p.opt.Depth
	g := &p.gates[k]
	e.take(g)
	part := max(g.a-e.infB, e.supA-g.b) / (d.Near + d.Far)
	return max(part, max((g.a-e.infMax)/d.Near, (e.supMin-g.b)/d.Far))
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
		if !p.opt.maySlow(&p.blocks[p.gates[k].move].mv) || factor > (1+rounding)/p.opt.Slowest {
			p.failSlope(k, factor*v)
		}
		p.dt[k] *= factor * (1 + rounding)
	}
}

// stretchTravels walks the set of c that can be reached within the rate, and
// lengthens a travel just enough where that set misses the next window.
func (p *planner) stretchTravels() {
	v, n := p.opt.ZRate, len(p.gates)
	p.lo, p.hi = grow(p.lo, n), grow(p.hi, n)
	for k := range p.gates {
		w := p.window(k, p.part[k])
		p.lo[k], p.hi[k] = w.Lo, w.Hi
	}
	// Inside a run only what can still be reached and left counts.
	for k := 1; k < n; k++ {
		if p.gates[k].burn {
			p.lo[k] = max(p.lo[k], p.lo[k-1]-v*p.dt[k])
			p.hi[k] = min(p.hi[k], p.hi[k-1]+v*p.dt[k])
		}
	}
	for k := n - 1; k > 0; k-- {
		if p.gates[k].burn {
			p.lo[k-1] = max(p.lo[k-1], p.lo[k]-v*p.dt[k])
			p.hi[k-1] = min(p.hi[k-1], p.hi[k]+v*p.dt[k])
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
		end, ok := p.reachOver(i, e, reach, 1)
		if !ok {
			f := p.lengthen(i, e, reach)
			for k := i + 1; k <= e; k++ {
				p.dt[k] *= f
			}
			end, _ = p.reachOver(i, e, reach, 1)
		}
		reach, i = end, e
	}
}

const (
	// lengthenSteps is how often the factor of a travel's time is halved in
	// on: to a millionth of itself.
	lengthenSteps = 20
	// lengthenMost bounds it where windows that fail anyway (by a range of Z)
	// cannot be met at any time.
	lengthenMost = 1e9
)

// lengthen finds how many times longer the travel from gate i to gate e must
// take for its windows to be met.
func (p *planner) lengthen(i, e int, reach focus.Window) float64 {
	short, long := 1.0, 2.0
	for ; long < lengthenMost; long *= 2 {
		if _, ok := p.reachOver(i, e, reach, long); ok {
			break
		}
		short = long
	}
	for q := 0; q < lengthenSteps; q++ {
		f := (short + long) / 2
		if _, ok := p.reachOver(i, e, reach, f); ok {
			long = f
		} else {
			short = f
		}
	}
	return long
}

// reachOver carries the set of reachable c over one move, from gate i to gate
// e, whose times are taken longer by a factor. ok tells whether a travel's
// windows are all met.
func (p *planner) reachOver(i, e int, reach focus.Window, longer float64) (end focus.Window, ok bool) {
	for k := i + 1; k <= e; k++ {
		r := p.opt.ZRate * p.dt[k] * longer
		lo, hi := reach.Lo-r, reach.Hi+r
		if gap := max(p.lo[k]-hi, lo-p.hi[k]); gap > rounding && !p.gates[k].burn {
			return reach, false
		}
		reach = focus.Window{Lo: max(lo, p.lo[k]), Hi: min(hi, p.hi[k])}
		if reach.Empty() { // only by rounding: what cannot be is known before
			m := (reach.Lo + reach.Hi) / 2
			reach = focus.Window{Lo: m, Hi: m}
		}
	}
	return reach, true
}
