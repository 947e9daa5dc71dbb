package ladder

import (
	"math"
	"slices"

	"sagitta/internal/diag"
	"sagitta/internal/record"
	"sagitta/internal/setup"
)

// Options say which ladder is wanted.
type Options struct {
	// StepMM is the offset between two rungs in mm; ReachMM the largest
	// offset to either side.
	StepMM, ReachMM float64
	// FeedMMMin is the feed of the burns in mm/min.
	FeedMMMin float64
	// PowersPct are the powers in percent of the bench's full power. More
	// than one make a table of power against focus.
	PowersPct []float64
	// StandoffMM is from the tip of the head to the stock at best focus, in
	// mm; nil where it is not known.
	StandoffMM *float64
	// LensName is what the lens is called, for the sheet; may be empty. FocusHeightMM is how
	// much further from the stock than the bench's reference lens it stands at best focus.
	LensName      string
	FocusHeightMM float64
	// Turn is how the focus is set.
	Turn setup.Turn
	// Made is what made the ladder, for comments and sheet.
	Made string
	// Verdicts is the name of the list of verdicts, for the sheet; may be
	// empty.
	Verdicts string
	// Machine is the profile of the bench, StartZMM the Z of best focus there.
	Machine  *record.Machine
	StartZMM float64
}

// byHand reports whether no Z is written: the program pauses instead.
func (o *Options) byHand() bool { return o.Machine.ZMoves == record.ZByHand }

// cranked reports whether the lens is moved by a crank with known divisions.
func (o *Options) cranked() bool { return o.byHand() && o.Machine.ZStepMM != nil }

const (
	// MostRungs is how many rungs a ladder has at most: twenty powers at ten
	// offsets are more than anyone judges at one sitting.
	MostRungs = 200
	// finestStepMM is far below what any eye tells apart.
	finestStepMM = 0.01
	// longestReachMM is beyond the travel of any focus axis over stock.
	longestReachMM = 100
	// greatestFeed in mm/min is far beyond any machine; above, it is a slip.
	greatestFeed = 1e6
	// leastPowerPct is the least power that is one: below, it is a slip.
	leastPowerPct = 0.1
)

// check refuses what makes no ladder.
func (o *Options) check() error {
	switch {
	case !(o.StepMM >= finestStepMM && o.StepMM <= math.MaxFloat64):
		return diag.Errorf(diag.Setting, "", "--step %g: wants a step of at least %g mm", o.StepMM, finestStepMM)
	case !(o.ReachMM > 0):
		return diag.Errorf(diag.Setting, "", "--reach %g: wants a reach above 0 mm", o.ReachMM)
	case o.ReachMM < o.StepMM*(1-slack):
		return diag.Errorf(diag.Setting, "", "--reach %g is less than a step of %g mm: it leaves one rung, and no ladder", o.ReachMM, o.StepMM)
	case o.ReachMM > longestReachMM:
		return diag.Errorf(diag.Setting, "", "--reach %g: wants at most %d mm", o.ReachMM, longestReachMM)
	case !(o.FeedMMMin > 0 && o.FeedMMMin <= greatestFeed):
		return diag.Errorf(diag.Setting, "", "--feed %g: wants a feed above 0 in mm/min", o.FeedMMMin)
	case o.Machine.FeedMaxMMMin != nil && o.FeedMMMin > *o.Machine.FeedMaxMMMin:
		return diag.Errorf(diag.Setting, "", "--feed %g is above the profile's feed_max_mm_min of %g", o.FeedMMMin, *o.Machine.FeedMaxMMMin)
	case len(o.PowersPct) == 0:
		return diag.Errorf(diag.Setting, "give it in percent of full power, as in --power 30 or --power 20,30,40", "no power given")
	}
	for i, p := range o.PowersPct {
		if !(p >= leastPowerPct && p <= 100) {
			return diag.Errorf(diag.Setting, "", "--power %g: wants percent of full power, %g to 100", p, leastPowerPct)
		}
		if slices.Contains(o.PowersPct[:i], p) {
			return diag.Errorf(diag.Setting, "", "--power %g stands twice", p)
		}
	}
	return nil
}
