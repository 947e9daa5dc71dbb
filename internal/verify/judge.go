package verify

import (
	"math"
	"sagitta/internal/verify/extremes"
)

const (
	// speedGrace is how far a speed may be off: half a percent, below what
	// any controller keeps or any mark shows.
	speedGrace = 0.005
	// roundingPart covers the rounding of float64 in a product of a few
	// figures.
	roundingPart = 1e-9
	// placeSlackMM covers the rounding of coordinates, which are known to
	// about 1e-10 mm, in distances made of them.
	placeSlackMM = 1e-7
)

// judge takes the step under way, a motion or dwell: its figures, the
// machine's limits and the focus, with the corrections c0 and c1 at its ends.
// o is the step of the original that it belongs to, or nil.
func (c *check) judge(c0, c1 float64, burn bool, o *step) {
	c.figures(burn)
	c.limits(c0, c1, burn, o)
	c.runs(c0, c1, burn, o)
	c.look(c0, c1, burn, o)
	c.overStock(burn, o)
}

// failure is a failure of the step under way, at the fraction s of its move.
func (c *check) failure(kind Kind, o *step, s, amount float64) Failure {
	at := c.s.m.XY(s)
	f := Failure{Kind: kind, Line: c.s.line, X: at[0], Y: at[1], Amount: amount}
	if o != nil {
		f.OriginalLine = o.line
	}
	return f
}

// figures adds the step to the figures of the program.
func (c *check) figures(burn bool) {
	r, m := c.res, &c.s.m
	dz := math.Abs(c.s.dz())
	if m.ZUnknown {
		dz = 0
	}
	switch {
	case burn:
		r.Burns++
		r.BurnLengthMM += m.Length
	case c.s.kind == motion:
		r.Travels++
	}
	r.ZTravelMM += dz
	if c.s.kind == motion && m.ZUnknown {
		if c.s.known {
			r.ZMinMM, r.ZMaxMM = min(r.ZMinMM, m.To.Z), max(r.ZMaxMM, m.To.Z)
		}
	} else if c.s.kind == motion {
		r.ZMinMM = min(r.ZMinMM, m.From.Z, m.To.Z)
		r.ZMaxMM = max(r.ZMaxMM, m.From.Z, m.To.Z)
	}
	seconds := m.Seconds
	if rate := c.opt.ZRateMMMin; m.Rapid && rate > 0 {
		// A rapid takes what the slower axis needs.
		seconds = max(m.Length/c.opt.Machine.RapidMMMin, dz/rate) * secondsPerMinute
	}
	r.Seconds += seconds
}

const secondsPerMinute = 60

// limits holds the step to the machine's.
func (c *check) limits(c0, c1 float64, burn bool, o *step) {
	m, opt := &c.s.m, &c.opt
	if c.s.kind != motion {
		return
	}
	dz := math.Abs(c.s.dz())
	if dz > 0 && !m.ZUnknown || c.s.findsZ {
		if z := opt.ZMinMM; z != nil && m.To.Z < *z-placeSlackMM {
			c.res.fail(c.failure(ZBelow, o, 1, *z-m.To.Z))
		}
		if z := opt.ZMaxMM; z != nil && m.To.Z > *z+placeSlackMM {
			c.res.fail(c.failure(ZAbove, o, 1, m.To.Z-*z))
		}
	}
	if m.Rapid || m.FromUnknown || m.ZUnknown {
		return
	}
	decimal := opt.lastDecimal(c.s.inches)
	if rate := opt.ZRateMMMin; rate > 0 && dz > rate/secondsPerMinute*m.Seconds+decimal+placeSlackMM {
		if o != nil && !burn && c.s.standing() && math.Abs(c1-c0) <= decimal+placeSlackMM {
			c.ownZRate.add(c.s.line)
		} else {
			c.res.fail(c.failure(ZTooFast, o, 1, dz/m.Seconds*secondsPerMinute))
		}
	}
	if most := opt.FeedMaxMMMin; most > 0 {
		if f := pathFeed(&c.s); f > most*(1+roundingPart) {
			if o != nil && f <= pathFeed(o)*(1+roundingPart) {
				c.ownFeed.add(c.s.line)
			} else {
				c.res.fail(c.failure(FeedTooHigh, o, 0, f))
			}
		}
	}
}

// pathFeed is the F of a feed move in mm/min; in inverse time that of its
// path.
func pathFeed(s *step) float64 {
	if !s.inverse {
		return s.m.Feed
	}
	return math.Hypot(s.m.Length, s.dz()) / s.m.Seconds * secondsPerMinute
}

