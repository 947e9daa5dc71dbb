package verify

import (
	"fmt"
	"math"
)

const (
	// samePlaceMM is how near the ends of two moves are that are the same.
	samePlaceMM = placeSlackMM
	// changedMM is how far a move may be off its original and still count as
	// a changed one, rather than as one added and another missing: about
	// the width of a mark.
	changedMM = 0.5
)

// walk walks the checked program and the original together.
func (c *beside) walk() error {
	c.z = c.orig.State().At.Z
	for {
		if err := c.Next(); err != nil {
			return err
		}
		s := &c.S
		if c.almost && !overXY(s) {
			// The end was reached but for less than a last decimal.
			c.pop()
		}
		switch {
		case s.Kind == AtEnd:
			for c.peek(0).Kind != AtEnd {
				c.miss()
			}
			return c.err
		case s.Kind == Word:
			c.matchWord()
		case s.Kind == Dwell:
			c.matchDwell()
		case s.InPlace():
			c.matchInPlace()
		default:
			c.matchMove()
		}
		if c.err != nil {
			return c.err
		}
		if !s.InPlace() {
			c.spareRapids, c.spareFeeds = 0, 0
		}
	}
}

func overXY(o *Step) bool { return o.Kind == Motion && o.OverXY }

// missBefore reports the next k steps of the original as missing, and gives the one
// after them; nil where k is below 0.
func (c *beside) missBefore(k int) *Step {
	if k < 0 {
		return nil
	}
	for range k {
		c.miss()
	}
	return c.peek(0)
}

// miss reports the next step of the original as missing, and takes it.
func (c *beside) miss() {
	o := c.peek(0)
	if c.spared(o) {
		c.pop()
		return
	}
	at := o.M.XY(c.covered)
	f := Violation{Kind: Missing, Line: c.S.Line, OriginalLine: o.Line, X: at[0], Y: at[1], Amount: math.Abs(o.size()), Detail: o.String()}
	switch {
	case o.Kind == Word:
		f.X, f.Y, f.Amount = math.NaN(), math.NaN(), math.NaN()
	case c.begun:
		f.Amount = (1 - c.covered) * o.M.Length
		f.Detail = fmt.Sprintf("the last %s mm of a move", Number(f.Amount))
	}
	f.Detail = "the original has " + f.Detail
	c.Res.Fail(f)
	c.pop()
}

// burns reports whether the step under way, which belongs to o, counts as a
// burn.
func (c *beside) burns(o *Step) bool {
	if c.Opt.Rehearsal {
		return o.M.Burn
	}
	return c.S.M.Burn
}

// matchMove takes a motion over XY: all or a part of one of the original's.
func (c *beside) matchMove() {
	s := &c.S
	if c.almost && !c.goesOn(c.peek(0)) {
		c.pop()
	}
	o, k := c.nextMove()
	if o == nil {
		c.add()
		return
	}
	tol := c.Tolerance()
	p := MatchOf(&s.M, &o.M, c.covered)
	switch {
	case p.Off > tol:
		c.offPath(k, p)
	case s.M.Rapid != o.M.Rapid && (k > 0 || !p.Ends(o, tol)):
		// It only happens to lie on the path of what comes later.
		c.add()
	default:
		c.accept(c.missBefore(k), p, tol)
	}
}

// nextMove gives the original's next motion over XY and how many steps come
// before it, or nil at its end. More steps than can be looked over are
// missing: none of them was met.
func (c *beside) nextMove() (*Step, int) {
	for {
		if k := c.seek(0, overXY, nil); k >= 0 {
			return c.peek(k), k
		}
		if c.peek(lookaheadSteps-1).Kind == AtEnd {
			return nil, 0
		}
		c.missBefore(lookaheadSteps)
	}
}

// offPath takes a motion over XY that leaves the original's next one, the k-th
// step from here: it may be a later one, a changed one, or added.
func (c *beside) offPath(k int, p Match) {
	s, tol := &c.S, c.Tolerance()
	fits := func(o *Step) bool {
		return overXY(o) && MatchOf(&s.M, &o.M, 0).Off <= tol
	}
	ends := func(o *Step) bool {
		return overXY(o) && math.Hypot(s.M.To.X-o.M.To.X, s.M.To.Y-o.M.To.Y) <= tol
	}
	later := c.seek(k+1, fits, nil)
	if later < 0 && p.Off <= changedMM {
		o := c.missBefore(k)
		c.Fail(OffPath, o, 1, p.Off, "")
		c.accept(o, p, p.Off)
		return
	}
	if later < 0 {
		later = c.seek(k+1, ends, nil)
	}
	o := c.missBefore(later)
	if o == nil {
		c.add()
		return
	}
	c.accept(o, MatchOf(&s.M, &o.M, 0), tol)
}

// goesOn reports whether the step under way is the last bit of a move of the
// original that was almost done, rather than the next one.
func (c *beside) goesOn(o *Step) bool {
	p := MatchOf(&c.S.M, &o.M, c.covered)
	tol := c.Tolerance()
	return p.short <= samePlaceMM && p.Off <= tol && c.S.M.Length <= 2*tol
}

// add reports a step that the original lacks.
func (c *beside) add() {
	kind := Added
	if c.S.M.Burn {
		kind = AddedBurn
	}
	c.Fail(kind, nil, 0, math.Abs(c.S.size()), c.S.String())
	c.take(c.sigma*(c.S.M.From.Z-c.z), c.sigma*(c.S.M.To.Z-c.z), c.S.M.Burn, nil)
}

// accept takes the step under way as the match p of the original's next move.
func (c *beside) accept(o *Step, p Match, tol float64) {
	s := &c.S
	c.CompareMove(o)
	z := o.M.From.Z + (o.M.To.Z-o.M.From.Z)*p.To
	done := p.Ends(o, tol)
	exact := done && (p.short <= samePlaceMM || tol > c.Tolerance())
	if done {
		z = o.M.To.Z
	}
	c0 := c.sigma * (s.M.From.Z - c.z)
	c.take(c0, c.sigma*(s.M.To.Z-z), c.burns(o), o)
	if exact {
		c.pop()
		return
	}
	c.z, c.begun, c.almost, c.covered = z, true, done, p.To
}
