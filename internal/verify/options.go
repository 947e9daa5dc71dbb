package verify

import (
	"errors"
	"fmt"
	"math"

	"sagitta/internal/bench"
	"sagitta/internal/focus"
	"sagitta/internal/machine"
	"sagitta/internal/surface"
)

// Options say what a program must keep to.
type Options struct {
	// Bench is what both programs are read for, and the checked one is held to.
	bench.Bench
	// Surface gives the heights over the datum.
	Surface *surface.Placed
	// Depth is the usable depth, and DefocusMM the wanted defocus, + away.
	Depth     focus.Depth
	DefocusMM float64
	// Rules say of some burns otherwise.
	Rules []Rule
	// Less tells by how much, in mm, either side of the depth is less under a burn where
	// a height has a standard uncertainty than where heights are surest; nil where the
	// depth is the same everywhere.
	Less func(errorMM float64) float64
	// OutsideHold lets burns off the surface pass at the height of its edge.
	OutsideHold bool
	// Head is the head that must stay clear of the stock; nil where it is not
	// known, and not checked.
	Head *bench.Head
	// Burned, where not nil, is told each burn of the checked program.
	Burned func(m *machine.Move)
	// Watch, where not nil, is told of the path of the checked program.
	Watch Watcher
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
	case o.Slow != bench.SlowNever && !(o.Slowest > 0 && o.Slowest <= 1):
		return fmt.Errorf("slowest %v is not above 0 and at most 1", o.Slowest)
	case o.DecimalsMM < 0 || o.DecimalsMM > maxDecimals || o.DecimalsInch < 0 || o.DecimalsInch > maxDecimals:
		return fmt.Errorf("decimals %d (mm) and %d (inch) are not from 0 to %d", o.DecimalsMM, o.DecimalsInch, maxDecimals)
	case !amount(o.ZResolution):
		return fmt.Errorf("a resolution of Z of %v mm is no step", o.ZResolution)
	case !amount(o.ZRate):
		return fmt.Errorf("a Z rate of %v mm/s is no limit", o.ZRate)
	case !amount(o.FeedMax):
		return fmt.Errorf("a greatest feed of %v mm/min is no limit", o.FeedMax)
	case o.ZMoves > bench.ByHand || o.Slow > bench.SlowBurns:
		return errors.New("an option has a value that does not exist")
	}
	if h := o.Head; h != nil {
		if f := h.FreedMM; f != nil && !amount(*f) {
			return fmt.Errorf("a piece that stands up by %v mm is none", *f)
		}
		for _, d := range h.Disks() {
			for _, v := range [...]float64{d.Radius, d.Up, h.Standoff, h.Gap} {
				if !amount(v) {
					return fmt.Errorf("a head of %v mm is none", v)
				}
			}
		}
	}
	if err := o.checkRules(); err != nil {
		return err
	}
	return o.Depth.Check()
}

// NoteUnknown notes what of the machine is not known, and so was not checked.
func (o *Options) NoteUnknown(r *Result) {
	if o.ZRate == 0 {
		r.Note("no Z rate is known: the speed of Z was not checked")
	}
	if o.ZMin == nil && o.ZMax == nil {
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
	return max(o.lastDecimal(inches), o.ZResolution) + placeSlackMM
}

const mmPerInch = 25.4
