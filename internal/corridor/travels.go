package corridor

import (
	"math"

	"sagitta/internal/focus"
)

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
