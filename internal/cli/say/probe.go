package say

import (
	"fmt"

	"sagitta/internal/job"
	"sagitta/internal/phrase"
	"sagitta/internal/probe"
	"sagitta/internal/record"
)

// Probe says where to touch and why. The depth, its nearer side in mm, is from
// what depthFrom says; seconds is 0 for a sheet to fill in.
func (v Voice) Probe(p *probe.Plan, s probe.Step, depth float64, depthFrom string, m *record.Machine, profiled bool, head *job.Head, seconds float64) {
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
