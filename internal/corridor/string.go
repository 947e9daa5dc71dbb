package corridor

// tautString is the funnel algorithm for the shortest path through a tube of
// vertical gates. Pulled tight, the string minimises every convex symmetric
// functional of its slope at once, the greatest slope and the total
// variation among them (M. Lifshits, E. Setterqvist, Stochastic Processes
// and their Applications 125 (2015) 401).
//
// It keeps the buffers of its two chains between calls.
type tautString struct {
	up, low []knot
}

// knot is a corner of a chain: a time in s and a correction in mm.
type knot struct{ t, c float64 }

// above reports whether the slope from p to q exceeds that from p to r; q and r
// lie later than p. Multiplied out, so that steps of a nanosecond do not
// divide by nearly nothing.
func above(p, q, r knot) bool {
	return (q.c-p.c)*(r.t-p.t) > (r.c-p.c)*(q.t-p.t)
}

// pull writes the string's c at each gate into c. The gates stand at strictly
// increasing times t with lo[i] <= hi[i]; hi[i] may be +Inf and lo[i] -Inf.
// The first and the last gate must be points (lo = hi). All slices have the
// same length, at least 1. It takes linear time.
func (f *tautString) pull(t, lo, hi, c []float64) {
	n := len(t)
	apex := knot{t[0], lo[0]}
	c[0] = apex.c
	if n == 1 {
		return
	}
	// Both chains start at the apex. up is convex (slopes rise) and runs
	// along upper ends, low is concave (slopes fall) and runs along lower
	// ends; hu and hl are the places of the apex in them.
	up, low := append(f.up[:0], apex), append(f.low[:0], apex)
	hu, hl := 0, 0
	done := 0 // c is written up to this gate
	emit := func(k knot) {
		for i := done + 1; i < n && t[i] <= k.t; i++ {
			if t[i] == k.t {
				c[i] = k.c
			} else {
				c[i] = apex.c + (k.c-apex.c)*((t[i]-apex.t)/(k.t-apex.t))
			}
			done = i
		}
		apex = k
	}
	for i := 1; i < n; i++ {
		if h := (knot{t[i], hi[i]}); !isInf(h.c) {
			for len(up)-hu >= 2 && !above(up[len(up)-2], h, up[len(up)-1]) {
				up = up[:len(up)-1]
			}
			up = append(up, h)
			if len(up)-hu == 2 {
				for len(low)-hl >= 2 && above(apex, low[hl+1], h) {
					hl++
					emit(low[hl])
				}
				up[hu] = apex
			}
		}
		if l := (knot{t[i], lo[i]}); !isInf(l.c) {
			for len(low)-hl >= 2 && !above(low[len(low)-2], low[len(low)-1], l) {
				low = low[:len(low)-1]
			}
			low = append(low, l)
			if len(low)-hl == 2 {
				for len(up)-hu >= 2 && above(apex, l, up[hu+1]) {
					hu++
					emit(up[hu])
				}
				low[hl] = apex
			}
		}
	}
	// The last gate is a point, so what is left of both chains is the
	// straight line to it.
	emit(knot{t[n-1], lo[n-1]})
	f.up, f.low = up, low
	// Rounding in the straight parts may leave a touching gate by an ulp.
	for i := range c {
		c[i] = min(max(c[i], lo[i]), hi[i])
	}
}

func isInf(x float64) bool { return x-x != 0 }
