package verify

import (
	"errors"
	"fmt"
	"math"

	"sagitta/internal/focus"
	"sagitta/internal/machine"
	"sagitta/internal/surface"
)

// Slow says which burns may be slower over XY than the original's.
type Slow uint8

const (
	// SlowNever: none.
	SlowNever Slow = iota
	// SlowScaled: those whose power follows speed.
	SlowScaled
	// SlowBurns: all.
	SlowBurns
)

// ZMoves says when the focus may move.
type ZMoves uint8

const (
	// Always: at any time.
	Always ZMoves = iota
	// BeamOff: not within an unbroken run of burns.
	BeamOff
	// ByHand: never.
	ByHand
)

// Head is the tip of the head: a disk of RadiusMM about the beam that stands
// StandoffMM over the stock at best focus and must keep GapMM free beneath it.
// Boxes stand higher than the stock.
type Head struct {
	RadiusMM, StandoffMM, GapMM float64
	Boxes                       []surface.Box
}

// Options say what a program must keep to.
type Options struct {
	// Machine is how both programs are read.
	Machine machine.Config
	// Surface gives the heights over the datum.
	Surface *surface.Placed
	// Depth is the usable depth, and DefocusMM the wanted defocus, + away.
	Depth     focus.Depth
	DefocusMM float64
	// ZPlusAway tells that +Z takes the lens away from the stock.
	ZPlusAway bool
	// OutsideHold lets burns off the surface pass at the height of its edge.
	OutsideHold bool
	// Slow says which burns may be slower than the original's, and Slowest,
	// above 0 and at most 1, down to which part of its speed.
	Slow    Slow
	Slowest float64
	// DecimalsMM and DecimalsInch are how many decimals coordinates are
	// written with: one last decimal is how far the path may be off.
	DecimalsMM, DecimalsInch int
	// ZResolutionMM is the step in which Z is written, in mm, where that is coarser
	// than a last decimal; else 0.
	ZResolutionMM float64
	// ZMoves says when c may change.
	ZMoves ZMoves
	// ZMinMM and ZMaxMM bound the Z that is written, in mm; nil is no bound.
	ZMinMM, ZMaxMM *float64
	// ZRateMMMin is the greatest speed of Z and FeedMaxMMMin the greatest F,
	// in mm/min; 0 is no limit.
	ZRateMMMin, FeedMaxMMMin float64
	// Head is the head that must stay clear of the stock; nil where it is not
	// known, and not checked.
	Head *Head
	// Rehearsal tells that the checked program is the original with the
	// beam off.
	Rehearsal bool
}

// maxDecimals is the finest that a path is compared: positions are known to
// about 1e-10 mm.
const maxDecimals = 8

// Check returns an error where the options make no sense.
func (o *Options) Check() error {
	amount := func(v float64) bool { return v >= 0 && !math.IsInf(v, 1) }
	switch {
	case o.Surface == nil:
		return errors.New("no surface to check against")
	case !amount(math.Abs(o.DefocusMM)):
		return fmt.Errorf("a defocus of %v mm is no number", o.DefocusMM)
	case o.Slow != SlowNever && !(o.Slowest > 0 && o.Slowest <= 1):
		return fmt.Errorf("slowest %v is not above 0 and at most 1", o.Slowest)
	case o.DecimalsMM < 0 || o.DecimalsMM > maxDecimals || o.DecimalsInch < 0 || o.DecimalsInch > maxDecimals:
		return fmt.Errorf("decimals %d (mm) and %d (inch) are not from 0 to %d", o.DecimalsMM, o.DecimalsInch, maxDecimals)
	case !amount(o.ZResolutionMM):
		return fmt.Errorf("a resolution of Z of %v mm is no step", o.ZResolutionMM)
	case !amount(o.ZRateMMMin):
		return fmt.Errorf("a Z rate of %v mm/min is no limit", o.ZRateMMMin)
	case !amount(o.FeedMaxMMMin):
		return fmt.Errorf("a greatest feed of %v mm/min is no limit", o.FeedMaxMMMin)
	case o.ZMoves > ByHand || o.Slow > SlowBurns:
		return errors.New("an option has a value that does not exist")
	}
	if h := o.Head; h != nil {
		for _, v := range [...]float64{h.RadiusMM, h.StandoffMM, h.GapMM} {
			if !amount(v) {
				return fmt.Errorf("a head of %v mm is none", v)
			}
		}
	}
	return o.Depth.Check()
}

// Sigma is +1 where +Z leads away from the stock, else -1.
func (o *Options) Sigma() float64 {
	if o.ZPlusAway {
		return 1
	}
	return -1
}

// NoteUnknown notes what of the machine is not known, and so was not checked.
func (o *Options) NoteUnknown(r *Result) {
	if o.ZRateMMMin == 0 {
		r.Note("no Z rate is known: the speed of Z was not checked")
	}
	if o.ZMinMM == nil && o.ZMaxMM == nil {
		r.Note("no range of Z is known: it was not checked")
	}
}

// lastDecimal is one last decimal in mm.
func (o *Options) lastDecimal(inches bool) float64 {
	if inches {
		return mmPerInch * math.Pow10(-o.DecimalsInch)
	}
	return math.Pow10(-o.DecimalsMM)
}

// lastZ is how far one Z that is written may be off another, in mm: a last decimal
// or a step of the resolution.
func (o *Options) lastZ(inches bool) float64 {
	return max(o.lastDecimal(inches), o.ZResolutionMM) + placeSlackMM
}

const mmPerInch = 25.4
