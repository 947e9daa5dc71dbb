package measured

import "sagitta/internal/phrase"

// Verdicts takes from a ladder's sheet, read from the file name, what was
// tested and how, and gives the sharp range. The error is a *diag.Error, kind
// Unmet, where no rung is sharp.
func (d *Draft) Verdicts(name string, s *Verdicts) (*Sharp, error) {
	sharp, err := s.Sharp()
	if err != nil {
		return nil, From(name, err)
	}
	d.TestedOn, d.TestedFeedMMMin, d.SmallestDetailMM = s.Material, s.FeedMMMin, s.DetailMM
	if sharp.PowerPct > 0 {
		d.TestedPowerPct = &sharp.PowerPct
	}
	d.Note("%s: %s", name, phrase.Count(len(s.Rungs), "rung"))
	for _, n := range sharp.Notes {
		d.Note("%s", n)
	}
	return sharp, nil
}

// Forget takes from the record what was known of an earlier test: it says
// nothing of a new one.
func (d *Draft) Forget() {
	d.DepthMM, d.DepthErrorMM, d.FocusShiftMM = nil, nil, nil
	d.TestedOn, d.TestedPowerPct, d.TestedFeedMMMin, d.SmallestDetailMM = "", nil, nil, nil
}

// Rungs turns the sharp range into the record's depth. It counts from the
// bench's zero, as the ladder was marked; from the middle of the range where
// recentre asks for it, and where the zero is not within.
func (d *Draft) Rungs(r *Sharp, recentre bool) {
	shift, half := r.ShiftMM(), *rounded((r.HiMM - r.LoMM) / 2)
	outside := !(r.LoMM < 0 && r.HiMM > 0)
	d.FocusShiftMM = rounded(shift)
	d.DepthMM = &[2]float64{r.LoMM, r.HiMM}
	if outside || recentre {
		d.DepthMM = &[2]float64{-half, half}
	}
	sure := "; how sure that is the ladder's step tells, half of it at best: give it with --step"
	if r.ErrorMM > 0 {
		d.DepthErrorMM = rounded(r.ErrorMM)
		sure = "; a limit is sure to half a step at best, " + phrase.Trimmed(r.ErrorMM, 4) + " mm"
	}
	d.Note("sharp from %s to %s mm%s", phrase.Offset(r.LoMM), phrase.Offset(r.HiMM), sure)
	for _, end := range []struct {
		open bool
		mm   float64
	}{{r.OpenLo, r.LoMM}, {r.OpenHi, r.HiMM}} {
		if end.open {
			d.Note("no rung beyond %s mm was judged not sharp: the depth is at least that; a ladder with more reach tells the rest", phrase.Offset(end.mm))
		}
	}
	depth := "[" + phrase.Offset(d.DepthMM[0]) + ", " + phrase.Trimmed(d.DepthMM[1], 4) + "]"
	middle := phrase.Trimmed(shift, 4) + " mm further from the lens"
	if shift < 0 {
		middle = phrase.Trimmed(-shift, 4) + " mm nearer the lens"
	}
	switch {
	case phrase.Offset(shift) == "0":
		d.Note("best focus is at the bench's zero: depth_mm = %s", depth)
	case outside || recentre:
		if !recentre {
			d.Note("warning: the bench's zero is not between the sharp rungs, so no depth can count from it")
		}
		d.Note("depth_mm = %s counts from best focus, %s than the bench's zero: set the bench's focus there before this record is used", depth, middle)
	default:
		d.Note("depth_mm = %s counts from the bench's zero; best focus, the middle, is %s: set there, with --recentre, both sides are %s mm",
			depth, middle, phrase.Trimmed(half, 4))
		if r.ErrorMM > 0 && shift <= r.ErrorMM && -shift <= r.ErrorMM {
			d.Note("that shift is within half a step: it may be none")
		}
	}
	if d.TestedPowerPct != nil {
		d.Note("marked with %g %% power (tested_power_pct)", *d.TestedPowerPct)
	}
}
