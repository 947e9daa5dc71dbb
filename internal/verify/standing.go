package verify

import (
	"fmt"
	"math"
	"slices"

	"sagitta/internal/machine"
)

// matchWord finds the M word in the original.
func (c *check) matchWord() error {
	c.settle()
	s := &c.s
	if !c.begun {
		same := func(o *step) bool {
			return o.kind == word && o.word == s.word && o.optional == s.optional
		}
		o, k, err := c.seek(0, same, overXY)
		if err != nil {
			return err
		}
		if o != nil {
			if err := c.missBefore(k); err != nil {
				return err
			}
			if s.lit() && (c.opt.Rehearsal || !o.lit()) {
				c.res.fail(c.litFailure(o))
			}
			c.pop()
			return nil
		}
	}
	o, err := c.peek(0)
	if err != nil {
		return err
	}
	if c.beam == machine.On && slices.Contains(c.opt.Machine.BeamOff, int(s.word)) && (o.kind == atEnd || o.ends()) {
		return nil // the original ends with the beam on, which need not be kept
	}
	c.res.fail(Failure{Kind: WordDiffers, Line: s.line, OriginalLine: o.line, X: math.NaN(), Y: math.NaN(), Amount: math.NaN(),
		Detail: wordName(s) + " is not in the original here"})
	return nil
}

// matchDwell finds the dwell in the original.
func (c *check) matchDwell() error {
	c.settle()
	s := &c.s
	offset := c.sigma * (s.m.To.Z - c.z)
	if !c.begun {
		o, k, err := c.seek(0, func(o *step) bool { return o.kind == dwell }, overXY)
		if err != nil {
			return err
		}
		if o != nil {
			if err := c.missBefore(k); err != nil {
				return err
			}
			offset = c.sigma * (s.m.To.Z - c.z)
			if d := s.m.Seconds - o.m.Seconds; math.Abs(d) > roundingPart*(1+o.m.Seconds) {
				c.res.fail(c.failure(DwellDiffers, o, 0, d))
			}
			if d := math.Hypot(s.m.To.X-o.m.To.X, s.m.To.Y-o.m.To.Y); d > c.tolerance() {
				c.res.fail(c.failure(OffPath, o, 0, d))
			}
			c.compareBeam(o)
			c.judge(offset, offset, c.burns(o), o)
			c.pop()
			return nil
		}
	}
	f := c.failure(Added, nil, 0, s.m.Seconds)
	f.Detail = fmt.Sprintf("a dwell of %s s", number(s.m.Seconds))
	if s.m.Burn {
		f.Kind = AddedBurn
	}
	c.res.fail(f)
	c.judge(offset, offset, s.m.Burn, nil)
	return nil
}

// matchStanding takes a motion without XY length: one of the original's, or
// one of the focus alone that was added.
func (c *check) matchStanding() error {
	c.settle()
	s := &c.s
	o, err := c.standingLike()
	if err != nil {
		return err
	}
	if o != nil {
		c0 := c.sigma * (s.m.From.Z - c.z)
		c.compareBeam(o)
		c.compareRise(o)
		c.judge(c0, c.sigma*(s.m.To.Z-o.m.To.Z), c.burns(o), o)
		c.pop()
		return nil
	}
	if s.m.Burn || !s.m.Rapid && s.beam != beamOff {
		f := c.failure(AddedBurn, nil, 0, math.Abs(s.dz()))
		f.Detail = fmt.Sprintf("a move of Z by %s mm", number(s.dz()))
		if s.dz() == 0 {
			f.Detail = "a mark without length"
		}
		c.res.fail(f)
	} else if s.m.Lost != 0 || s.findsZ {
		f := c.failure(Added, nil, 0, 0)
		f.Detail = "a travel of Z from or to an unknown place"
		c.res.fail(f)
	} else if s.m.Rapid {
		if next, err := c.peek(0); err != nil {
			return err
		} else if s.lit() && (c.opt.Rehearsal || c.beam != machine.On && next.beam != machine.On) {
			c.res.fail(c.litFailure(nil))
		}
		c.spareRapids++
	} else {
		c.spareFeeds++
	}
	c.judge(c.sigma*(s.m.From.Z-c.z), c.sigma*(s.m.To.Z-c.z), s.m.Burn, nil)
	return nil
}

// standingLike gives the standing move of the original that the step under
// way is, or nil. A mark or a burn moves Z as far in both. A travel of Z alone
// may take a change of c with it, or be one that was added: it is whichever
// ends clear of the stock, and of two that do, or do not, whichever needs the
// smaller change of c.
func (c *check) standingLike() (*step, error) {
	if c.begun {
		return nil, nil
	}
	s := &c.s
	like := func(o *step) bool {
		if !o.standing() || o.m.Rapid != s.m.Rapid || o.m.Burn != s.m.Burn && !c.opt.Rehearsal {
			return false
		}
		if o.findsZ != s.findsZ || o.m.Lost != s.m.Lost || o.m.Away != s.m.Away {
			return false
		}
		if o.findsZ {
			return true // how far it was from there is not known
		}
		change := math.Abs(o.dz() - s.dz())
		if change <= c.tolerance() || o.m.Burn {
			return change <= c.tolerance()
		}
		same, added := c.clear(s.m.To.Z-o.m.To.Z), c.clear(s.m.To.Z-c.z)
		if same != added {
			return same
		}
		return change < math.Abs(s.dz())
	}
	far := func(*step) bool { return true } // the next step only
	if s.m.Burn {
		far = overXY
	}
	o, k, err := c.seek(0, like, far)
	if o == nil && err == nil {
		// One before it may only have seemed to be added.
		var p *step
		if p, err = c.peek(0); err == nil && c.spare(p) != nil {
			o, k, err = c.seek(1, like, far)
		}
	}
	if o == nil || err != nil {
		return nil, err
	}
	return o, c.missBefore(k)
}

// clear tells whether a travel may stand where the step under way ends, Z
// being dz over what is programmed.
func (c *check) clear(dz float64) bool {
	h, _ := c.opt.Surface.At(c.s.m.To.X, c.s.m.To.Y)
	return c.sigma*dz >= h+c.opt.DefocusMM-c.opt.Depth.Near
}

// spared tells whether a travel of Z alone that seems to be missing is one of
// those that seemed to be added just before: one that took so great a change
// of c with it that it looked like another.
func (c *check) spared(o *step) bool {
	spare := c.spare(o)
	if spare != nil {
		*spare--
	}
	return spare != nil
}

// spare gives the count of those that o may be one of, or nil.
func (c *check) spare(o *step) *int {
	spare := &c.spareFeeds
	if o.m.Rapid {
		spare = &c.spareRapids
	}
	if !o.standing() || o.m.Burn || o.m.Lost != 0 || o.findsZ || *spare == 0 {
		return nil
	}
	return spare
}
