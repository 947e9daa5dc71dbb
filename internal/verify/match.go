package verify

import (
	"fmt"
	"math"
)

const (
	// samePlaceMM is how near the ends of two moves are that are the same.
	samePlaceMM = placeSlackMM
	// astrayMM is how far a move may be off its original and still count as
	// a changed one, rather than as one added and another missing: about
	// the width of a mark.
	astrayMM = 0.5
)

// beside walks the checked program and the original together.
func (c *check) beside() error {
	c.z = c.orig.ip.State().At.Z
	for {
		if err := c.checked.next(&c.s); err != nil {
			return err
		}
		var err error
		switch s := &c.s; {
		case s.kind == atEnd:
			return c.rest()
		case s.kind == word:
			err = c.matchWord()
		case s.kind == dwell:
			err = c.matchDwell()
		case s.standing():
			err = c.matchStanding()
		default:
			err = c.matchMove()
		}
		if err != nil {
			return err
		}
		if !c.s.standing() {
			c.spareRapids, c.spareFeeds = 0, 0
		}
	}
}

func overXY(o *step) bool { return o.kind == motion && o.overXY }

// settle ends a move of the original that was reached to its end but for less
// than a last decimal.
func (c *check) settle() {
	if c.almost {
		c.pop()
	}
}

// rest reports what of the original was never met.
func (c *check) rest() error {
	c.settle()
	for {
		o, err := c.peek(0)
		if err != nil {
			return err
		}
		if o.kind == atEnd {
			return nil
		}
		c.miss(o)
	}
}

// missBefore reports the next k steps of the original as missing.
func (c *check) missBefore(k int) error {
	for ; k > 0; k-- {
		o, err := c.peek(0)
		if err != nil {
			return err
		}
		c.miss(o)
	}
	return nil
}

// miss reports the next step of the original as missing, and takes it.
func (c *check) miss(o *step) {
	if c.spared(o) {
		c.pop()
		return
	}
	at := o.m.XY(c.covered)
	f := Failure{Kind: Missing, Line: c.s.line, OriginalLine: o.line, X: at[0], Y: at[1]}
	switch {
	case o.kind == word:
		f.X, f.Y, f.Amount = math.NaN(), math.NaN(), math.NaN()
		f.Detail = wordName(o)
	case o.kind == dwell:
		f.Amount = o.m.Seconds
		f.Detail = fmt.Sprintf("a dwell of %s s", number(f.Amount))
	case o.standing():
		f.Amount = math.Abs(o.dz())
		f.Detail = fmt.Sprintf("a move of Z by %s mm", number(f.Amount))
		if o.dz() == 0 {
			f.Detail = "a mark without length"
		}
	case c.begun:
		f.Amount = (1 - c.covered) * o.m.Length
		f.Detail = fmt.Sprintf("the last %s mm of a move", number(f.Amount))
	default:
		f.Amount = o.m.Length
		f.Detail = fmt.Sprintf("a %s of %s mm", o.name(), number(f.Amount))
	}
	f.Detail = "the original has " + f.Detail
	c.res.fail(f)
	c.pop()
}

// name says what a motion is.
func (s *step) name() string {
	if s.m.Burn {
		return "burn"
	}
	return "travel"
}

func wordName(s *step) string { return fmt.Sprintf("M%d", s.word) }

// tolerance is how far the path may be off at the step under way: one last
// decimal.
func (c *check) tolerance() float64 {
	t := c.opt.lastDecimal(c.s.inches) + placeSlackMM
	if c.twice {
		t += c.opt.lastDecimal(c.s.inches)
	}
	return t
}

// burns tells whether the step under way, which belongs to o, counts as a
// burn.
func (c *check) burns(o *step) bool {
	if c.opt.Rehearsal {
		return o.m.Burn
	}
	return c.s.m.Burn
}

