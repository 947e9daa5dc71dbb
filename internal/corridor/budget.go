package corridor

import (
	"math"

	"gonum.org/v1/gonum/floats"

	"sagitta/internal/focus"
)

// forcedRoom is how much wider than least the tube is drawn for thinning where
// the rate forces it wider. It must stay under the tenth by which the greatest
// defocus may exceed the least possible.
const forcedRoom = 1.08

// budget decides for each gate which part of the depth is spent, and for each
// stretch how long it takes, so that a path with |dc/dt| <= rate exists
// (travels longer first, then the tube wider, then burns slower). With rate
// 0 nothing limits Z, and only windows that are empty by themselves widen.
//
// Results: p.dt the times, p.part the part of the depth for the string,
// p.spent that for thinning.
func (p *Planner) budget() {
	n := len(p.gates)
	p.dt = grow(p.dt, n)
	for k := range p.gates {
		p.dt[k] = p.gates[k].DT
	}
	p.need, p.part, p.spent = grow(p.need, n), grow(p.part, n), grow(p.spent, n)
	j, travels := 0, false
	for i := 0; i < n; i = j + 1 {
		j = i
		for j+1 < n && p.gates[j+1].Burn {
			j++
		}
		p.budgetRun(i, j)
		travels = travels || i > 0
	}
	switch {
	case p.Rate <= 0:
		p.admitStart()
	case travels:
		p.stretchTravels()
	}
}

// admitStart widens the string's tube after a given start that thinning has
// left outside of it, so that the string comes in no steeper than it was.
func (p *Planner) admitStart() {
	if p.from.Free {
		return
	}
	d, c, reach := p.Depth, p.from.C, 0.0
	for k := range p.gates {
		if k > 0 {
			reach += p.plan.Peak * p.dt[k]
		}
		if reach > d.Near+d.Far {
			return
		}
		g := &p.gates[k]
		own := g.depth(d)
		ask := max((g.High-c-reach)/own.Near, (c-reach-g.Low)/own.Far)
		p.part[k] = min(p.spent[k], max(p.part[k], ask))
	}
}

// budgetRun does it for the unbroken burn from gate i to gate j, or for a
// single gate of a travel.
func (p *Planner) budgetRun(i, j int) {
	p.leastParts(i, j)
	if at := i + floats.MaxIdx(p.need[i:j+1]); p.need[at] > 1+rounding {
		g := &p.gates[at]
		d := g.depth(p.Depth)
		switch over := (g.High - g.Low) / (d.Near + d.Far); {
		case over > 1+rounding && g.Meets:
			p.violated(Apart, at, g.High-g.Low-d.Near-d.Far)
		case over > 1+rounding:
			// No speed helps: one c must serve more than the depth.
			p.plan.Violations = append(p.plan.Violations, Violation{Deep, i, j, over})
		case g.part(p.Depth, g) > 1+rounding:
			// Nor here: a limit leaves nothing, which checkLimits finds.
		default:
			p.slowRun(i, j)
			p.leastParts(i, j)
		}
	}
	for k := i; k <= j; k++ {
		use := p.use(&p.gates[k])
		p.part[k] = min(1, max(Narrowing*use, p.need[k]))
		p.spent[k] = min(1, max(use, forcedRoom*p.need[k]))
	}
}

// leastParts writes the least part of the depth that each gate of the run
// must spend into p.need: half the gap between the envelopes
// sup(High(s) - v|t-s|) and inf(Low(s) + v|t-s|) over the depth, taken at each
// gate on its own. With these parts the widened tube holds a path with
// |dc/dt| <= v: for any two gates the one's lower end less the other's upper
// end is at most v times their distance (E. J. McShane, Bull. AMS 40 (1934)
// 837). Two sweeps, forward and back. Where gates have depths of their own, an envelope
// is as narrow as the narrowest of them at each part (see join), and the same holds.
//
// Limits that no depth widens, and a start that is given, ask for the part
// that reaches them.
func (p *Planner) leastParts(i, j int) {
	v := p.Rate
	for k := i; k <= j; k++ {
		g := &p.gates[k]
		p.need[k] = max(0, g.part(p.Depth, g))
	}
	if v <= 0 {
		return
	}
	e := Open()
	for k := i; k <= j; k++ {
		e.fade(v * p.dt[k])
		p.need[k] = max(p.need[k], p.gates[k].part(p.Depth, &e))
		e.Take(&p.gates[k])
		if k == 0 && !p.from.Free {
			e.Limit(p.from.C, p.from.C)
		}
	}
	e = Open()
	for k := j; k >= i; k-- {
		p.need[k] = max(p.need[k], p.gates[k].part(p.Depth, &e))
		e.Take(&p.gates[k])
		e.fade(v * p.dt[k])
	}
}

// fade moves envelopes on by the change of c that the rate allows.
func (g *Gate) fade(r float64) {
	g.High, g.Low, g.Min, g.Max = g.High-r, g.Low+r, g.Min-r, g.Max+r
}

// slowRun lengthens the steep stretches of a run for which the whole depth is
// not enough. The string in the whole tube has the least sum of
// max(0, |slope|/v - 1)·dt, which is the time that slowing to v adds: it is a
// convex functional of the slope like any other.
func (p *Planner) slowRun(i, j int) {
	v := p.Rate
	p.pull(i, j, 1, i > 0 || p.from.Free)
	for k := i + 1; k <= j; k++ {
		factor := math.Abs(p.c[k]-p.c[k-1]) / (v * p.dt[k])
		if factor <= 1 {
			continue
		}
		if !p.gates[k].Slow || factor > (1+rounding)/p.Slowest {
			p.violated(Steep, k, factor*v)
		}
		p.dt[k] *= factor * (1 + rounding)
	}
}

// stretchTravels walks the set of c that can be reached within the rate, and
// lengthens a travel just enough where that set misses the next window.
func (p *Planner) stretchTravels() {
	for k := range p.gates {
		w := p.window(k, p.part[k])
		p.lo[k], p.hi[k], p.reach[k] = w.Lo, w.Hi, p.Rate*p.dt[k]
		if !p.gates[k].Burn {
			p.reach[k] = math.Inf(1) // may take longer
		}
	}
	p.narrow()
	reach := p.startWindow()
	for i, n := 0, len(p.gates); i+1 < n; {
		e := p.nextEnd(i)
		end, ok := p.reachOver(i, e, reach, 1)
		if !ok {
			f := p.lengthen(i, e, reach)
			floats.Scale(f, p.dt[i+1:e+1])
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
func (p *Planner) lengthen(i, e int, reach focus.Window) float64 {
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
// e, whose times are taken longer by a factor. ok reports whether a travel's
// windows are all met.
func (p *Planner) reachOver(i, e int, reach focus.Window, longer float64) (end focus.Window, ok bool) {
	for k := i + 1; k <= e; k++ {
		r := p.Rate * p.dt[k] * longer
		lo, hi := reach.Lo-r, reach.Hi+r
		if gap := max(p.lo[k]-hi, lo-p.hi[k]); gap > rounding && !p.gates[k].Burn {
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
