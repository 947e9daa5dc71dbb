package follow

import (
	"math"

	"sagitta/internal/focus"
	"sagitta/internal/machine"
	"sagitta/internal/surface"
)

// Moves says when the Z axis may move.
type Moves uint8

// rounding is the relative error allowed to what is met exactly in theory.
const rounding = 1e-9

const (
	// Always: also while burning.
	Always Moves = iota
	// BeamOff: c is constant through each unbroken run of burns.
	BeamOff
	// ByHand: no Z words are written; the job runs flat or not at all.
	ByHand
)

// Slow says which burns may be slowed where the Z rate asks for it.
type Slow uint8

const (
	// SlowNever: none.
	SlowNever Slow = iota
	// SlowScaled: those under a beam word that scales power with speed.
	SlowScaled
	// SlowBurns: all.
	SlowBurns
)

// Options are the settings of a run. Lengths are in mm, speeds in mm/min
// unless a field says otherwise.
type Options struct {
	// Name is the program's name in messages.
	Name string
	// Machine is how blocks become moves.
	Machine machine.Config
	// Surface gives the heights over the datum, in program XY.
	Surface *surface.Placed
	// Depth is the usable depth, all deductions made.
	Depth focus.Depth
	// Use is the part of the depth to spend while nothing forces more.
	Use float64
	// Defocus is the wanted defocus, + further; it is the rest value of c.
	Defocus float64
	// OutsideHold lets burns off the surface pass at the edge's height.
	OutsideHold bool
	// Slow and Slowest bound the slowing of burns; Slowest is a part of the
	// programmed feed.
	Slow    Slow
	Slowest float64
	// Head is the head that must stay clear of the stock; nil where it is not
	// known.
	Head *Head
	// KeepRamps allows Z to change within a burn of the input.
	KeepRamps bool
	// Rehearsal writes the same motion with the beam off.
	Rehearsal bool

	// ZPlusAway tells that +Z takes the lens from the stock.
	ZPlusAway bool
	// ZMoves says when Z may move.
	ZMoves Moves
	// ZMin and ZMax, where not nil, bound the Z written.
	ZMin, ZMax *float64
	// ZRate limits Z in mm/s; 0 is no limit.
	ZRate float64
	// ZResolution is the step of written Z in mm; 0 leaves the decimals.
	ZResolution float64
	// FeedMax is the greatest F written in mm/min; 0 is no limit.
	FeedMax float64
	// DecimalsMM and DecimalsInch are those of written Z and cut points.
	DecimalsMM, DecimalsInch int8
	// Comments allows the marker.
	Comments bool
	// Marker is the text of the comment before the first changed block.
	Marker string

	// Numbered gives added lines an N word where the program has them.
	Numbered bool
	// LineMax is the most characters of a line written; 0 is no limit.
	LineMax int

	// Window is how many gates are looked ahead at least; 0 is the default.
	Window int

	// room is made of Head.
	room *headroom
	// byBlock writes the lines of strands one by one as blocks, for a test.
	byBlock bool
}

// maySlow tells whether the burn m may be slowed at all.
func (o *Options) maySlow(m *machine.Move) bool {
	switch o.Slow {
	case SlowBurns:
		return true
	case SlowScaled:
		return m.PowerFollows
	}
	return false
}

// outOfRange tells by how much a Z leaves the range, 0 if it does not.
func (o *Options) outOfRange(z float64) (out float64) {
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

// sigma is +1 where +Z takes the lens away, -1 where it brings it nearer.
func (o *Options) sigma() float64 {
	if o.ZPlusAway {
		return 1
	}
	return -1
}

// decimals gives the decimals of written Z in the unit of the program.
func (o *Options) decimals(inches bool) int8 {
	if inches {
		return o.DecimalsInch
	}
	return o.DecimalsMM
}
