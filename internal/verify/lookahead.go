package verify

import "slices"

// lookaheadSteps is how far the original is read ahead to find the place again
// after something did not match: about a letter's worth of moves.
const lookaheadSteps = 32

// peek gives the step of the original k steps ahead, 0 the next, k below
// lookaheadSteps. It is good until the next pop.
func (c *beside) peek(k int) *Step {
	for len(c.ahead) <= k {
		n := len(c.ahead)
		c.ahead = append(c.ahead, Step{})
		o := &c.ahead[n]
		if c.err == nil {
			c.err = c.orig.Next(o)
		}
		if c.err != nil {
			*o = Step{Kind: AtEnd}
		}
		if c.Opt.Rehearsal && o.InPlace() && o.dz() == 0 && o.M.Lost == 0 && !o.FindsZ {
			// A mark without length is nothing at all with the beam off.
			if o.M.Burn {
				c.Res.Burns++
				if !slices.ContainsFunc(c.ahead[:n], func(s Step) bool { return s.M.Burn }) {
					// Where it is the first burn, the focus is set at its Z all the same.
					c.SetFocus(c.sigma * o.M.From.Z)
				}
			}
			c.ahead = c.ahead[:n]
		}
	}
	return &c.ahead[k]
}

// pop takes the next step of the original as done.
func (c *beside) pop() {
	s := c.peek(0)
	if s.Kind == Motion || s.Kind == Dwell {
		c.z = s.M.To.Z
		c.clock.Take(s)
	}
	c.beam, c.lit = s.Beam, s.InPlace() && s.Lit()
	c.ahead = append(c.ahead[:0], c.ahead[1:]...)
	c.begun, c.almost, c.covered = false, false, 0
}

// seek finds the first step of the original, from the k-th on, that ok takes,
// and its place; below 0 where there is none near enough, or a step that stop
// takes comes first.
func (c *beside) seek(k int, ok, stop func(*Step) bool) int {
	for ; k < lookaheadSteps; k++ {
		o := c.peek(k)
		switch {
		case o.Kind == AtEnd:
			return -1
		case ok(o):
			return k
		case stop != nil && stop(o):
			return -1
		}
	}
	return -1
}
