package verify

import "math"

// The decision in three steps of one tolerance. A height is known to about
// 1e-9 mm (rounding of float64 at the largest heights and coordinates that a
// surface takes), and the finest last decimal in use is 1e-4 mm: a nanometre
// is far above the first and far below the second.
const (
	// certainMM is how far beyond a limit a passed move may be at most.
	certainMM = 1e-6
	// foundMM is how far beyond a limit a point must be found to fail.
	foundMM = certainMM / 2
	// gapMM is how far a bound may be above what was found for the search
	// to stop: found and gap together stay below certainMM.
	gapMM = certainMM / 4
)

// tally collects the least and the greatest value of one quantity along one
// move. It has seen some points, and knows which values are of no interest:
// the search need not go on for anything between skipLo and skipHi.
type tally struct {
	lo, hi   float64 // found
	sLo, sHi float64 // where on the move, 0 to 1

	skipLo, skipHi float64

	// What no point was found for but could not be ruled out either.
	openLo, openHi float64
}

// begin forgets the move before. Values from skipLo to skipHi are of no
// interest; an empty interval (skipLo > skipHi) asks for the extremes in any
// case, (-Inf, +Inf) for nothing.
func (t *tally) begin(skipLo, skipHi float64) {
	*t = tally{
		lo: math.Inf(1), hi: math.Inf(-1),
		skipLo: skipLo, skipHi: skipHi,
		openLo: math.Inf(1), openHi: math.Inf(-1),
	}
}

// see notes the value at a point.
func (t *tally) see(v, s float64) {
	if v < t.lo {
		t.lo, t.sLo = v, s
	}
	if v > t.hi {
		t.hi, t.sHi = v, s
	}
}

// settled tells whether a stretch whose values are certainly from lo to hi
// can add nothing.
func (t *tally) settled(lo, hi float64) bool {
	return hi <= max(t.hi, t.skipHi)+gapMM && lo >= min(t.lo, t.skipLo)-gapMM
}

// giveUp notes that a stretch was left unsettled.
func (t *tally) giveUp(lo, hi float64) {
	t.openLo = min(t.openLo, lo)
	t.openHi = max(t.openHi, hi)
}

// span is what is asked and found along one move, or at one point.
type span struct {
	// c0 and c1 are the correction at the ends less the wanted defocus.
	c0, c1 float64
	// focus is c - h, height is h.
	focus, height tally

	// watch asks for places off the surface and over holes.
	watch bool
	// off is the farthest distance beyond the edge in mm, and sOff where.
	off, sOff float64
	// over is the length over holes in mm, holes whether there is any (a
	// point has no length), and sOver where the first was met.
	over, sOver float64
	holes       bool
}

// c gives the correction less the wanted defocus.
func (sp *span) c(s float64) float64 { return sp.c0 + (sp.c1-sp.c0)*s }

// see notes the height at a point.
func (sp *span) see(h, s float64) {
	sp.focus.see(sp.c(s)-h, s)
	sp.height.see(h, s)
}

// overHole notes a stretch over a hole.
func (sp *span) overHole(s, length float64) {
	if !sp.holes {
		sp.sOver = s
	}
	sp.holes = true
	sp.over += length
}

// beyond notes a point off the surface, d mm from its edge.
func (sp *span) beyond(s, d float64) {
	if d > sp.off {
		sp.off, sp.sOff = d, s
	}
}
