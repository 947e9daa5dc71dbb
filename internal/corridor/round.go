package corridor

import (
	"math"

	"sagitta/internal/corridor/round"
	"sagitta/internal/motion"
)

const (
	// Gentle is the part of the step that the head takes which a corner may have: the
	// rest is for what decimals make of it.
	Gentle = 0.8
	// forcedPart is how much more of the depth than least is spent where corners can only
	// be rounded with more of it: so the next gates need not ask again.
	forcedPart = 1.02
	// partsSame is how close the bounds of that least part come together.
	partsSame = 1.02
	// feedsSame is the same for the part of its feed that a burn goes at.
	feedsSame = 1.01
	// slowestPart is the part of the slowing that is allowed which is asked for: feeds are
	// written in so many digits, and over XYZ.
	slowestPart = 0.98
	// crawl is the part of its feed at which the head as good as stands.
	crawl = 0.1
	// leastPart is so little of the depth that less is none.
	leastPart = 1e-4
	// reachTimes is how far what cannot be rounded reaches along the path, in the time in
	// which Z comes from one side of the depth to the other and stands again.
	reachTimes = 2
	// backTimes is how many times as far back more may be spent for less of it.
	backTimes = 8
	// plainReach is that time in s where no acceleration of Z is known.
	plainReach = 0.5
	// settles is in what part of that time the path comes back to the string.
	settles = 0.5
)

// rounder rounds the corners of a path: the slope of c over the way changes at each gate by
// no more than the head takes at the speed that it has there, and on average by no more
// than Z's acceleration gives. The speeds are those that X and Y would have alone.
type rounder struct {
	p     *Planner
	limit *motion.Limits
	reach float64 // reachTimes, in s
	last  int     // the gate up to which it rounds
	whole bool    // nothing comes behind the last gate, where c stands still then

	// By gate: the length of the stretch before it in mm and how long it takes, the speed
	// at the gate, and by how much the slope may change there: at a corner of the path
	// (bend), and on average (step). Both are +Inf where the head stands, or c goes on
	// from anywhere.
	along, time, speed, bend, step []float64
	// lo and hi are the windows of c, steep the greatest slope of the stretch before whatever
	// the rate of Z.
	lo, hi, steep []float64
	bottom, top   float64 // of all windows
	sets          []round.Set
	// c is the rounded path, slope that of the stretch before, low and high bounds of it.
	c, slope, low, high []float64
	// even is how many times longer the burn before a gate takes, so that all of them
	// between two places where the head stands go at one part of their feed.
	even []float64
	// part was the least that had to be spent where last more had to be, relaxed the gate
	// for which steps were let go last,
	// and wholly that it was as far back as the head stands.
	part    float64
	longer  float64 // the same of even
	relaxed int
	wholly  bool
}

// round rounds p.c up to gate end, if the head as good as stands there, else all of it, and
// reports whether it could: else p.c is as it was.
func (r *rounder) round(end int) bool {
	n := len(r.p.gates)
	for _, s := range []*[]float64{&r.along, &r.time, &r.speed, &r.bend, &r.step, &r.lo, &r.hi, &r.steep, &r.c, &r.slope, &r.low, &r.high, &r.even} {
		*s = grow(*s, n)
	}
	r.reach = plainReach
	if a := r.limit.Accel[2]; a > 0 {
		r.reach = reachTimes * 2 * math.Sqrt((r.p.Depth.Near+r.p.Depth.Far)/a)
	}
	r.relaxed = -1
	for k := range r.even {
		r.even[k] = 1
	}
	if f := r.p.from.Even; f > 1 && !r.p.from.Free {
		for k := 1; k < n && (k == 1 || !Stands(r.p.gates, k-1)); k++ {
			r.even[k] = f
		}
	}
	r.whole = end == n-1
	r.measure(0, n-1)
	if r.last = end; end+1 < n && !r.crawls(end) {
		r.last = n - 1
	}
	r.open()
	if r.smooth() {
		copy(r.c, r.p.c)
		r.slopes()
		return true
	}
	if cap(r.sets) < n {
		r.sets = make([]round.Set, n, n+n/8)
	}
	r.sets = r.sets[:n]
	if !r.carryAll() {
		return false
	}
	r.p.pull(0, n-1, 0, r.p.from.Free)
	r.slopes()
	r.pick()
	return true
}

