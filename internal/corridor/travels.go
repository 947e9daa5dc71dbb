package corridor

import "sagitta/internal/focus"

// stretchTravels walks the set of c that can be reached within the rate, and
// lengthens a travel just enough where that set misses the next window.
func (p *Planner) stretchTravels() {
	v, n := p.Rate, len(p.gates)
	for k := range p.gates {
		w := p.window(k, p.part[k])
		p.lo[k], p.hi[k] = w.Lo, w.Hi
	}
	// Inside a run only what can still be reached and left counts.
	for k := 1; k < n; k++ {
		if p.gates[k].Burn {
			p.lo[k] = max(p.lo[k], p.lo[k-1]-v*p.dt[k])
			p.hi[k] = min(p.hi[k], p.hi[k-1]+v*p.dt[k])
		}
	}
	for k := n - 1; k > 0; k-- {
		if p.gates[k].Burn {
			p.lo[k-1] = max(p.lo[k-1], p.lo[k]-v*p.dt[k])
			p.hi[k-1] = min(p.hi[k-1], p.hi[k]+v*p.dt[k])
		}
	}
	reach := focus.Window{Lo: p.lo[0], Hi: p.hi[0]}
	if !p.from.Free {
		reach = focus.Window{Lo: p.from.C, Hi: p.from.C}
	}
	for i := 0; i+1 < n; {
		e := i + 1
		for p.gates[e].S < 1 {
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