// matchMove takes a motion over XY: all or a part of one of the original's.
func (c *check) matchMove() error {
	s := &c.s
	if c.almost {
		if o, err := c.peek(0); err != nil {
			return err
		} else if !c.goesOn(o) {
			c.settle()
		}
	}
	o, k, err := c.nextMove()
	if err != nil {
		return err
	}
	if o == nil {
		c.add()
		return nil
	}
	tol := c.tolerance()
	p := pieceOf(&s.m, &o.m, c.covered)
	if p.off > tol {
		return c.astray(o, k, p)
	}
	if s.m.Rapid != o.m.Rapid && (k > 0 || !p.ends(o, tol)) {
		// It only happens to lie on the path of what comes later.
		c.add()
		return nil
	}
	if err := c.missBefore(k); err != nil {
		return err
	}
	c.take(o, p, tol)
	return nil
}

// nextMove gives the original's next motion over XY and how many steps come
// before it, or nil at its end. More steps than can be looked over are
// missing: none of them was met.
func (c *check) nextMove() (*step, int, error) {
	for {
		o, k, err := c.seek(0, overXY, nil)
		if o != nil || err != nil {
			return o, k, err
		}
		last, err := c.peek(lookaheadSteps - 1)
		if err != nil || last.kind == atEnd {
			return nil, 0, err
		}
		if err := c.missBefore(lookaheadSteps); err != nil {
			return nil, 0, err
		}
	}
}

// astray takes a motion over XY that leaves the original's next one, o, the
// k-th step from here: it may be a later one, a changed one, or added.
func (c *check) astray(o *step, k int, p piece) error {
	s, tol := &c.s, c.tolerance()
	fits := func(o *step) bool {
		return overXY(o) && pieceOf(&s.m, &o.m, 0).off <= tol
	}
	ends := func(o *step) bool {
		return overXY(o) && math.Hypot(s.m.To.X-o.m.To.X, s.m.To.Y-o.m.To.Y) <= tol
	}
	later, far, err := c.seek(k+1, fits, nil)
	if err != nil {
		return err
	}
	if later == nil && p.off <= astrayMM {
		if err := c.missBefore(k); err != nil {
			return err
		}
		c.res.fail(c.failure(OffPath, o, 1, p.off))
		c.take(o, p, p.off)
		return nil
	}
	if later == nil {
		later, far, err = c.seek(k+1, ends, nil)
		if err != nil {
			return err
		}
	}
	if later == nil {
		c.add()
		return nil
	}
	if err := c.missBefore(far); err != nil {
		return err
	}
	c.take(later, pieceOf(&s.m, &later.m, 0), tol)
	return nil
}

// goesOn tells whether the step under way is the last bit of a move of the
// original that was almost done, rather than the next one.
func (c *check) goesOn(o *step) bool {
	p := pieceOf(&c.s.m, &o.m, c.covered)
	tol := c.tolerance()
	return p.short <= samePlaceMM && p.off <= tol && c.s.m.Length <= 2*tol
}

// add reports a motion over XY that the original lacks.
func (c *check) add() {
	s := &c.s
	f := c.failure(Added, nil, 0, s.m.Length)
	if s.m.Burn {
		f.Kind = AddedBurn
	}
	f.Detail = fmt.Sprintf("a %s of %s mm", s.name(), number(s.m.Length))
	c.res.fail(f)
	c.judge(c.sigma*(s.m.From.Z-c.z), c.sigma*(s.m.To.Z-c.z), s.m.Burn, nil)
}

// take takes the step under way as the piece p of the original's next move.
func (c *check) take(o *step, p piece, tol float64) {
	s := &c.s
	if s.m.Rapid != o.m.Rapid {
		c.res.fail(c.failure(Mode, o, 0, math.NaN()))
	}
	c.compareBeam(o)
	c.compareSpeed(o)
	z := o.m.From.Z + (o.m.To.Z-o.m.From.Z)*p.to
	done := p.ends(o, tol)
	exact := done && (p.short <= samePlaceMM || tol > c.tolerance())
	if done {
		z = o.m.To.Z
	}
	c0 := c.sigma * (s.m.From.Z - c.z)
	c.judge(c0, c.sigma*(s.m.To.Z-z), c.burns(o), o)
	if exact {
		c.pop()
		return
	}
	c.z, c.begun, c.almost, c.covered = z, true, done, p.to
}
