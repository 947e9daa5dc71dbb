package extremes

import "math"

// The decision in three steps of one tolerance. A height is known to about
// 1e-9 mm (rounding of float64 at the largest heights and coordinates that a
// surface takes), and the finest last decimal in use is 1e-4 mm: a nanometre
// is far above the first and far below the second.
const (
	// CertainMM is how far beyond a limit a passed move may be at most.
	CertainMM = 1e-6
	// FoundMM is how far beyond a limit a point must be found to fail.
	FoundMM = CertainMM / 2
	// gapMM is how far a bound may be above what was found for the search
	// to stop: found and the gap together stay below CertainMM.
	gapMM = CertainMM / 5
)

// Range collects the least and the greatest value of one quantity along one
// move. It has seen some points, and knows which values are of no interest:
// the search need not go on for anything between skipLo and skipHi.
type Range struct {
	Lo, Hi     float64 // found
	AtLo, AtHi float64 // where on the move, 0 to 1
	// LessLo and LessHi are by how much heights are less sure there: Lo is lower by the
	// one than the quantity, and Hi greater by the other.
	LessLo, LessHi float64

	skipLo, skipHi float64
	// less is by how much heights are less sure on the stretch that is looked at.
	less float64

	// OpenLo and OpenHi bound what no point was found for but could not be
	// ruled out either.
	OpenLo, OpenHi float64
}

// Begin forgets the move before. Values from skipLo to skipHi are of no
// interest; an empty interval (skipLo > skipHi) asks for the extremes in any
// case, (-Inf, +Inf) for nothing.
func (t *Range) Begin(skipLo, skipHi float64) {
	*t = Range{
		Lo: math.Inf(1), Hi: math.Inf(-1),
		skipLo: skipLo, skipHi: skipHi,
		OpenLo: math.Inf(1), OpenHi: math.Inf(-1),
	}
}

// see notes the value at a point.
func (t *Range) see(v, s float64) {
	if v-t.less < t.Lo {
		t.Lo, t.AtLo, t.LessLo = v-t.less, s, t.less
	}
	if v+t.less > t.Hi {
		t.Hi, t.AtHi, t.LessHi = v+t.less, s, t.less
	}
}

// settled reports whether a stretch whose values are certainly from lo to hi
// can add nothing.
func (t *Range) settled(lo, hi float64) bool {
	return hi+t.less <= max(t.Hi, t.skipHi)+gapMM && lo-t.less >= min(t.Lo, t.skipLo)-gapMM
}

// Below is what is asked and found below one move, or at one point.
type Below struct {
	// C0 and C1 are the correction in mm at the ends, and at all places
	// between in proportion; Focus is that less the height, Height the height.
	C0, C1        float64
	Focus, Height Range
	// Spent is Focus with what heights are less sure by, asked for where Uneven is set.
	Spent  Range
	Uneven bool

	// Middle is the height at the middle of the move, and Within how far those on it leave
	// it at most, +Inf where that is not bounded; only where more than its end is asked for.
	Middle, Within float64

	// Watch asks for places off the surface and over holes.
	Watch bool
	// Off is the farthest distance beyond the edge in mm, and OffAt where.
	Off, OffAt float64
	// Over is the length over holes in mm, Holes whether there is any (a
	// point has no length), and OverAt where the first was met.
	Over, OverAt float64
	Holes        bool
}

// c gives the correction at a fraction.
func (sp *Below) c(s float64) float64 { return sp.C0 + (sp.C1-sp.C0)*s }

// see notes the height at a point.
func (sp *Below) see(h, s float64) {
	sp.Focus.see(sp.c(s)-h, s)
	sp.Height.see(h, s)
	if sp.Uneven {
		sp.Spent.see(sp.c(s)-h, s)
	}
}

// overHole notes a stretch over a hole.
func (sp *Below) overHole(s, length float64) {
	if !sp.Holes {
		sp.OverAt = s
	}
	sp.Holes = true
	sp.Over += length
}

// beyond notes a point off the surface, d mm from its edge.
func (sp *Below) beyond(s, d float64) {
	if d > sp.Off {
		sp.Off, sp.OffAt = d, s
	}
}
