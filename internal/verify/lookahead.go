package verify

// lookaheadSteps is how far the original is read ahead to find the place again
// after something did not match: about a letter's worth of moves.
const lookaheadSteps = 32

// lookahead holds the next steps of the original.
type lookahead struct {
	ring     [lookaheadSteps]step
	first, n int
}

// peek gives the step k steps ahead, 0 the next. It gives nil where that is
// further than can be looked.
func (c *check) peek(k int) (*step, error) {
	a := &c.ahead
	if k >= lookaheadSteps {
		return nil, nil
	}
	for a.n <= k {
		o := &a.ring[(a.first+a.n)%lookaheadSteps]
		if err := c.orig.next(o); err != nil {
			return nil, err
		}
		if c.opt.Rehearsal && o.standing() && o.dz() == 0 && o.m.Lost == 0 && !o.findsZ {
			// A mark without length is nothing at all with the beam off.
			if o.m.Burn {
				c.res.Burns++
				// The focus is set at its Z all the same, where it is the first burn.
				if h := &c.head; h.over != nil && !h.known && !c.burnAhead() {
					c.setFocus(o)
				}
			}
			continue
		}
		a.n++
	}
	return &a.ring[(a.first+k)%lookaheadSteps], nil
}

// burnAhead reports whether a step that was looked at and not yet taken burns.
func (c *check) burnAhead() bool {
	a := &c.ahead
	for k := range a.n {
		if a.ring[(a.first+k)%lookaheadSteps].m.Burn {
			return true
		}
	}
	return false
}

// pop takes the next step of the original as done.
func (c *check) pop() {
	a := &c.ahead
	s := &a.ring[a.first]
	if s.kind == motion || s.kind == dwell {
		c.z = s.m.To.Z
	}
	c.beam = s.beam
	a.first = (a.first + 1) % lookaheadSteps
	a.n--
	c.begun, c.almost, c.covered = false, false, 0
}

// seek finds the first step of the original, from the k-th on, that ok takes,
// and its place; nil where there is none near enough, or a step that stop
// takes comes first.
func (c *check) seek(k int, ok, stop func(*step) bool) (*step, int, error) {
	for ; k < lookaheadSteps; k++ {
		o, err := c.peek(k)
		if err != nil || o == nil || o.kind == atEnd {
			return nil, 0, err
		}
		if ok(o) {
			return o, k, nil
		}
		if stop != nil && stop(o) {
			return nil, 0, nil
		}
	}
	return nil, 0, nil
}
