package verify

import (
	"math"
	"slices"

	"sagitta/internal/machine"
)

// next finds the next step that ok takes before any motion over XY, and takes what
// comes before it for missing; nil where there is none.
func (c *beside) next(ok func(o *Step) bool) *Step {
	if c.begun {
		return nil
	}
	return c.missBefore(c.seek(0, ok, overXY))
}

// matchWord finds the M word in the original.
func (c *beside) matchWord() {
	s := &c.S
	c.TellWait()
	o := c.next(func(o *Step) bool {
		return o.SameWord(s)
	})
	if o != nil {
		if s.Lit() && (c.Opt.Rehearsal || !o.Lit()) {
			c.FailUnlit(o)
		}
		c.pop()
		return
	}
	o = c.peek(0)
	if c.beam == machine.On && slices.Contains(c.Opt.Machine.BeamOff, int(s.Word)) && (o.Kind == AtEnd || o.Ends()) {
		return // the original ends with the beam on, which need not be kept
	}
	c.Res.Fail(Violation{Kind: WordDiffers, Line: s.Line, OriginalLine: o.Line, X: math.NaN(), Y: math.NaN(), Amount: math.NaN(),
		Detail: s.String() + " is not in the original here"})
}

// matchDwell finds the dwell in the original.
func (c *beside) matchDwell() {
	s := &c.S
	o := c.next(func(o *Step) bool { return o.Kind == Dwell })
	if o == nil {
		c.add()
		return
	}
	offset := c.sigma * (s.M.To.Z - c.z)
	if d := s.M.Seconds - o.M.Seconds; !SameTime(s.M.Seconds, o.M.Seconds) {
		c.Fail(DwellDiffers, o, 0, d, "")
	}
	if d := math.Hypot(s.M.To.X-o.M.To.X, s.M.To.Y-o.M.To.Y); d > c.Tolerance() {
		c.Fail(OffPath, o, 0, d, "")
	}
	c.CompareBeam(o)
	c.take(offset, offset, c.burns(o), o)
	c.pop()
}

// matchInPlace takes a motion without XY length: one of the original's, or
// one of the focus alone that was added.
func (c *beside) matchInPlace() {
	s := &c.S
	if o := c.inPlaceLike(); o != nil {
		c0 := c.sigma * (s.M.From.Z - c.z)
		c.CompareBeam(o)
		c.compareRise(o)
		c.take(c0, c.sigma*(s.M.To.Z-o.M.To.Z), c.burns(o), o)
		c.pop()
		return
	}
	switch {
	case s.M.Burn || !s.M.Rapid && s.Beam != machine.Off:
		c.Fail(AddedBurn, nil, 0, math.Abs(s.dz()), s.String())
	case s.M.Lost != 0 || s.FindsZ:
		c.Fail(Added, nil, 0, 0, "a travel of Z from or to an unknown place")
	case s.M.Rapid && math.Abs(s.dz()) <= c.Opt.lastDecimal(s.Inches)/2+placeSlackMM:
		// The original says again where it stands, which rounds otherwise in this unit.
	case s.M.Rapid:
		// It may be one of the original's that only seems to have been added.
		if o := c.peek(0); s.Lit() && (c.Opt.Rehearsal || !c.lit && !(o.InPlace() && o.Lit())) {
			c.FailUnlit(nil)
		}
		c.spareRapids++
	default:
		c.spareFeeds++
	}
	c.take(c.sigma*(s.M.From.Z-c.z), c.sigma*(s.M.To.Z-c.z), s.M.Burn, nil)
}

// inPlaceLike gives the move in place of the original that the step under
// way is, or nil. A mark or a burn moves Z as far in both. A travel of Z alone
// may take a change of c with it, or be one that was added: the first where it
// ends as high as the original's, else whichever
// ends clear of the stock, and of two that do, or do not, whichever needs the
// smaller change of c.
func (c *beside) inPlaceLike() *Step {
	if c.begun {
		return nil
	}
	s := &c.S
	like := func(o *Step) bool {
		if !o.InPlace() || o.M.Rapid != s.M.Rapid || o.M.Burn != s.M.Burn && !c.Opt.Rehearsal {
			return false
		}
		if o.FindsZ != s.FindsZ || o.M.Lost != s.M.Lost || o.M.Home != s.M.Home {
			return false
		}
		if o.FindsZ {
			return true // how far it was from there is not known
		}
		change := math.Abs(o.dz() - s.dz())
		if same := change <= max(c.Tolerance(), c.Opt.lastZ(s.Inches)); same || o.M.Burn {
			return same
		}
		if math.Abs(s.M.To.Z-o.M.To.Z) <= max(c.Tolerance(), c.Opt.lastZ(s.Inches)) {
			return true // as high as it was, by whatever way
		}
		same, added := c.clear(s.M.To.Z-o.M.To.Z), c.clear(s.M.To.Z-c.z)
		if same != added {
			return same
		}
		return change <= math.Abs(s.dz()) || !s.M.Rapid // none is added at a feed
	}
	far := func(*Step) bool { return true } // the next step only
	if s.M.Burn {
		far = overXY
	}
	k := c.seek(0, like, far)
	if k < 0 && c.spare(c.peek(0)) != nil {
		// One before it may only have seemed to be added.
		k = c.seek(1, like, far)
	}
	return c.missBefore(k)
}

// clear reports whether a travel may stand where the step under way ends, Z
// being dz over what is programmed, or lifted so far.
func (c *beside) clear(dz float64) bool {
	h, _ := c.Opt.Surface.At(c.S.M.To.X, c.S.M.To.Y)
	up := c.sigma * dz
	if c.lifts.known {
		up = max(up, c.sigma*c.S.M.To.Z-c.lifts.focus)
	}
	return up >= h+c.asks.travels.defocus-c.asks.travels.depth.Near
}

// spared reports whether a travel of Z alone that seems to be missing may be: it
// is less than a step of the resolution, or what rounding makes nothing of, or one of those that seemed to be added
// just before: one that took so great a change of c with it that it looked like
// another.
func (c *beside) spared(o *Step) bool {
	if dz := math.Abs(o.dz()); o.InPlace() && !o.M.Burn && o.M.Lost == 0 && !o.FindsZ && (dz < c.Opt.ZResolution || dz <= c.Opt.lastDecimal(o.Inches)+placeSlackMM) {
		return true
	}
	spare := c.spare(o)
	if spare != nil {
		*spare--
	}
	return spare != nil
}

// spare gives the count of those that o may be one of, or nil.
func (c *beside) spare(o *Step) *int {
	spare := &c.spareFeeds
	if o.M.Rapid {
		spare = &c.spareRapids
	}
	if !o.InPlace() || o.M.Burn || o.M.Lost != 0 || o.FindsZ || *spare == 0 {
		return nil
	}
	return spare
}
