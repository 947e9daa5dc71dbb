package trace

import (
	"math"

	"github.com/paulmach/orb"
)

// parts is into how many parts a step is divided: as many as it takes for the heights on
// each to leave their chord by next to nothing, and for an arc to be as good as its chords.
func (k *Keeper) parts(s *Step) int {
	n := 1.0
	switch {
	case s.Stops || s.Unknown || !(s.LengthMM > leastPart):
		return 1
	case !s.Burns:
		n = s.LengthMM / travelPart
	default:
		closely := finest
		if k.small(s) {
			closely = coarsest
		} else {
			n = math.Abs(s.C1-s.C0) / (k.depth.least() * flat)
		}
		n = min(max(n, s.Within/(k.depth.least()*closely)), s.LengthMM/leastPart)
	}
	if s.Turn > 0 {
		off := max(roundest, k.above.bounds.side()*roundness)
		if k.above.cells != nil {
			off = max(off, k.above.cells.size/2)
		}
		n = max(n, s.Turn/math.Sqrt(8*off*s.Turn/s.LengthMM))
	}
	return int(min(max(math.Ceil(n), 1), mostParts))
}

// small reports whether a step is but a bit of the stretch that it goes to.
func (k *Keeper) small(s *Step) bool {
	const bit = 1.0 / 8
	a := &k.stretches
	return a.open && (1/a.n+s.Seconds/max(a.seconds, math.SmallestNonzeroFloat64)) < bit/perStretch
}

// from is where a step begins.
func (k *Keeper) from(s *Step) orb.Point {
	if s.Unknown {
		return s.Way.XY(1)
	}
	return s.Way.XY(0)
}

// piece is the one that a step goes to.
func (k *Keeper) piece(s *Step, at float64, from orb.Point) *piece {
	a := &k.stretches
	if !a.open {
		if len(a.list) > 0 && len(a.list) >= max(mostStretches, a.most) {
			k.room()
		}
		a.list = append(a.list, newPiece(len(k.t.Programs)-1, s, &k.depth, at, from))
		a.open = true
	}
	p := a.last()
	if k.zStep > p.ZStep {
		p.ZStep, p.ZStepAt = k.zStep, at
	}
	k.zStep = 0
	return p
}

// room joins neighbours, and finds anew which stretch each program begins with.
func (k *Keeper) room() {
	k.stretches.room()
	k.firsts()
}

// firsts says of each program which stretch is its first.
func (k *Keeper) firsts() {
	i := 0
	for n := range k.t.Programs {
		for i < len(k.stretches.list) && k.stretches.list[i].Program < n {
			i++
		}
		k.t.Programs[n].First = i
	}
}

// whole takes a step undivided.
func (k *Keeper) whole(s *Step, at float64) {
	from, to := k.from(s), orb.Point(s.Way.XY(1))
	p := k.piece(s, at, from)
	p.take(s, &k.depth, 1, k.seconds, to)
	if !s.Stops {
		p.C.Add(s.C0)
		p.C.Add(s.C1)
	}
	switch {
	case s.Stops:
	case s.Burns:
		mm := finite(s.LengthMM)
		d0, d1 := s.C0-s.Middle-k.depth.defocus, s.C1-s.Middle-k.depth.defocus
		if !s.NoHeight {
			p.extremes(s, &k.depth, at)
		}
		k.ink(s, from, to, mm, d0, d1, s.C0, s.C1, s.Middle, s.Middle, !s.NoHeight)
	default:
		if h, is := s.Way.At(1); is {
			p.height.Add(h)
			p.defocus.Add(s.C1 - h - k.depth.defocus)
		}
		k.above.travel(from, to)
	}
	k.stretches.settle(1)
}

