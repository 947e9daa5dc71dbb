package ladder

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"sagitta/internal/diag"
)

// The two lenses whose ladders are common practice (no source): steps of
// 0.5 mm for a 1.5 in lens and of 1 mm for a 2.5 in lens, five to either side.
const (
	shortFocalMM, shortStepMM = 38.1, 0.5
	longFocalMM, longStepMM   = 63.5, 1.0
	stepsEachSide             = 5

	// shortestFocalMM and longestFocalMM bound lenses that mark stock; a
	// length in inches or metres lies outside.
	shortestFocalMM, longestFocalMM = 10, 500
)

// practical are the steps that are easy to set and to read, for all lenses that mark
// stock.
var practical = []float64{
	0.02, 0.025, 0.03, 0.04, 0.05, 0.075,
	0.1, 0.15, 0.2, 0.25, 0.3, 0.4, 0.5, 0.75,
	1, 1.5, 2, 2.5, 3, 4, 5, 7.5,
	10, 15, 20, 25, 30, 40, 50, 75,
}

// ForFocal gives the usual step and reach in mm for a lens by its focal length
// in mm. Between the two lenses of common practice it goes from the one step to
// the other by a power of the focal length, and outside by its square, as the
// depth does; then it takes the nearest practical step. The error is an
// *diag.Error.
func ForFocal(focalMM float64) (stepMM, reachMM float64, err error) {
	if !(focalMM >= shortestFocalMM && focalMM <= longestFocalMM) {
		return 0, 0, diag.Errorf(diag.Setting, "", "--focal %g: wants a focal length of %d to %d mm", focalMM, shortestFocalMM, longestFocalMM)
	}
	var raw float64
	switch {
	case focalMM < shortFocalMM:
		raw = shortStepMM * math.Pow(focalMM/shortFocalMM, 2)
	case focalMM > longFocalMM:
		raw = longStepMM * math.Pow(focalMM/longFocalMM, 2)
	default:
		power := math.Log(longStepMM/shortStepMM) / math.Log(longFocalMM/shortFocalMM)
		raw = shortStepMM * math.Pow(focalMM/shortFocalMM, power)
	}
	stepMM = roundStep(raw)
	// No lens is that deep, but a slip of the beam's size can ask for it.
	return stepMM, math.Min(stepsEachSide*stepMM, longestReachMM), nil
}

// Settle fills in a step and a reach that are 0 by the focal length in mm, nil
// where that is not known. Where it is not known how near the head may come,
// the reach is to be given. The error is a *diag.Error.
func (o *Options) Settle(focalMM *float64) error {
	if focalMM == nil {
		switch {
		case o.StepMM == 0 && o.ReachMM == 0:
			return diag.Errorf(diag.Setting, "give --step 0.5 --reach 2.5, or the focal length as in --focal 38.1", "no step and no reach given")
		case o.StepMM == 0:
			return diag.Errorf(diag.Setting, "give it in mm, as in --step 0.5", "no step given")
		case o.ReachMM == 0:
			return diag.Errorf(diag.Setting, "give it in mm, as in --reach 2.5", "no reach given")
		}
		return nil
	}
	step, reach, err := ForFocal(*focalMM)
	if err != nil {
		return err
	}
	if o.StepMM == 0 {
		o.StepMM = step
	} else {
		reach = math.Max(reach, o.StepMM)
	}
	if o.ReachMM != 0 {
		return nil
	}
	o.ReachMM = reach
	switch {
	case o.StandoffMM == nil:
		return diag.Errorf(diag.Setting, fmt.Sprintf("say yourself that the head clears, with --reach %g, or give a lens record with standoff_mm", reach),
			"with the usual reach the head comes %g mm nearer to the stock than at best focus, and how near that is is not known", reach)
	case o.Machine.GapMinMM == nil:
		return diag.Errorf(diag.Setting, fmt.Sprintf("say yourself that the head clears, with --reach %g, or give a machine profile with gap_min_mm", reach),
			"with the usual reach the head comes to %.4g mm from the stock, and what gap must stay is not known", *o.StandoffMM-reach)
	}
	return nil
}

// roundStep gives the practical step whose ratio to v is nearest to 1.
func roundStep(v float64) float64 {
	off := func(step float64) float64 { return math.Abs(math.Log(step / v)) }
	return slices.MinFunc(practical, func(a, b float64) int { return cmp.Compare(off(a), off(b)) })
}
