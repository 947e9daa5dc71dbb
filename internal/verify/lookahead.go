package verify

// lookaheadSteps is how far the original is read ahead to find the place again
// after something did not match: about a letter's worth of moves.
const lookaheadSteps = 32

// lookahead holds the next steps of the original.
type lookahead struct {
	ring     [lookaheadSteps]Step
	first, n int
	// err is that of an original that cannot be read on: it seems to end there.
	err error
}

// peek gives the step k steps ahead, 0 the next, k below lookaheadSteps.
func (c *beside) peek(k int) *Step {
	a := &c.ahead
	for a.n <= k {
		o := &a.ring[(a.first+a.n)%lookaheadSteps]
		if a.err == nil {
			a.err = c.orig.Next(o)
		}
		if a.err != nil {
			*o = Step{Kind: AtEnd}
		}
		if c.Opt.Rehearsal && o.InPlace() && o.dz() == 0 && o.M.Lost == 0 && !o.FindsZ {
			// A mark without length is nothing at all with the beam off.
			if o.M.Burn {
				c.Res.Burns++
				if !c.burnAhead() {
					// Where it is the first burn, the focus is set at its Z all the same.
					c.SetFocus(c.sigma * o.M.From.Z)
				}
			}
			continue
		}
		a.n++
	}
	return &a.ring[(a.first+k)%lookaheadSteps]
}

// burnAhead reports whether a step that was looked at and not yet taken burns.
func (c *beside) burnAhead() bool {
	a := &c.ahead
	for k := range a.n {
		if a.ring[(a.first+k)%lookaheadSteps].M.Burn {
			return true
		}
	}
	return false
}

// pop takes the next step of the original as done.
func (c *beside) pop() {
	a := &c.ahead
	s := &a.ring[a.first]
	if s.Kind == Motion || s.Kind == Dwell {
		c.z = s.M.To.Z
	}
	c.beam = s.Beam
	a.first = (a.first + 1) % lookaheadSteps
	a.n--
	c.begun, c.almost, c.covered = false, false, 0
}

// seek finds the first step of the original, from the k-th on, that ok takes,
// and its place; nil where there is none near enough, or a step that stop
// takes comes first.
func (c *beside) seek(k int, ok, stop func(*Step) bool) (*Step, int) {
	for ; k < lookaheadSteps; k++ {
		o := c.peek(k)
		switch {
		case o.Kind == AtEnd:
			return nil, 0
		case ok(o):
			return o, k
		case stop != nil && stop(o):
			return nil, 0
		}
	}
	return nil, 0
}
