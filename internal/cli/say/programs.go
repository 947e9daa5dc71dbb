package say

import (
	"fmt"
	"math"

	"sagitta/internal/job"
	"sagitta/internal/ladder"
	"sagitta/internal/phrase"
	"sagitta/internal/probe"
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
	if p.GapMM != nil {
		v.Line("nearest approach: the head comes to %.4g mm from the stock, at an offset of %+.6g mm", *p.GapMM, -p.NearestMM)
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

// Probe says where to touch and why. The depth, its nearer side in mm, is from
// what depthFrom says; seconds is 0 for a sheet to fill in.
func (v Voice) Probe(p *probe.Probing, s probe.Pitch, depth float64, depthFrom string, m *record.Machine, profiled bool, head *job.Head, seconds float64) {
	if !profiled {
		v.Line("assumed: no machine profile; lengths in mm, +Z away from the stock, touching at %g mm/min to %g mm below the datum", m.ProbeFeedMMMin, m.ProbeDepthMM)
	}
	v.Line("depth %.3f mm (%s); %s", depth, depthFrom, s.Why)
	v.Line("so touches are %.3f mm apart at most, for an error of reading between them of at most %.3f mm, a tenth of the depth", s.MM, depth*probe.DepthPart)
	less := ""
	if p.Skipped > 0 {
		less = fmt.Sprintf(" less %d that no burn needs", p.Skipped)
	}
	v.Line("%s to touch, %d x %d%s, over %s to %s", phrase.Count(len(p.Places), "place"),
		len(p.X), len(p.Y), less, phrase.XY(p.X[0], p.Y[0]), phrase.XY(p.X[len(p.X)-1], p.Y[len(p.Y)-1]))
	v.Line("the datum, first and last, is %s; set the focus there later", phrase.XY(p.Places[0][0], p.Places[0][1]))
	if seconds == 0 {
		return
	}
	v.Line("about %s; %.0f mm of travel", phrase.Clock(seconds), p.Travel())
	if at := m.ProbeOffsetMM; at != [3]float64{} {
		v.Line("the touch tool sits at X%g Y%g from the beam: give --shift %g,%g to sagitta surface", at[0], at[1], at[0], at[1])
	}
	if m.ZPlus == record.Toward {
		v.Line("+Z brings the lens nearer here, so Z counts down: give --down to sagitta surface")
	}
	v.head(head, "only the tip of the touch tool is kept clear")
	if head.Known != nil {
		v.Line("caution: how far stock rises beside a touch is not known before it is touched")
	}
	v.Line("the beam is off throughout; stay at the stop while it runs")
}
