package verify

import (
	"fmt"
	"math"

	"sagitta/internal/machine"
)

// doseGrace is how far power over speed may be off the original's: far below what a
// mark shows.
const doseGrace = 0.01

// comparePower holds the power of the step under way to that of the original's step
// o: on a burn that is slower, power over speed, else power alone.
func (j *Judge) comparePower(o *Step) {
	s := &j.S
	part, grace := j.slower(o)
	if j.least(s, o) {
		j.Fail(PowerLow, o, 0, s.M.Power, "")
	}
	switch off := dose(s, o, part) - 1; {
	case s.M.Power != o.M.Power && (part == 1 || o.M.Power == 0):
		j.Fail(PowerDiffers, o, 0, s.M.Power-o.M.Power, Number(s.M.Power)+" instead of "+Number(o.M.Power))
	case part < 1 && math.Abs(off) > doseGrace+grace:
		j.Fail(DoseDiffers, o, 0, off*percent, fmt.Sprintf("%s at %s %% of the speed, %s at all of it",
			Number(s.M.Power), Number(part*percent), Number(o.M.Power)))
	}
}

// SameDose reports whether the step under way has the power that it should as the
// original's step o.
func (j *Judge) SameDose(o *Step) bool {
	part, grace := j.slower(o)
	if part == 1 || o.M.Power == 0 {
		return j.S.M.PowerFollows == o.M.PowerFollows && j.S.M.Power == o.M.Power
	}
	return j.S.M.PowerFollows == o.M.PowerFollows && math.Abs(dose(&j.S, o, part)-1) <= doseGrace+grace
}

// dose is the power over speed of s, as a part of that of o, where s goes at a part
// of the speed of o. Where no power was said both burn at the same.
func dose(s, o *Step, part float64) float64 {
	if s.M.Power == o.M.Power {
		return 1 / part
	}
	return s.M.Power / o.M.Power / part
}

// least reports whether the power of s falls below the least that the source gives,
// where that of o does not.
func (j *Judge) least(s, o *Step) bool {
	least := j.Opt.PowerLeast * (1 - roundingPart)
	return s.M.Burn && s.M.Power < least && s.M.Power < o.M.Power
}

// slower gives the part of the original's speed that the step under way goes at, and
// how far it may be off by rounding. It is 1 but on a burn over XY with power of its
// own that is slower: power that the source scales with the speed itself stays as it is.
func (j *Judge) slower(o *Step) (part, grace float64) {
	s := &j.S
	if !s.M.Burn || s.Kind != Motion || o.Kind != Motion || !timed(s) || !timed(o) || s.M.PowerFollows && j.Opt.PowerBySpeed {
		return 1, 0
	}
	if s.Inverse {
		grace = 2 * j.Tolerance() / s.M.Length
	}
	if s.M.Kind == machine.Arc { // of a cut one the radius is rounded
		grace += j.Tolerance() / min(s.M.R0, s.M.R1)
	}
	part = s.M.Length / j.seconds(s) / (o.M.Length / j.seconds(o))
	// Up to half of what speed may be off by, power must be as it was.
	if part > 1-speedGrace/2+grace {
		return 1, 0
	}
	return part, grace
}

// seconds is how long a burn takes: by G0 as long as the slower axis needs.
func (j *Judge) seconds(s *Step) float64 {
	if !s.M.Rapid {
		return s.M.Seconds
	}
	seconds := s.M.Length / j.Opt.Machine.RapidMMMin * secondsPerMinute
	if rate := j.Opt.ZRate; rate > 0 {
		// Where units change the last Z was rounded in the others.
		last := max(j.Opt.lastZ(false), j.Opt.lastZ(true))
		seconds = max(seconds, (math.Abs(s.dz())-last)/rate)
	}
	return seconds
}
