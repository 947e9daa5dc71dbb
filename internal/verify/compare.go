package verify

import (
	"fmt"
	"math"

	"sagitta/internal/machine"
)

const beamOff = machine.Off

// litFailure is that of a beam that is on where nothing is burned, in the
// step under way, which is the original's step o or has none there.
func (c *check) litFailure(o *step) Failure {
	s := &c.s
	f := c.failure(BeamDiffers, o, 0, math.NaN())
	switch {
	case s.kind == word:
		f.Detail = "on at " + wordName(s)
	case s.kind == atEnd:
		f.Detail = "on at the end"
		f.X, f.Y = math.NaN(), math.NaN()
	default:
		f.Detail = "on in a travel"
	}
	return f
}

// compareBeam holds the beam and the power of the step under way to those of
// the original's step o. In a rehearsal there is no beam.
func (c *check) compareBeam(o *step) {
	s := &c.s
	if c.opt.Rehearsal {
		if s.m.Burn || s.lit() {
			f := c.failure(BeamDiffers, o, 0, math.NaN())
			f.Detail = "the beam can fire in a rehearsal"
			c.res.fail(f)
		}
		return
	}
	switch {
	case s.m.Burn != o.m.Burn || !s.m.Burn && s.beam != o.beam:
		f := c.failure(BeamDiffers, o, 0, math.NaN())
		f.Detail = fmt.Sprintf("%s instead of %s", beamName(s), beamName(o))
		c.res.fail(f)
	case !s.m.Burn && s.beam == beamOff:
	case s.m.Power != o.m.Power:
		f := c.failure(PowerDiffers, o, 0, s.m.Power-o.m.Power)
		f.Detail = fmt.Sprintf("%s instead of %s", number(s.m.Power), number(o.m.Power))
		c.res.fail(f)
	case s.m.PowerFollows != o.m.PowerFollows:
		f := c.failure(PowerDiffers, o, 0, math.NaN())
		f.Detail = "whether it follows the speed"
		c.res.fail(f)
	}
}

func beamName(s *step) string {
	switch {
	case s.m.Burn:
		return "burning"
	case s.beam == machine.On:
		return "on"
	case s.beam == machine.Off:
		return "off"
	}
	return "not yet said"
}

// slowest is the part of the programmed speed that a burn must keep at least.
func (c *check) slowest(o *step) float64 {
	if c.opt.Slow == SlowBurns || c.opt.Slow == SlowScaled && o.m.PowerFollows {
		return c.opt.Slowest
	}
	return 1
}

// compareSpeed holds the speed over XY of a feed move to that of the
// original.
func (c *check) compareSpeed(o *step) {
	s := &c.s
	if s.m.Rapid || o.m.Rapid || s.m.FromUnknown || o.m.FromUnknown ||
		s.m.Length == 0 || o.m.Length == 0 || s.m.Seconds == 0 || o.m.Seconds == 0 {
		return
	}
	part := s.m.Length / s.m.Seconds / (o.m.Length / o.m.Seconds)
	grace := speedGrace + roundingPart
	if s.inverse {
		// There the time is programmed, and the length rounded.
		grace += 2 * c.tolerance() / s.m.Length
	}
	c.speed(o, part, grace)
}

// compareRise does the same for the speed of Z in a motion without XY length.
func (c *check) compareRise(o *step) {
	dz, odz := math.Abs(c.s.dz()), math.Abs(o.dz())
	if c.s.m.Rapid || c.s.m.ZUnknown || c.s.m.Seconds == 0 || dz == 0 || o.m.Seconds == 0 || odz == 0 {
		return
	}
	grace := speedGrace + roundingPart
	if c.s.inverse {
		grace += 2 * c.tolerance() / dz
	}
	c.speed(o, dz/c.s.m.Seconds/(odz/o.m.Seconds), grace)
}

// speed judges a speed that is part of the programmed one.
func (c *check) speed(o *step, part, grace float64) {
	const percent = 100
	if part > 1+grace {
		c.res.fail(c.failure(TooFast, o, 0, (part-1)*percent))
	}
	if !o.m.Burn {
		return
	}
	least := c.slowest(o)
	if part >= least*(1-grace) {
		return
	}
	if most := c.opt.FeedMaxMMMin; most > 0 && !c.s.inverse && c.s.m.Feed >= most*(1-speedGrace) {
		c.slowAtMax.add(c.s.line)
		return
	}
	c.res.fail(c.failure(TooSlow, o, 0, (least-part)*percent))
}
