package corridor

import (
	"math"

	"sagitta/internal/corridor/round"
)

// carryAll carries what can be reached forward over all gates. Where nothing can, more of
// the depth is spent around, up to all of it; where that is not enough, corners there stay
// as they are. It reports whether there is a way.
func (r *rounder) carryAll() bool {
	p := r.p
	k := 0
	if !p.from.Free {
		k = 1
		r.sets[0] = round.Box(p.from.C, p.from.C, p.from.Slope, p.from.Slope)
	}
	for k <= r.last {
		if r.carry(k, r.lo[k], r.hi[k]) {
			k++
			continue
		}
		if k = r.widen(k); k < 0 {
			return false
		}
	}
	return true
}

// carry carries what can be reached to gate k, and reports whether anything can.
func (r *rounder) carry(k int, lo, hi float64) bool {
	to := &r.sets[k]
	if k == 0 || r.along[k] == 0 {
		*to = round.Box(lo, hi, 0, 0)
		return !to.Empty()
	}
	from, steep := &r.sets[k-1], r.steep[k]
	if rate := r.p.Rate; rate > 0 {
		dt := r.p.dt[k]
		if r.p.gates[k].Burn {
			dt *= r.even[k]
		}
		steep = min(steep, rate*dt/r.along[k])
	}
	if k == r.last {
		steep = min(steep, r.bend[k]) // so that c can stand still from there on
	}
	switch step := r.step[k-1]; {
	case isInf(step):
		least, most := from.Bounds()
		any := round.Box(least, most, -steep, steep)
		to.Next(&any, 0, r.along[k], steep, lo, hi)
	default:
		to.Next(from, step, r.along[k], steep, lo, hi)
	}
	return !to.Empty()
}

// passes reports whether there is a way on from gate j-1 to gate m where so much of the
// depth may be spent.
func (r *rounder) passes(j, m int, part float64) bool {
	for k := j; k <= m; k++ {
		lo, hi := r.at(k, max(part, r.p.spent[k]))
		if !r.carry(k, lo, hi) {
			return false
		}
	}
	return true
}

// widen spends more of the depth about gate k, which cannot be reached, and returns the
// first gate to carry to anew; negative where there is no way. Before that, what is held
// still there moves.
func (r *rounder) widen(k int) int {
	if first := r.let(r.around(k, math.Inf(1))); first >= 0 {
		return min(first, k) // a row may be held still behind it
	}
	j, m := r.around(k, r.reach)
	first := j
	if !r.passes(j, m, 1) {
		if j, m = r.around(k, math.Inf(1)); !r.passes(j, m, 1) {
			if next := r.slow(j, k); next >= 0 {
				return next
			}
			return min(j, r.relax(k))
		}
		first = j
	}
	part := r.least(j, m, r.p.spent[k])
	// What is narrow before may ask for more than need be.
	if i, _ := r.around(k, backTimes*r.reach); i < j {
		first = i
		if r.passes(i, m, part/forcedPart/forcedPart) {
			j, part = i, r.least(i, m, r.p.spent[k])
		}
	}
	r.part = part
	part = min(1, part*forcedPart)
	for q := j; q <= m; q++ {
		p := r.p
		p.spent[q], p.part[q] = max(p.spent[q], part), max(p.part[q], Narrowing*part)
		r.windowed(q)
	}
	return first
}

// let has rows about gates j to m move that are held still, and returns the first gate to
// carry to anew; negative where there are none.
func (r *rounder) let(j, m int) int {
	p, first := r.p, -1
	for k := range p.rows {
		o := &p.rows[k]
		if !o.still || o.last < j-1 || o.first > m {
			continue
		}
		p.free(o)
		for q := o.first; q <= o.last; q++ {
			r.windowed(q)
		}
		if first < 0 {
			first = o.first
		}
	}
	if first == 0 && !p.from.Free {
		first = 1
	}
	return first
}

