package say

import (
	"math"

	"sagitta/internal/ladder"
	"sagitta/internal/phrase"
	"sagitta/internal/record"
)

// Ladder says what a ladder is like, and what to do with it. wantedStep and
// wantedReach are those that were asked for, 0 where the focal length gave
// them.
func (v Voice) Ladder(p *ladder.Ladder, r ladder.Readback, m *record.Machine, profiled bool, startZ, wantedStep, wantedReach float64) {
	if !profiled {
		v.Line("assumed: no machine profile; program in mm, +Z away from the stock, full power S1000")
	}
	chosen := func(name string, mm, wanted float64, of string) {
		switch {
		case wanted == 0:
			v.Line("chosen by focal length: a %s of %.6g mm", name, mm)
		case math.Abs(mm-wanted) > 1e-9:
			v.Line("the %s is %.6g mm instead of %.6g: a whole number of %s", name, mm, wanted, of)
		}
	}
	chosen("step", p.StepMM, wantedStep, "what the axis can be set to")
	chosen("reach", p.ReachMM, wantedReach, "steps")
	if n := len(p.ClippedMM); n > 0 {
		first, last := p.ClippedMM[0], p.ClippedMM[n-1]
		if m.GapMinMM == nil {
			v.Line("left out: the offsets from %+.6g to %+.6g mm, at which it would touch the stock", first, last)
		} else {
			v.Line("left out: the offsets from %+.6g to %+.6g mm, at which the head would come nearer to the stock than gap_min_mm, %g mm", first, last, *m.GapMinMM)
		}
	}
	if p.GapKnown {
		v.Line("nearest approach: the head comes to %.4g mm from the stock, at an offset of %+.6g mm", p.GapMM, -p.NearestMM)
	} else {
		v.Line("nearest approach: the head comes %.6g mm nearer to the stock than at best focus; head clearance not checked", p.NearestMM)
	}
	v.Line("%s in a block of %.4g x %.4g mm to the right of and above X0 Y0; about %s",
		phrase.Count(len(p.Rungs), "rung"), p.Width, p.Height, phrase.Clock(r.Seconds))
	if m.ZMoves == record.ZByHand {
		v.Line("no Z is written: the program pauses (M0) for each offset, which is set by hand")
		v.Line("set best focus as well as you can first")
	} else {
		v.Line("%s written from %s to %s mm", m.ZAxis, phrase.MM(r.ZLow), phrase.MM(r.ZHigh))
		v.Line("set best focus as well as you can first, and make %s%g there", m.ZAxis, startZ)
	}
}

// Made says where a result is, if it is a file.
func (v Voice) Made(what, name string) {
	if name != "" && name != "-" {
		v.Line("the %s is %s", what, name)
	}
}
