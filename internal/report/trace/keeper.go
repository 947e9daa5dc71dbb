package trace

import (
	"math"

	"github.com/paulmach/orb"
)

const (
	// finest is how closely heights are followed along a move, in parts of the lesser side
	// of the depth, and coarsest the same where a move is but a bit of its stretch.
	finest, coarsest = 1.0 / 64, 1.0 / 20
	// flat is over how much of the lesser side of the depth heights, the defocus and c may go
	// on a stretch that is but a part of a move: what is told of it is their range.
	flat = 1.0 / 16
	// mostParts is into how many parts a move is divided, and leastPart in mm what a part
	// is at least.
	mostParts, leastPart = 256, 0.25
	// travelPart in mm is what a part of a travel is at least.
	travelPart = 5
	// unseen is by how much more of the depth no picture shows.
	unseen = 1.0 / 64
	// roundness is how far the parts of an arc may leave it, in parts of what is burned, and
	// roundest the same in mm.
	roundness, roundest = 1.0 / 2000, 0.02
	// mostWaits is how many are kept.
	mostWaits = 300
)

// leastDepth in mm stands for a side of the depth of which nothing is left.
const leastDepth = 1e-6

// Keeper keeps a trace of the steps that it takes.
type Keeper struct {
	t         Trace
	stretches stretches
	above     above
	of, depth depth // what is asked of the program, and of the step under way
	original  bool
	seconds   float64
	// zStep is the step of the speed of Z where the step under way begins, until a piece has it.
	zStep float64
	// h are the heights along the step under way, and is whether there are any.
	h  [mostParts + 1]float64
	is [mostParts + 1]bool
}

// NewKeeper returns one that has taken nothing; original tells that steps are of a program
// that has an original.
func NewKeeper(original bool) *Keeper {
	k := &Keeper{original: original, t: Trace{Share: newShare()}}
	if original {
		before := newShare()
		k.t.Before = &before
	}
	k.above.bounds, k.above.moved = newBox(), newBox()
	return k
}

// Begin begins the next program. Its depth must be above zero on both sides.
func (k *Keeper) Begin(p Program) {
	p.First, p.Seconds, p.Lines = len(k.stretches.list), k.seconds, 0
	k.of = depth{max(p.Near, leastDepth), max(p.Far, leastDepth), p.DefocusMM}
	k.depth = k.of
	k.t.Programs = append(k.t.Programs, p)
	k.stretches.open, k.above.on, k.above.wayOn = false, false, false
}

// End ends it, with how many lines it has and how far its burns reach, which tells nothing
// where it is zero.
func (k *Keeper) End(lines int, extent orb.Bound) {
	k.t.Programs[len(k.t.Programs)-1].Lines = lines
	if extent != (orb.Bound{}) && sane(extent.Min) && sane(extent.Max) {
		k.above.bounds.add(extent.Min)
		k.above.bounds.add(extent.Max)
	}
}

// Original tells how long the original takes.
func (k *Keeper) Original(seconds float64) { k.t.SecondsBefore = seconds }

// Known gives the ranges of height, of defocus and of that with what heights are less sure
// by within which nothing of the next burn is of interest: those of the stretch that it goes
// to, and what is beyond by so little that no picture shows it.
func (k *Keeper) Known() (height, defocus, spent Range) {
	if !k.stretches.open {
		return Empty(), Empty(), Empty()
	}
	p, by := k.stretches.last(), k.depth.least()*unseen
	wider := func(r Range) Range { return Range{r.Lo - by, r.Hi + by} }
	return wider(p.Height), wider(p.Defocus), wider(p.spent)
}

// Take takes the next step.
func (k *Keeper) Take(s *Step) {
	at := k.seconds
	k.seconds += max(finite(s.Seconds), 0)
	k.ask(s)
	if s.Burns {
		k.zStep = finite(s.ZStep)
	}
	if k.zStep > k.t.ZStep.MMS {
		k.t.ZStep = ZStep{k.zStep, len(k.t.Programs) - 1, s.Line, k.from(s), at}
	}
	if s.Waits || s.Stops {
		k.wait(s, at)
	}
	if n := k.parts(s); n > 1 {
		k.divided(s, n, at)
	} else {
		k.whole(s, at)
	}
}

// ask settles what is asked of a step. Burns that do not ask for the same are told apart,
// until there are too many stretches: so what is known of a stretch is of one kind of them.
func (k *Keeper) ask(s *Step) {
	k.depth = k.of
	if s.Near > 0 {
		k.depth = depth{max(s.Near, leastDepth), max(s.Far, leastDepth), s.WantedMM}
	}
	if a := &k.stretches; a.open && s.Burns && a.last().Burns && a.last().asked() != k.depth {
		a.open = false
	}
}

// wait takes where the path stands still.
func (k *Keeper) wait(s *Step, at float64) {
	if k.t.Waiting++; len(k.t.Waits) < mostWaits {
		k.t.Waits = append(k.t.Waits, Wait{Program: len(k.t.Programs) - 1, Line: s.Line, At: s.Way.XY(1),
			Seconds: at, Lasts: finite(s.Seconds), Stop: s.Stops, Remark: printable([]byte(s.Remark[:min(len(s.Remark), mostText)]))})
	}
}

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

// ink takes a burned line into what is seen from above, and into the shares.
func (k *Keeper) ink(s *Step, from, to orb.Point, mm, d0, d1, c0, c1, h0, h1 float64, is bool) {
	k.above.burn(&ink{from, to, k.depth.part(d0), k.depth.part(d1), c0, c1, len(k.t.Programs) - 1, s.Line})
	if !is {
		k.t.Share.blank(mm)
		if k.original {
			k.t.Before.blank(mm)
		}
		return
	}
	k.t.Share.add(&k.depth, mm, d0, d1)
	if k.original {
		flat := k.of.defocus - k.depth.defocus // one focus has one wanted defocus
		k.t.Before.add(&k.depth, mm, flat-h0, flat-h1)
	}
}

// Trace is what was kept. The keeper may go on.
func (k *Keeper) Trace() *Trace {
	t := k.t
	k.firsts()
	for i := range k.stretches.list {
		t.Stretches = append(t.Stretches, k.stretches.list[i].stretch())
	}
	t.Above = Above{Strokes: k.above.strokes, Travels: k.above.ways}
	if k.above.cells != nil {
		t.Above.Cells = k.above.cells.cells()
	}
	moved := k.above.moved
	moved.join(k.above.bounds)
	t.Bounds, t.Travels, t.Seconds = k.above.bounds.bound(), moved.bound(), k.seconds
	t.Worst = k.worst()
	return &t
}