// divided takes a step in parts, whose heights are straight as far as it matters.
func (k *Keeper) divided(s *Step, n int, at float64) {
	small := k.small(s)
	height, defocus, _ := k.Known()
	known := [2]Range{height, defocus}
	for i := range n + 1 {
		k.h[i], k.is[i] = s.Way.At(float64(i) / float64(n))
	}
	if small {
		p := k.piece(s, at, k.from(s))
		p.take(s, &k.depth, 1, k.seconds, s.Way.XY(1))
		k.part(p, s, known, at, 0, n, n, true)
		k.stretches.settle(1)
	}
	from := s.Way.XY(0)
	for i := 0; i < n; {
		to := i + 1
		if !small {
			to = k.straight(i, n, (s.C1-s.C0)/float64(n))
			share := float64(to-i) / float64(n)
			until, end := at+finite(s.Seconds)*float64(to)/float64(n), s.Way.XY(float64(to)/float64(n))
			if to == n {
				until = k.seconds
			}
			p := k.piece(s, at+finite(s.Seconds)*float64(i)/float64(n), s.Way.XY(float64(i)/float64(n)))
			p.take(s, &k.depth, share, until, end)
			k.part(p, s, known, at, i, to, n, false)
			k.stretches.settle(share)
		}
		for ; i < to; i++ {
			u0, u1 := float64(i)/float64(n), float64(i+1)/float64(n)
			end := s.Way.XY(u1)
			c0, c1 := s.c(u0), s.c(u1)
			if s.Burns {
				h0, h1, d := k.h[i], k.h[i+1], k.depth.defocus
				k.ink(s, from, end, s.LengthMM/float64(n), c0-h0-d, c1-h1-d, c0, c1, h0, h1, k.is[i] && k.is[i+1])
			} else {
				k.above.travel(from, end)
			}
			from = end
		}
	}
}

// part takes the heights from the i-th place to another of n, and the extremes that lie
// there, into a piece.
func (k *Keeper) part(p *piece, s *Step, known [2]Range, at float64, i, to, n int, all bool) {
	height, defocus := &p.height, &p.defocus
	if s.Burns {
		height, defocus = &p.Height, &p.Defocus
	}
	u0, u1 := float64(i)/float64(n), float64(to)/float64(n)
	for m := i; m <= to; m++ {
		c := s.c(float64(m) / float64(n))
		if m == i || m == to {
			p.C.Add(c)
		}
		if !k.is[m] {
			continue
		}
		h := k.h[m]
		d := c - h - k.depth.defocus
		if s.Burns { // what was searched is exact
			h, d = within(h, s.Height, known[0]), within(d, s.Defocus, known[1])
		}
		height.Add(h)
		defocus.Add(d)
	}
	if !s.Burns {
		return
	}
	here := func(at float64) bool {
		if all || at >= u0 && (at < u1 || at <= 1 && to == n) {
			lo, hi := min(max(int(at*float64(n)), 0), n), min(max(int(math.Ceil(at*float64(n))), 0), n)
			return !s.NoHeight || k.is[lo] && k.is[hi]
		}
		return false
	}
	if here(s.Height.AtLo) {
		height.Lo = min(height.Lo, s.Height.Lo)
	}
	if here(s.Height.AtHi) {
		height.Hi = max(height.Hi, s.Height.Hi)
	}
	if here(s.Defocus.AtLo) {
		defocus.Lo = min(defocus.Lo, s.Defocus.Lo)
	}
	if here(s.Defocus.AtHi) {
		defocus.Hi = max(defocus.Hi, s.Defocus.Hi)
	}
	if here(s.Spent.AtLo) {
		p.low(s, &k.depth, at)
	}
	if here(s.Spent.AtHi) {
		p.high(s, &k.depth, at)
	}
}

// within is a value, or where it is beyond an extent, and what was known, by rounding, the
// end of that.
func within(v float64, e Extent, known Range) float64 {
	lo, hi := min(e.Lo, known.Lo), max(e.Hi, known.Hi)
	if !(lo <= hi) {
		return v
	}
	return min(max(v, lo), hi)
}

// straight is the last place of n up to which the heights from the i-th on leave their chord
// by next to nothing, neither they nor c, which rises by so many mm from place to place, go
// far, and all have a height or none has.
func (k *Keeper) straight(i, n int, rises float64) int {
	tol, far := k.depth.least()*finest, k.depth.least()*flat
	lo, hi := math.Inf(-1), math.Inf(1) // of the chord's rise by place
	to := i + 1
	for ; to <= n; to++ {
		if k.is[to] != k.is[i] {
			break
		}
		by, up := float64(to-i), k.h[to]-k.h[i]
		if rise := up / by; rise < lo || rise > hi || max(math.Abs(up), math.Abs(rises*by), math.Abs(rises*by-up)) > far {
			break
		}
		lo, hi = max(lo, (up-tol)/by), min(hi, (up+tol)/by)
	}
	return max(to-1, i+1)
}
