// Package bench is what is known of a bench as far as programs are written and
// checked for it: its controller, its axes and its head.
package bench

import (
	"math"

	"sagitta/internal/machine"
	"sagitta/internal/motion"
	"sagitta/internal/surface"
)

// Moves says when the focus axis may move.
type Moves uint8

const (
	// Always: also while burning.
	Always Moves = iota
	// BeamOff: c is constant through each unbroken run of burns.
	BeamOff
	// ByHand: no Z words are written.
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

// Bench is a bench without its head, which depends on the lens.
type Bench struct {
	// Machine is how blocks become moves.
	Machine machine.Config
	// ZPlusAway tells that +Z takes the lens from the stock.
	ZPlusAway bool
	// ZMoves says when Z may move.
	ZMoves Moves
	// ZMin and ZMax, where not nil, bound the Z written, in mm.
	ZMin, ZMax *float64
	// Reach is how far X and Y go, counted from the work zero.
	Reach machine.Reach
	// ZRate limits Z in mm/s, FeedMax is the greatest F in mm/min; 0 is no limit.
	ZRate, FeedMax float64
	// Accel is the acceleration of X and of Y in mm/s²; 0 where it is not known.
	// StopsAtBeam tells that the controller stops at beam words.
	Accel       float64
	StopsAtBeam bool
	// Inertia is what the axes can do, Z being the focus axis; nil where no acceleration is
	// known.
	Inertia *motion.Limits
	// ZResolution is the step of written Z in mm; 0 leaves the decimals.
	ZResolution float64
	// DecimalsMM and DecimalsInch are those of written Z and cut points, DecimalsMaxMM and
	// DecimalsMaxInch the most of a Z on short moves, where rounding would kink it.
	DecimalsMM, DecimalsInch       int
	DecimalsMaxMM, DecimalsMaxInch int
	// Slow and Slowest bound the slowing of burns; Slowest is a part of the
	// programmed feed.
	Slow    Slow
	Slowest float64
	// PowerBySpeed tells that a source whose power follows speed follows the speed
	// itself, not the share of F that is reached. PowerLeast is the power below
	// which it gives nothing, as the power word counts; 0 is no limit.
	PowerBySpeed bool
	PowerLeast   float64
	// Harmless are M words without known meaning that fire and switch nothing.
	Harmless []int
}

// Sigma is +1 where +Z takes the lens from the stock, -1 where it brings it nearer.
func (b *Bench) Sigma() float64 {
	if b.ZPlusAway {
		return 1
	}
	return -1
}

// ZSeconds is how long it takes to move Z by dz mm at least, in s.
func (b *Bench) ZSeconds(dz float64) float64 {
	if b.ZRate > 0 {
		return math.Abs(dz) / b.ZRate
	}
	return 0
}

// Head is what of the head must stay clear of the stock around the beam: its tip, a
// disk about it, and wider disks above that. Lengths are in mm.
type Head struct {
	// Radius is that of the tip, Standoff how high it stands over the stock
	// at best focus, and Gap the least that must stay free beneath it.
	Radius, Standoff, Gap float64
	// Above are the wider disks, from the lowest up.
	Above []Disk
	// FreedMM is how high over the surface a piece may stand up that a closed burn has
	// cut free: a box for all that comes after. Nil counts none.
	FreedMM *float64
	// Boxes stand on the bench higher than the stock; on a surface that repeats, on
	// every turn.
	Boxes []surface.Box
}

// Disk is a disk about the beam, Up mm over the tip of the head.
type Disk struct{ Radius, Up float64 }

// Disks are all of the head, from the tip up.
func (h *Head) Disks() []Disk { return append([]Disk{{Radius: h.Radius}}, h.Above...) }

// Beside is how far about the beam the head may meet what stands so many mm over the
// stock that the focus is set on, however high the tip is then.
func (h *Head) Beside(height float64) float64 {
	r := h.Radius
	for _, d := range h.Above {
		if d.Up < height+h.Gap {
			r = d.Radius
		}
	}
	return r
}