// open works out the windows, and how steep the path can be in them.
func (r *rounder) open() {
	p := r.p
	r.bottom, r.top = p.from.C, p.from.C
	for k := range p.gates {
		w := p.window(k, p.spent[k])
		for _, c := range [2]float64{w.Lo, w.Hi} {
			if !isInf(c) {
				r.bottom, r.top = min(r.bottom, c), max(r.top, c)
			}
		}
	}
	depth := p.Depth.Near + p.Depth.Far
	r.bottom, r.top = r.bottom-depth, r.top+depth
	for k := range p.gates {
		r.windowed(k)
		if r.steep[k] = 0; r.along[k] > 0 {
			r.steep[k] = (r.top - r.bottom) / r.along[k]
		}
	}
}

// windowed takes the window of gate k at what is spent there.
func (r *rounder) windowed(k int) { r.lo[k], r.hi[k] = r.at(k, r.p.spent[k]) }

// at is the window of gate k for a part of the depth.
func (r *rounder) at(k int, part float64) (lo, hi float64) {
	w := r.p.window(k, part)
	return max(w.Lo, r.bottom) - linkSlack, min(w.Hi, r.top) + linkSlack
}

// smooth reports whether the string turns no more than it may as it is.
func (r *rounder) smooth() bool {
	c := r.p.c
	was := r.p.from.Slope
	for k := 1; k <= r.last; k++ {
		if r.along[k] == 0 {
			continue
		}
		slope := (c[k] - c[k-1]) / r.along[k]
		if math.Abs(slope-was) > r.step[k-1]*(1+slopeSlack) {
			return false
		}
		was = slope
	}
	return math.Abs(was) <= r.bend[r.last]*(1+slopeSlack)
}

// slopes works out those of the string, and what a path that turns as little as it may is
// to follow: the middle of the greatest that stays below them, and the least that stays
// above.
func (r *rounder) slopes() {
	c, n := r.p.c, len(r.p.c)
	r.slope[0] = r.p.from.Slope
	for k := 1; k < n; k++ {
		r.slope[k] = r.slope[k-1]
		if r.along[k] > 0 {
			r.slope[k] = (c[k] - c[k-1]) / r.along[k]
		}
	}
	copy(r.low, r.slope)
	copy(r.high, r.slope)
	for k := 1; k < n; k++ {
		r.low[k] = min(r.low[k], r.low[k-1]+r.step[k-1])
		r.high[k] = max(r.high[k], r.high[k-1]-r.step[k-1])
	}
	for k := n - 1; k > 0; k-- {
		r.low[k-1] = min(r.low[k-1], r.low[k]+r.step[k-1])
		r.high[k-1] = max(r.high[k-1], r.high[k]-r.step[k-1])
	}
	for k := range r.slope {
		r.slope[k] = (r.low[k] + r.high[k]) / 2
	}
}

// pick picks, from the last gate back, the pairs that follow the string: its slope as a path
// can that turns so little, and towards its c.
func (r *rounder) pick() {
	c, n := r.p.c, r.last+1
	copy(r.c[n:], c[n:])
	least, most := r.sets[n-1].Bounds()
	r.c[n-1] = min(max(c[n-1], least), most)
	next := math.Inf(1)
	for k := n - 1; k > 0; k-- {
		if r.along[k] == 0 {
			least, most := r.sets[k-1].Bounds()
			r.c[k-1] = min(max(c[k-1], least), most)
			continue
		}
		p0, p1 := r.sets[k].Slopes(r.c[k])
		if step := r.step[k]; k+1 < n && !isInf(step) && !isInf(next) {
			p0, p1 = max(p0, next-step), min(p1, next+step)
		}
		if p0 > p1 { // by rounding
			p0 = (p0 + p1) / 2
			p1 = p0
		}
		want := r.slope[k] + (r.c[k]-c[k])/max(r.along[k], r.along[k]/r.time[k]*r.reach*settles)
		next = min(max(want, p0), p1)
		r.c[k-1] = r.c[k] - next*r.along[k]
	}
	if !r.p.from.Free {
		r.c[0] = r.p.from.C
	}
	copy(c, r.c)
}