// runs follows the unbroken runs of burns: the speed of Z in them, and
// whether the focus moves where it must not.
func (c *check) runs(c0, c1 float64, burn bool, o *step) {
	m := &c.s.m
	if !burn {
		c.inRun, c.joint = false, false
	} else {
		if !c.inRun {
			c.inRun, c.runC = true, c0
		}
		moving := c.s.kind == motion && m.Length > 0 && m.Seconds > 0
		if moving {
			speed := c.s.dz() / m.Seconds * secondsPerMinute
			c.res.PeakZRate = max(c.res.PeakZRate, math.Abs(speed))
			if c.joint {
				c.res.ZSpeedStep = max(c.res.ZSpeedStep, math.Abs(speed-c.zSpeed))
			}
			c.zSpeed = speed
		}
		c.joint = moving
	}
	at := &c.handC
	switch {
	case c.opt.ZMoves == ByHand:
	case c.opt.ZMoves == BeamOff && burn:
		at = &c.runC
	default:
		return
	}
	// A cut piece's Z is rounded to a decimal.
	d := max(math.Abs(c0-*at), math.Abs(c1-*at))
	if d > c.opt.lastDecimal(c.s.inches)+placeSlackMM {
		c.res.fail(c.failure(ZMoved, o, 1, d))
		*at = c1 // each change is reported once
	}
}

// look holds the step to the focus.
func (c *check) look(c0, c1 float64, burn bool, o *step) {
	if c.opt.ZMoves == ByHand {
		// The wanted defocus is set by hand, so c counts from there.
		c0, c1 = c0+c.opt.DefocusMM, c1+c.opt.DefocusMM
	}
	m, sp, depth := &c.s.m, &c.sp, c.opt.Depth
	if !burn && !m.FromUnknown && m.Length == 0 && c.s.dz() == 0 {
		return // nothing moves
	}
	d := c.opt.DefocusMM
	standing := c.s.kind == dwell || c.s.standing() || m.Length == 0
	if m.FromUnknown || m.ZUnknown || !c.s.known {
		if c.unknownTravel == 0 && c.s.kind == motion {
			c.unknownTravel = c.s.line
		}
		if !c.s.known {
			return
		}
		// Where it ends is known.
		c0, standing = c1, true
	}
	if !burn && standing {
		// On its way up it may come from where it was not clear; it ends
		// at its lowest otherwise.
		c0 = c1
	}
	// How near it comes is told, so nothing nearer than so far may be skipped.
	skip := max(-depth.Near, c.res.Nearest.MM-d)
	if !burn && min(c0, c1)-d >= c.f.High+skip {
		return // above all there is
	}
	sp.C0, sp.C1 = c0-d, c1-d
	sp.Watch = burn
	sp.Off, sp.Over, sp.Holes = 0, 0, false
	if burn {
		sp.Focus.Begin(max(skip, -c.worst), min(depth.Far, c.worst))
		sp.Height.Begin(c.res.Lowest.MM, c.res.Highest.MM)
	} else {
		sp.Focus.Begin(skip, math.Inf(1))
		sp.Height.Begin(math.Inf(-1), math.Inf(1))
	}
	c.f.Along(sp, m, standing)
	c.near(&sp.Focus, m)
	if burn {
		c.record()
	}
	c.outside(burn, o)
}

// record takes the extremes over all burns.
func (c *check) record() {
	r, e, h := c.res, &c.sp.Focus, &c.sp.Height
	extreme := func(v, s float64) Extreme {
		at := c.s.m.XY(s)
		return Extreme{v, c.s.line, at[0], at[1]}
	}
	if -e.Lo > c.worst {
		c.worst, r.Defocus = -e.Lo, extreme(e.Lo, e.AtLo)
	}
	if e.Hi > c.worst {
		c.worst, r.Defocus = e.Hi, extreme(e.Hi, e.AtHi)
	}
	if h.Lo < r.Lowest.MM {
		r.Lowest = extreme(h.Lo, h.AtLo)
	}
	if h.Hi > r.Highest.MM {
		r.Highest = extreme(h.Hi, h.AtHi)
	}
}

// outside reports what of the step is outside its window.
func (c *check) outside(burn bool, o *step) {
	sp, depth := &c.sp, c.opt.Depth
	e := &sp.Focus
	low := NotClear
	if burn {
		low = TooNear
	}
	if burn && (e.Lo < -depth.Near-extremes.FoundMM || e.Hi > depth.Far+extremes.FoundMM) {
		c.res.BurnsOut++
	}
	if e.Lo < -depth.Near-extremes.FoundMM {
		c.res.fail(c.failure(low, o, e.AtLo, -depth.Near-e.Lo))
	} else if e.OpenLo < -depth.Near-extremes.CertainMM {
		f := c.failure(low, o, e.AtLo, -depth.Near-e.OpenLo)
		f.Unproven = true
		c.res.fail(f)
	}
	if !burn {
		return
	}
	if e.Hi > depth.Far+extremes.FoundMM {
		c.res.fail(c.failure(TooFar, o, e.AtHi, e.Hi-depth.Far))
	} else if e.OpenHi > depth.Far+extremes.CertainMM {
		f := c.failure(TooFar, o, e.AtHi, e.OpenHi-depth.Far)
		f.Unproven = true
		c.res.fail(f)
	}
	// A path along the edge may leave it by the rounding of a cut point.
	switch edge := c.opt.lastDecimal(c.s.inches); {
	case sp.Off > edge && c.opt.OutsideHold:
		c.res.HeldBurns++
	case sp.Off > edge:
		c.res.fail(c.failure(OffSurface, o, sp.OffAt, sp.Off))
	}
	if sp.Holes {
		c.res.fail(c.failure(OverHole, o, sp.OverAt, sp.Over))
	}
}
