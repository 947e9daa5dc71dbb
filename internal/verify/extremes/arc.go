package extremes

import (
	"math"

	"sagitta/internal/machine"
	"sagitta/internal/surface"
)

// maxPieces ends the search along one arc, where a surface is so wild that it
// would take for ever. What is left is then said to be open.
const maxPieces = 1 << 17

// offPart is how closely, as a part of it, it is found how far an arc leaves the
// surface: more is of use to nobody.
const offPart = 0.01

// firstPlaces is how many places along an arc are seen at first, so that most of
// the rest is of no interest.
const firstPlaces = 9

// chords is an arc under way.
type chords struct {
	f      *Field
	sp     *Below
	m      *machine.Move
	curve  float64 // bound of the second derivative of the place, mm
	pieces int
}

// arc looks along an arc by its chords: a chord's extremes are known, and the
// arc leaves it by its sagitta at most, over which the height changes by no
// more than the steepest slope allows. It is halved as long as that leaves
// something open.
//
// A stretch ds leaves its chord by ds²/8 of the curvature.
func (f *Field) arc(sp *Below, m *machine.Move) {
	c := chords{f: f, sp: sp, m: m, curve: curvature(m)}
	for k := range firstPlaces {
		c.see(float64(k) / (firstPlaces - 1))
	}
	c.piece(0, 1)
}

// curvature bounds the second derivative of the place on an arc by its fraction, in
// mm. With radius r(s) and angle θ(s), both linear in s, the place is centre +
// r e(θ), so |place”| ≤ rθ'² + 2|r'θ'|.
func curvature(m *machine.Move) float64 {
	turn := math.Abs(m.Sweep)
	return max(m.R0, m.R1)*turn*turn + 2*math.Abs(m.R1-m.R0)*turn
}

// see notes a point of the arc.
func (c *chords) see(s float64) {
	at := c.m.XY(s)
	h, w := c.f.at.At(at[0], at[1])
	c.sp.see(h, s)
	if c.sp.Watch && w == surface.Outside {
		c.sp.beyond(s, c.f.beyond(c.f.at.Local(at[0], at[1])))
	}
}

// piece looks at the fractions from s0 to s1.
func (c *chords) piece(s0, s1 float64) {
	f, sp := c.f, c.sp
	a, b := c.m.XY(s0), c.m.XY(s1)
	sag := c.curve * (s1 - s0) * (s1 - s0) / 8
	jumps, inside, slope := f.around(a, b, sag)
	slack := slope * sag
	// To the surface, a place is not known any better.
	fine := sag <= surface.PlaceToleranceMM
	// The same questions of the chord, where what is beyond by less than the
	// arc may leave it is of interest as well.
	q := Below{C0: sp.c(s0), C1: sp.c(s1), Watch: sp.Watch}
	q.Focus.Begin(sp.Focus.least()+slack, sp.Focus.most()-slack)
	q.Height.Begin(sp.Height.least()+slack, sp.Height.most()-slack)
	if !jumps || fine {
		f.line(&q, a[0], a[1], b[0], b[1])
	}
	open := jumps || !sp.Focus.settled(q.Focus.Lo-slack, q.Focus.Hi+slack) ||
		!sp.Height.settled(q.Height.Lo-slack, q.Height.Hi+slack) || sp.Watch && !inside && q.Off+sag > sp.Off*(1+offPart)+gapMM
	at := func(s float64) float64 { return s0 + (s1-s0)*s }
	switch {
	case open && !fine && c.pieces < maxPieces:
		c.pieces++
		mid := (s0 + s1) / 2
		c.see(mid)
		c.piece(s0, mid)
		c.piece(mid, s1)
		return
	case open && !fine:
		sp.Focus.giveUp(min(q.C0, q.C1)-f.High, max(q.C0, q.C1)-f.Low)
	case open:
		sp.Focus.join(&q.Focus, at)
		sp.Height.join(&q.Height, at)
	}
	sp.Focus.giveUp(q.Focus.OpenLo, q.Focus.OpenHi)
	if q.Off > 0 {
		sp.beyond(at(q.OffAt), q.Off)
	}
	if q.Holes {
		over := (s1 - s0) * c.m.Length
		if chord := math.Hypot(b[0]-a[0], b[1]-a[1]); chord > 0 {
			over *= q.Over / chord
		}
		sp.overHole(at(q.OverAt), over)
	}
}

// around reports whether the height may jump within sag of the stretch from a
// to b, at the border of a cell that misses a height, whether all of that is on
// the surface, and the steepest slope there.
func (f *Field) around(a, b [2]float64, sag float64) (jumps, inside bool, slope float64) {
	ax, ay := f.at.Local(a[0], a[1])
	bx, by := f.at.Local(b[0], b[1])
	ix0, ix1 := within(f.x, min(ax, bx)-sag, max(ax, bx)+sag, &f.hintX)
	iy0, iy1 := within(f.y, min(ay, by)-sag, max(ay, by)+sag, &f.hintY)
	inside = ix0 >= 0 && iy0 >= 0 && ix1 < len(f.x)-1 && iy1 < len(f.y)-1
	jumps = f.holes && (ix0 != ix1 || iy0 != iy1) && f.anyHole(ix0, ix1, iy0, iy1)
	return jumps, inside, f.steepest(ix0, ix1, iy0, iy1)
}

// within finds the regions of one axis that values from lo to hi are in. A
// value beyond a node by no more than the tolerance of places counts as on
// it.
func within(node []float64, lo, hi float64, hint *int) (first, last int) {
	first = region(node, lo, *hint)
	*hint = first
	if first >= 0 && first < len(node)-1 && hi <= node[first+1] {
		return first, first
	}
	last = region(node, hi, first)
	if first < last && lo >= node[first+1]-surface.PlaceToleranceMM {
		first++
	}
	if first < last && hi <= node[last]+surface.PlaceToleranceMM {
		last--
	}
	return first, last
}

// anyHole reports whether one of the cells that the regions read their heights
// from misses a height.
func (f *Field) anyHole(ix0, ix1, iy0, iy1 int) bool {
	s := f.at.Surface()
	for j := cell(f.y, iy0); j <= cell(f.y, iy1)+1; j++ {
		for i := cell(f.x, ix0); i <= cell(f.x, ix1)+1; i++ {
			if math.IsNaN(s.Height(i, j)) {
				return true
			}
		}
	}
	return false
}
