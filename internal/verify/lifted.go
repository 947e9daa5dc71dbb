package verify

// What a program lifts on its own over the Z at which the focus is set counts as
// clearance of its travels.

// lifts is from where the lift counts.
type lifts struct {
	// focus is the Z, counted away from the stock, at which the focus is set, once
	// that is known.
	focus float64
	known bool
	// waiting are the travels before, of which there may be more.
	waiting []lifted
}

// lifted is a travel with the corrections at its ends, and the original's step that it
// is, if any.
type lifted struct {
	s      Step
	c0, c1 float64
	o      *Step
}

// wait lets a travel wait until it is known from where its lift counts, and reports
// whether it does.
func (l *lifts) wait(s *Step, c0, c1 float64, o *Step) bool {
	if l.known || len(l.waiting) == waitingMoves {
		return false
	}
	w := lifted{s: *s, c0: c0, c1: c1}
	if o != nil {
		w.o = &Step{Line: o.Line} // the rest will be another's by then
	}
	l.waiting = append(l.waiting, w)
	return true
}
