package say

import (
	"fmt"
	"math"

	"sagitta/internal/job"
	"sagitta/internal/ladder"
	"sagitta/internal/probe"
	"sagitta/internal/record"
)

// Ladder says what a ladder is like, and what to do with it. wantedStep and
// wantedReach are those that were asked for, 0 where the focal length gave
// them.
func (v Voice) Ladder(p *ladder.Ladder, r ladder.Readback, m *record.Machine, profiled bool, startZ, wantedStep, wantedReach float64) {
	last := 0.0
	if n := len(p.ClippedMM); n > 0 {
		last = p.ClippedMM[n-1]
	}
	v.tell("ladder", of{"Plan": p, "Back": r, "Machine": m, "Profiled": profiled, "StartZ": startZ, "LastClipped": last, "Nearest": -p.NearestMM,
		"Step":  chosen("step", p.StepMM, wantedStep, "what the axis can be set to"),
		"Reach": chosen("reach", p.ReachMM, wantedReach, "steps")})
}

// chosen says of a length that it was not wanted so.
func chosen(name string, mm, wanted float64, of string) string {
	switch {
	case wanted == 0:
		return fmt.Sprintf("chosen by focal length: a %s of %.6g mm", name, mm)
	case math.Abs(mm-wanted) > 1e-9:
		return fmt.Sprintf("the %s is %.6g mm instead of %.6g: a whole number of %s", name, mm, wanted, of)
	}
	return ""
}

// Made says where a result is, if it is a file.
func (v Voice) Made(what, name string) {
	if name != "" && name != "-" {
		v.Line("the %s is %s", what, name)
	}
}

// Probe says where to touch and why. The depth, its nearer side in mm, is from
// what depthFrom says; seconds is 0 for a sheet to fill in, and started tells that it
// is known where the head stands before.
func (v Voice) Probe(p *probe.Probing, s probe.Pitch, depth float64, depthFrom string, m *record.Machine, profiled bool, head *job.Head, seconds float64, started bool) {
	v.tell("probe", of{"Probing": p, "Pitch": s, "Depth": depth, "DepthFrom": depthFrom, "Reading": depth * probe.DepthPart,
		"From": [2]float64{p.X[0], p.Y[0]}, "To": [2]float64{p.X[len(p.X)-1], p.Y[len(p.Y)-1]},
		"Machine": m, "Profiled": profiled, "Beside": m.ProbeOffsetMM != [3]float64{},
		"Head": head, "Instead": "only the tip of the touch tool is kept clear", "Seconds": seconds, "Started": started})
}
