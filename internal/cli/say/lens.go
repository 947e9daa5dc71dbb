package say

import (
	"fmt"

	"sagitta/internal/job"
	"sagitta/internal/optics"
	"sagitta/internal/optics/measured"
	"sagitta/internal/phrase"
)

// growth writes how much a spot grows, 1.10 as 10.
func growth(k float64) string { return fmt.Sprintf("%.0f", 100*(k-1)) }

// AssumedDepth says which depth a record without a tested one is taken to have.
func (f *Finding) AssumedDepth(rayleighMM float64) {
	half := optics.HalfDepth(rayleighMM, job.AssumedGrowth)
	f.Note("assumed: the depth is %s mm, within which the spot grows by %s percent; a ladder tells what stays sharp",
		phrase.Sides(half, half), growth(job.AssumedGrowth))
}

// estimate writes an estimate times a factor, with its uncertainty.
func estimate(e optics.Estimate, factor float64) string {
	return phrase.PlusMinus(e.Value*factor, e.U*factor)
}

// Caustic says what a fit found along one axis, and what makes it less sure.
func (f *Finding) Caustic(axis string, c *optics.Caustic) {
	f.Note("%sbest focus at z %s mm, waist %s µm (1/e² diameter), rayleigh length %s mm, full divergence %s mrad, M² %s", axis,
		estimate(c.FocusMM, 1), estimate(c.WaistMM, 1000), estimate(c.RayleighMM, 1), estimate(c.DivergenceRad, 1000), estimate(c.M2, 1))
	switch {
	case c.WiderFitted:
		f.Note("%sthe marks are wider than the beam by %s µm, as found by the fit", axis, estimate(c.WiderMM, 1000))
	case c.WiderMM.Value != 0:
		f.Note("%s%s µm were taken off every width", axis, phrase.Short(1000*c.WiderMM.Value))
	}
	for _, w := range c.Warnings() {
		f.Note("%swarning: %s", axis, w)
	}
}

// Axes says how the foci of two axes lie, and what both come to: their mean,
// or where the spot over both is smallest outside what they share, the middle
// of that.
func (f *Finding) Axes(axes optics.Axes, mean *optics.Caustic, shared optics.Shared) {
	f.Caustic("x: ", axes.X)
	f.Caustic("y: ", axes.Y)
	between, which := axes.AstigmaticMM(), "further from"
	if between.Value < 0 {
		between.Value, which = -between.Value, "nearer"
	}
	f.Note("the focus of y lies %s mm %s the lens than that of x (astigmatic distance)", estimate(between, 1), which)
	if shared.Middle {
		f.Note("best focus of both: z %s mm, the middle of the depth that they share; the spot over both axes is smallest outside it, so the record has no waist", phrase.Short(shared.FocusMM))
		return
	}
	f.Note("both together: best focus at z %s mm, waist %s µm, rayleigh length %s mm, M² %s (the beam whose d² is the mean of both)",
		estimate(mean.FocusMM, 1), estimate(mean.WaistMM, 1000), estimate(mean.RayleighMM, 1), estimate(mean.M2, 1))
}

// SharedDepth says what depth two axes share; kept tells that the record has
// one already.
func (f *Finding) SharedDepth(s optics.Shared, kept bool) {
	sides, k := phrase.Sides(s.Near, s.Far), growth(job.AssumedGrowth)
	if kept {
		f.Note("the depth stays as it was in the record; within %s mm neither axis grows by more than %s percent", sides, k)
		return
	}
	f.Note("assumed: the depth is %s mm about z %s, within which neither axis grows by more than %s percent of its waist; a ladder tells what stays sharp",
		sides, phrase.Short(s.FocusMM), k)
}

// Rungs says what the sharp rungs of a ladder come to in the record l, whose
// depth counts from their middle where centred says so; asked tells that this
// was asked for.
func (f *Finding) Rungs(l *job.Lens, r *measured.Sharp, centred, asked bool) {
	sure := "; how sure that is the ladder's step tells, half of it at best: give it with --step"
	if r.ErrorMM > 0 {
		sure = "; a limit is sure to half a step at best, " + phrase.Trimmed(r.ErrorMM, 4) + " mm"
	}
	f.Note("sharp from %s to %s mm%s", phrase.Offset(r.LoMM), phrase.Offset(r.HiMM), sure)
	for _, end := range []struct {
		open bool
		mm   float64
	}{{r.OpenLo, r.LoMM}, {r.OpenHi, r.HiMM}} {
		if end.open {
			f.Note("no rung beyond %s mm was judged not sharp: the depth is at least that; a ladder with more reach tells the rest", phrase.Offset(end.mm))
		}
	}
	depth := "[" + phrase.Offset(l.DepthMM[0]) + ", " + phrase.Trimmed(l.DepthMM[1], 4) + "]"
	shift := r.ShiftMM()
	middle := phrase.Trimmed(shift, 4) + " mm further from the lens"
	if shift < 0 {
		middle = phrase.Trimmed(-shift, 4) + " mm nearer the lens"
	}
	switch {
	case phrase.Offset(shift) == "0":
		f.Note("best focus is at the bench's zero: depth_mm = %s", depth)
	case centred:
		if !asked {
			f.Note("warning: the bench's zero is not between the sharp rungs, so no depth can count from it")
		}
		f.Note("depth_mm = %s counts from best focus, %s than the bench's zero: set the bench's focus there before this record is used", depth, middle)
	default:
		f.Note("depth_mm = %s counts from the bench's zero; best focus, the middle, is %s: set there, with --recentre, both sides are %s mm",
			depth, middle, phrase.Trimmed((r.HiMM-r.LoMM)/2, 4))
		if r.ErrorMM > 0 && shift <= r.ErrorMM && -shift <= r.ErrorMM {
			f.Note("that shift is within half a step: it may be none")
		}
	}
	if l.TestedPowerPct != nil {
		f.Note("marked with %g %% power (tested_power_pct)", *l.TestedPowerPct)
	}
}
