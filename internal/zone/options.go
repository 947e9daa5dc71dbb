package zone

import (
	"math"

	"sagitta/internal/focus"
	"sagitta/internal/machine"
	"sagitta/internal/surface"
)

// Lens is a lens that zones may be made for.
type Lens struct {
	// Name names it in files and messages.
	Name string
	// Depth is its usable depth, all deductions made.
	Depth focus.Depth
	// DetailMM is the smallest detail that it marks well, in mm; 0 where
	// that is not known.
	DetailMM float64
}

// Width is how wide a band of heights one setting of the lens serves, in mm.
func (l *Lens) Width() float64 { return l.Depth.Near + l.Depth.Far }

// Options are the settings of a run. Lengths are in mm.
type Options struct {
	// Name is the program's name in messages.
	Name string
	// Machine is how blocks become moves.
	Machine machine.Config
	// Surface gives the heights over the datum, in program XY.
	Surface *surface.Placed
	// Lenses are those there are, in any order; at least one.
	Lenses []Lens
	// DetailMM is the smallest detail of the job: lenses that are known not
	// to mark it are left out. 0 asks for nothing.
	DetailMM float64
	// Defocus is the wanted defocus, + further.
	Defocus float64
	// OutsideHold lets burns off the surface pass at the edge's height.
	OutsideHold bool
	// KeepRamps allows Z to change within a burn of the input.
	KeepRamps bool

	// ZPlusAway tells that +Z takes the lens from the stock.
	ZPlusAway bool
	// ByHand tells that no Z may be written beyond the program's own.
	ByHand bool
	// ZMin and ZMax, where not nil, bound the Z written.
	ZMin, ZMax *float64
	// DecimalsMM and DecimalsInch are those of written Z and cut points.
	DecimalsMM, DecimalsInch int8
	// CrankMM is a division of a hand crank, 0 where there is none.
	CrankMM float64

	// Within, where not nil, has the surface followed within zones. It goes
	// with neither SetZ nor Pause, Rehearsal or ByHand.
	Within *Within
	// SetZ writes each zone's focus into Z; otherwise programs keep the
	// original's Z and the focus is set at the bench.
	SetZ bool
	// Pause makes one program that stops at each zone's focus point.
	Pause bool
	// Rehearsal writes the same motion with the beam off.
	Rehearsal bool
	// Lead is how far the head runs with the beam off before and after a
	// seam; Overlap is how far a burn goes on over its seam.
	Lead, Overlap float64

	// Comments allows comments in programs, and Marker is the text of the
	// one before the first changed block.
	Comments bool
	Marker   string
}

// sigma is +1 where +Z takes the lens away, -1 where it brings it nearer.
func (o *Options) sigma() float64 {
	if o.ZPlusAway {
		return 1
	}
	return -1
}

// decimals gives the decimals of written Z and cut points.
func (o *Options) decimals(inches bool) int8 {
	if inches {
		return o.DecimalsInch
	}
	return o.DecimalsMM
}

// decimal is one last decimal in mm.
func (o *Options) decimal(inches bool) float64 {
	if inches {
		return mmPerInch * math.Pow10(-int(o.DecimalsInch))
	}
	return math.Pow10(-int(o.DecimalsMM))
}

const mmPerInch = 25.4

// unit is the length in mm of the program's unit.
func unit(inches bool) float64 {
	if inches {
		return mmPerInch
	}
	return 1
}

// outOfRange tells by how much a Z leaves the range, 0 if it does not.
func (o *Options) outOfRange(z float64) float64 {
	out := 0.0
	if o.ZMin != nil {
		out = math.Max(out, *o.ZMin-z)
	}
	if o.ZMax != nil {
		out = math.Max(out, z-*o.ZMax)
	}
	if out < rounding {
		return 0
	}
	return out
}

// rounding covers what float64 loses in a few operations on lengths of a
// bench, in mm; it is a thousandth of the finest decimal written.
const rounding = 1e-7

// tolerance is how closely the heights along a move are bounded, as a part of
// a lens's width: what it takes off the width must not cost a zone.
const tolerance = 1e-4

// pieceTol is the tolerance in mm for the finest of the lenses.
func (o *Options) pieceTol() float64 {
	w := math.Inf(1)
	for i := range o.Lenses {
		w = min(w, o.Lenses[i].Width())
	}
	return tolerance * w
}

// lateral is how far a cut point may be beside its move, by rounding.
func (o *Options) lateral() float64 {
	return math.Sqrt2 * max(o.decimal(false), o.decimal(true))
}
