package say

import (
	"cmp"
	"fmt"
	"math"

	"sagitta/internal/job"
	"sagitta/internal/ladder"
	"sagitta/internal/machine"
	"sagitta/internal/probe"
	"sagitta/internal/recheck"
	"sagitta/internal/record"
	"sagitta/internal/setup"
)

// Ladder says what a ladder is like, and what to do with it. wantedStep and
// wantedReach are those that were asked for, 0 where the focal length gave
// them.
func (v Voice) Ladder(p *ladder.Ladder, r ladder.Readback, m *record.Machine, profiled bool, startZ, wantedStep, wantedReach float64) {
	last := 0.0
	if n := len(p.ClippedMM); n > 0 {
		last = p.ClippedMM[n-1]
	}
	set := p.Setting()
	v.tell("ladder", of{"Setting": set.Text(), "Plan": p, "Back": r, "Machine": m, "Profiled": profiled, "StartZ": startZ, "LastClipped": last, "Nearest": -p.NearestMM,
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

// Touching is what there is to say of where to touch, and why. Lengths are in mm.
type Touching struct {
	Probing *probe.Probing
	Pitch   probe.Pitch
	// Depth is the nearer side of what Lens is good for, which Given tells is of an option.
	Lens  job.Lens
	Depth float64
	Given bool
	// Later is where the focus is set for the burn.
	Later    setup.Setting
	Machine  *record.Machine
	Profiled bool
	Head     *job.Head
	// ByHand is touched with a sheet, its map on so many pages, and a strip under the gauge,
	// 0 where nobody said how thick; else Aloft is how the tool travels and Seconds how long
	// that takes. Started tells that it is known where the head stands before.
	ByHand   bool
	FeelerMM float64
	Maps     int
	Aloft    probe.Aloft
	Seconds  float64
	Started  bool
}

// Probe says where to touch and why, and where the focus is set later.
func (v Voice) Probe(t *Touching) {
	if t.Given {
		v.Line("taken: %s", t.Lens.Taken())
	}
	p := t.Probing
	highest := 0.0
	if !t.ByHand {
		highest = p.Highest(t.Aloft)
	}
	v.tell("probe", of{"Probing": p, "Later": t.Later.Text(), "Pitch": t.Pitch, "Depth": t.Depth, "DepthFrom": cmp.Or(t.Lens.File, t.Lens.Depth.From), "Reading": t.Depth * probe.DepthPart,
		"From": [2]float64{p.X[0], p.Y[0]}, "To": [2]float64{p.X[len(p.X)-1], p.Y[len(p.Y)-1]},
		"Machine": t.Machine, "Profiled": t.Profiled, "Beside": t.Machine.ProbeOffsetMM != [3]float64{}, "Aloft": t.Aloft, "Highest": highest,
		"ByHand": t.ByHand, "Feeler": t.FeelerMM, "Maps": t.Maps,
		"Head": t.Head, "Instead": "only the tip of the touch tool is kept clear", "Seconds": t.Seconds, "Started": t.Started})
}

// Recheck says where to touch stock again before the first burn begins where first tells,
// at least bare mm off what is burned; seconds
// is 0 for a sheet to fill in, and started tells that it is known where the head stands
// before.
func (v Voice) Recheck(j *job.Job, first *machine.Point, p *probe.Probing, bare, seconds float64, started bool) {
	v.tell("recheck", of{"Job": j, "Setting": setting(j, first), "Probing": p, "Bare": bare, "Head": &j.Head, "Instead": "only the tip of the touch tool is kept clear",
		"Seconds": seconds, "Started": started, "Machine": j.Machine, "Beside": j.Machine.ProbeOffsetMM != [3]float64{}})
}

// RecheckStop says what a stop for touches by hand asks for, and on which line of the
// written program it stands.
func (v Voice) RecheckStop(j *job.Job, line int, says []string, bare float64) {
	v.tell("recheck_stop", of{"Job": j, "Line": line, "Says": says, "Bare": bare})
}

// Rechecked says what readings tell of a surface, what is allowed, and what became of
// the surface that was to be written to out, "" for none.
func (v Voice) Rechecked(j *job.Job, q *recheck.Question, a *recheck.Answer, allowed recheck.Allowance, out string, written bool) {
	var causes []string
	for k := range a.Causes {
		c := &a.Causes[k]
		text := c.Text(q, a.Reads)
		if len(a.Causes) > 1 {
			text = fmt.Sprintf("%s %s (likely to %.0f %% of these)", map[bool]string{true: "either", false: "or"}[k == 0], text, 100*c.Part)
		}
		causes = append(causes, text)
	}
	v.tell("rechecked", of{"Job": j, "Answer": a, "Allowed": allowed, "Causes": causes, "Out": out, "Written": written})
}
