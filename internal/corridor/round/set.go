package round

import "math"

// Most is how many corners a Set has at most. One with more is narrowed to the inside: what
// it says can be reached can be. Sets along a path soon have as many as they may, and with
// more of them hardly reach further.
const Most = 10

// Pair is a value and its slope.
type Pair struct{ C, P float64 }

// Set is a convex polygon of pairs, or a segment, or a point; the zero Set is empty.
type Set struct {
	n  int
	at [Most]Pair // counter-clockwise, C to the right and P up
}

// Box is the set of all pairs within bounds, of which none may be infinite.
func Box(c0, c1, p0, p1 float64) Set {
	if c0 > c1 || p0 > p1 {
		return Set{}
	}
	return Set{n: 4, at: [Most]Pair{{c0, p0}, {c1, p0}, {c1, p1}, {c0, p1}}}
}

// Empty reports whether there is no pair in the set.
func (s *Set) Empty() bool { return s.n == 0 }

// Pairs are the corners, counter-clockwise.
func (s *Set) Pairs() []Pair { return s.at[:s.n] }

// Bounds are the least and the greatest C of a set that is not empty.
func (s *Set) Bounds() (least, most float64) {
	least, most = math.Inf(1), math.Inf(-1)
	for _, q := range s.at[:s.n] {
		least, most = min(least, q.C), max(most, q.C)
	}
	return least, most
}

// working are the corners of a set on its way: what is done to one adds a few.
type working struct {
	n  int
	at [Most + 8]Pair
}

// add adds a corner, but none twice, nor more than rounding can make of a convex polygon:
// without one it is the less.
func (w *working) add(q Pair) {
	if (w.n == 0 || w.at[w.n-1] != q) && w.n < len(w.at) {
		w.at[w.n] = q
		w.n++
	}
}

// Next makes the set what can be reached from another by a step of the slope of at most step
// either way, then a stretch of so much length, where C is then within c0 and c1, and the
// slope on it between -steepest and steepest. From an empty set nothing can.
func (s *Set) Next(from *Set, step, length, steepest, c0, c1 float64) {
	var a, b working
	low, high := from.turn(step, &a)
	w, spare := &a, &b
	if high > steepest {
		w, spare = w.clip(spare, slope, -1, steepest)
	}
	if low < -steepest {
		w, spare = w.clip(spare, slope, 1, -steepest)
	}
	low, high = math.Inf(1), math.Inf(-1)
	for k := range w.at[:w.n] {
		q := &w.at[k]
		q.C += q.P * length
		low, high = min(low, q.C), max(high, q.C)
	}
	if low < c0 {
		w, spare = w.clip(spare, value, 1, c0)
	}
	if high > c1 {
		w, _ = w.clip(spare, value, -1, c1)
	}
	s.take(w)
}

// turn writes the set with its slopes changed by up to step either way: its lower side goes
// down and its upper side up. It gives the least and the greatest of them.
func (s *Set) turn(step float64, w *working) (low, high float64) {
	low, high = math.Inf(1), math.Inf(-1)
	w.n = 0
	if s.n == 0 {
		return low, high
	}
	lowLeft, lowRight, highRight, highLeft := 0, 0, 0, 0
	for k, q := range s.at[:s.n] {
		low, high = min(low, q.P), max(high, q.P)
		if a := s.at[lowLeft]; q.C < a.C || q.C == a.C && q.P < a.P {
			lowLeft = k
		}
		if a := s.at[lowRight]; q.C > a.C || q.C == a.C && q.P < a.P {
			lowRight = k
		}
		if a := s.at[highRight]; q.C > a.C || q.C == a.C && q.P > a.P {
			highRight = k
		}
		if a := s.at[highLeft]; q.C < a.C || q.C == a.C && q.P > a.P {
			highLeft = k
		}
	}
	s.side(lowLeft, lowRight, -step, w)
	s.side(highRight, highLeft, step, w)
	return low - step, high + step
}

// side adds the corners from one to another, counter-clockwise, with their slopes changed.
func (s *Set) side(from, to int, by float64, w *working) {
	for k := from; ; k++ {
		if k == s.n {
			k = 0
		}
		w.add(Pair{s.at[k].C, s.at[k].P + by})
		if k == to {
			return
		}
	}
}

// The coordinates of a pair.
const (
	value = iota
	slope
)

func (q *Pair) of(what int) float64 {
	if what == value {
		return q.C
	}
	return q.P
}

// clip leaves what of a polygon lies where a coordinate, times sign, is no less than the
// bound times sign, in the spare one. The other is spare then.
func (w *working) clip(spare *working, what int, sign, bound float64) (in, other *working) {
	to := spare
	if to.n = 0; w.n == 0 {
		return to, w
	}
	last := w.at[w.n-1]
	was := sign * (last.of(what) - bound)
	for _, q := range w.at[:w.n] {
		is := sign * (q.of(what) - bound)
		if was < 0 != (is < 0) {
			t := was / (was - is)
			if what == value {
				to.add(Pair{bound, last.P + t*(q.P-last.P)})
			} else {
				to.add(Pair{last.C + t*(q.C-last.C), bound})
			}
		}
		if is >= 0 {
			to.add(q)
		}
		last, was = q, is
	}
	return to, w
}

// take takes the polygon with as many corners as a Set has: those go that least is lost with.
func (s *Set) take(w *working) {
	for w.n > 1 && w.at[0] == w.at[w.n-1] {
		w.n--
	}
	for w.n > Most {
		least, at := math.Inf(1), 0
		a, b := w.at[w.n-1], w.at[0]
		for k := range w.n {
			c := w.at[0]
			if k+1 < w.n {
				c = w.at[k+1]
			}
			if lost := math.Abs((b.C-a.C)*(c.P-a.P) - (c.C-a.C)*(b.P-a.P)); lost < least {
				least, at = lost, k
			}
			a, b = b, c
		}
		copy(w.at[at:], w.at[at+1:w.n])
		w.n--
	}
	s.n = copy(s.at[:], w.at[:w.n])
}

// Slopes are the least and the greatest slope of a set that is not empty where C is c, or as
// near to it as the set comes.
func (s *Set) Slopes(c float64) (least, most float64) {
	c0, c1 := s.Bounds()
	c = min(max(c, c0), c1)
	least, most = math.Inf(1), math.Inf(-1)
	last := s.at[s.n-1]
	for _, q := range s.at[:s.n] {
		if q.C == c {
			least, most = min(least, q.P), max(most, q.P)
		} else if last.C != c && (last.C < c) != (q.C < c) {
			p := last.P + (q.P-last.P)*((c-last.C)/(q.C-last.C))
			least, most = min(least, p), max(most, p)
		}
		last = q
	}
	return least, most
}