// slow slows all burns about gate k, as far as the head hardly stops, to the greatest part
// of their feed with which there is a way in the whole depth. It carries on to there, and
// returns the gate behind that; negative where they may not be slowed, or that is not enough.
// What can be reached from gate from on is not as it was carried.
func (r *rounder) slow(from, k int) int {
	p := r.p
	i, m := k-1, k
	for i > 0 && !r.crawls(i) {
		i--
	}
	for m+1 < len(p.gates) && !r.crawls(m) {
		m++
	}
	j := i
	if i == 0 && !p.from.Free {
		j = 1
	}
	for q := from; q < j; q++ {
		r.carry(q, r.lo[q], r.hi[q])
	}
	burns := false
	for k := i + 1; k <= m; k++ {
		g := &p.gates[k]
		burns = burns || g.Burn
		if g.Burn && !g.Even {
			return -1
		}
	}
	was, most := r.even[m], slowestPart/p.Slowest
	at := func(longer float64) bool {
		for k := i + 1; k <= m; k++ {
			r.even[k] = longer
		}
		r.measure(i, m)
		return r.passes(j, m, 1)
	}
	if !burns || most <= was {
		return -1
	}
	longer, ok := search(was, most, r.longer, feedsSame, at)
	if !ok {
		at(was)
		return -1
	}
	r.longer = longer
	at(longer)
	for k := j; k <= m; k++ {
		p.spent[k], p.part[k] = 1, max(p.part[k], Narrowing)
		r.windowed(k)
	}
	return m + 1
}

// search finds the least factor with which something goes, to within a ratio, and reports
// whether it does with the most. It does not with less. What it was last comes first, and then
// what is further and further from that.
func search(less, most, last, within float64, goes func(float64) bool) (enough float64, ok bool) {
	enough, f := math.Inf(1), min(max(last, less*within), most)
	for stride := within; enough > less*within; stride *= stride {
		if goes(f) {
			enough = f
			f = max(f/stride, math.Sqrt(less*f))
		} else if less = f; f == most {
			return 0, false
		} else {
			f = min(f*stride, math.Sqrt(f*enough), most)
		}
	}
	return enough, true
}

// crawls reports whether the head passes a gate so slowly, or c goes on there from
// anywhere, that speeds on either side have little to do with each other.
func (r *rounder) crawls(k int) bool {
	return isInf(r.step[k]) || r.speed[k] <= crawl*min(r.feed(k), r.feed(k+1))
}

// least finds the least part of the depth with which there is a way from gate j-1 to gate m;
// there is one with all of it, and none with less of it than given.
func (r *rounder) least(j, m int, less float64) float64 {
	part, ok := search(max(less, leastPart), 1, r.part, partsSame, func(part float64) bool { return r.passes(j, m, part) })
	if !ok { // by rounding
		return 1
	}
	return part
}

// around are the first and the last gate that lie within so many seconds of gate k, and not
// beyond a place where the head hardly moves.
func (r *rounder) around(k int, seconds float64) (first, last int) {
	first, last = k, k
	for t := 0.0; first > 1 && !r.crawls(first-1); first-- {
		if t += r.time[first]; t > seconds {
			break
		}
	}
	if first == 1 && r.p.from.Free || first > 1 && r.crawls(first-1) {
		first-- // where it stands c is what it is before and behind
	}
	for t := 0.0; last+1 < len(r.step) && !r.crawls(last); last++ {
		if t += r.time[last+1]; t > seconds {
			break
		}
	}
	return first, last
}

// relax lets the path turn as it likes before gate k, which cannot be reached else, and
// returns the first gate that this changes something for; negative where it has done so.
func (r *rounder) relax(k int) int {
	seconds := r.reach
	if r.relaxed != k {
		r.relaxed, r.wholly = k, false
	} else if seconds = math.Inf(1); r.wholly {
		return -1
	} else {
		r.wholly = true
	}
	first, _ := r.around(k, seconds)
	for q := max(1, first); q <= k; q++ {
		r.bend[q-1], r.step[q-1] = math.Inf(1), math.Inf(1)
	}
	if k == r.last {
		r.bend[k] = math.Inf(1)
	}
	return first
}
