package rewrite

import (
	"math"

	"sagitta/internal/bench"
	"sagitta/internal/machine"
)

// Options say what a written program is for: its bench, and how it is spelled.
type Options struct {
	// Name is the original's name in messages.
	Name string
	bench.Bench

	// Rehearsal writes the same motion with the beam off. Of M words that are not
	// known it passes those alone that the bench has as harmless.
	Rehearsal bool
	// OffBefore tells that the beam may have been put off by its word before the
	// program begins, as others of its set end so: a burn needs a word that puts it on.
	OffBefore bool
	// TravelsAtZero are the words of the beam under which travels that are put in go with
	// power 0, as the original's do: at such a word many controllers stop.
	TravelsAtZero []int
	// KeepRamps allows Z to change within a burn of the input.
	KeepRamps bool
	// Comments allows comments, Marker is the text of the one before the
	// first changed block.
	Comments bool
	Marker   string
	// Setup goes with the marker, what there is to do before the program is run: in its
	// line where it fits, else in lines of its own.
	Setup []string
	// Numbered gives added lines an N word where the program has them.
	Numbered bool
	// Fine lets Z have up to as many decimals as the bench has at most where fewer would
	// kink it on short moves: Inertia is known, and the path is rounded for it.
	Fine bool
	// LineMax is the most characters of a line written; 0 is no limit.
	LineMax int
	// Gather is how many bytes are gathered for a write; 0 is the default.
	Gather int
}

// Decimal is the last written decimal in mm.
func (o *Options) Decimal(inches bool) float64 {
	return Unit(inches) * math.Pow10(-int(o.decimals(inches)))
}

// Lateral is how far in mm a written place may be beside the one meant, by its
// decimals.
func (o *Options) Lateral() float64 {
	return math.Sqrt2 * max(o.Decimal(false), o.Decimal(true))
}

// decimals gives the decimals of written Z in the unit of the program.
func (o *Options) decimals(inches bool) int8 {
	if inches {
		return int8(o.DecimalsInch)
	}
	return int8(o.DecimalsMM)
}

// Step is the least change of Z that is written, in mm.
func (o *Options) Step(inches bool) float64 { return max(o.Decimal(inches), o.ZResolution) }

// Coarse reports whether Z goes by steps of more than a decimal.
func (o *Options) Coarse(inches bool) bool { return o.ZResolution > o.Decimal(inches) }

// Rounding is how far in mm a written Z may be off the one meant, by its decimals
// and by its steps.
func (o *Options) Rounding() float64 {
	off := max(o.Decimal(false), o.Decimal(true)) / 2
	if o.Coarse(false) {
		off += o.ZResolution / 2
	}
	return off
}

// MaySlow reports whether the burn m may be slowed at all; by G0 it may not, as nothing
// says how fast that is.
func (o *Options) MaySlow(m *machine.Move) bool {
	return !m.Rapid && (o.Slow == bench.SlowBurns || o.Slow == bench.SlowScaled && m.PowerFollows)
}

// PowerGoes reports whether the power word has to go with the feed of the burn m, so
// that what it burns stays the same: not where the source follows the speed itself.
func (o *Options) PowerGoes(m *machine.Move) bool { return !o.PowerBySpeed || !m.PowerFollows }

// OutOfRange returns by how much a Z leaves the range, 0 if it does not.
func (o *Options) OutOfRange(z float64) (out float64) {
	if o.ZMin != nil {
		out = max(out, *o.ZMin-z)
	}
	if o.ZMax != nil {
		out = max(out, z-*o.ZMax)
	}
	if out < rounding {
		return 0
	}
	return out
}

// rounding is the error allowed to lengths in mm, and the relative one to times
// and slopes, that are met exactly in theory.
const rounding = 1e-9

// Unit is the length in mm of the program's unit.
func Unit(inches bool) float64 {
	if inches {
		return 25.4
	}
	return 1
}

// Corner is a place inside a move where the correction turns: a fraction of the
// move's length and the correction there in mm.
type Corner struct{ S, C float64 }
