package zone

import (
	"math"
	"os"

	"sagitta/internal/machine"
	"sagitta/internal/phrase"
	"sagitta/internal/program"
)

// fork gives each zone a pen of its own, from its stop on, in a program with
// stops.
func (s *splitter) fork() {
	first := s.writing[0]
	first.begin()
	first.begun = false
	s.up, first.up = first.up, 0
	s.opened, first.opened = first.opened, false
	s.start = *s.main.State()
	s.start.At.Z = s.p.FirstZ
	s.writing = s.outs
	for _, o := range s.outs {
		o.raisedBefore = len(o.z.Raised)
		o.stop = machine.Point{X: s.main.Grid(o.z.Point.X), Y: s.main.Grid(o.z.Point.Y), Z: s.p.FirstZ}
		if o.c != 0 {
			o.stop.Z = s.main.ZAsWritten(s.p.FirstZ + o.off())
		}
		o.own(s.main.Fork(o.file, o.stop))
	}
}

// join makes one program of the zones' parts, with a stop before each.
func (s *splitter) join(like *program.Block) error {
	var prev *out
	for _, o := range s.inOrder() {
		if !o.begun {
			continue
		}
		part, raised, n := o.pen, o.z.Raised, o.raisedBefore
		if err := part.Finish(); err != nil {
			return err
		}
		o.z.Program = s.p.pauseName()
		o.z.Raised = raised[:n:n]
		s.stopAt(prev, o, like)
		for _, r := range raised[n:] {
			r.From += s.main.LineCount()
			if r.To > 0 {
				r.To += s.main.LineCount()
			}
			o.z.Raised = append(o.z.Raised, r)
		}
		body, err := os.Open(string(o.file))
		if err != nil {
			return err
		}
		err = s.main.Append(part, body)
		_ = body.Close()
		if err != nil {
			return err
		}
		s.times(o, s.main)
		prev = o
	}
	prev.ends = true
	s.toEnd(prev, false, like)
	return nil
}

// waitFirst waits, once, in a program with stops before anything moves: from there on
// the lens is to be no lower than the first zone's, and its ways are clear.
func (s *splitter) waitFirst(like *program.Block) {
	if !s.opt.Pause || s.opening > 0 {
		return
	}
	first := s.inOrder()[0]
	at := "the focus set at the datum"
	if s.p.FirstZ != 0 {
		at += ", at Z" + phrase.Trimmed(s.p.FirstZ, 3)
	}
	if !s.opt.SetZ {
		own := first.settled()
		height := max(first.z.Focus, first.stands(), math.Ceil((own+first.hand)*1e3-rounding)/1e3)
		at = first.raiseTo(height)
		defer func() { first.standsUp(s.opening, height-own) }()
	}
	s.opening = s.main.Wait(like, "before anything moves: %s on, and %s", first.lens.called(), at)
}

// stopAt goes on from the end of prev's part to o's stop, and waits. For another
// lens it waits before as well, as the way there need not be clear for the one
// that is on.
func (s *splitter) stopAt(prev, o *out, like *program.Block) {
	by := prev
	s.main.Jump(&s.start)
	s.main.BeamOff(like, true)
	if prev == nil {
		s.waitFirst(like)
		by, o.z.Stop = s.inOrder()[0], s.opening
	}
	switch {
	case by.lens != o.lens:
		o.own(s.main)
		o.z.Stop = s.main.Wait(like, "change to %s, and %s", o.lens.called(), o.raiseTo(o.stands()))
		by = o
	case o.set > by.set: // it is not clear there as it still stands
		o.own(s.main)
		o.z.Stop = s.main.Wait(like, "%s", o.raiseTo(o.stands()))
		by = o
	case o.c > by.c:
		by = o
	}
	by.own(s.main)
	zref := s.p.topBurn
	if prev == nil {
		o.up, o.opened = s.up, s.opened
	} else {
		zref = max(s.p.focusZ(), by.sigma()*prev.lastZ, by.sigma()*o.firstZ)
	}
	by.way(like, o.stop.X, o.stop.Y, s.p.FirstZ, by.c, zref)
	o.own(s.main)
	o.toZ(like, o.stop.Z)
	o.z.FocusStop = s.main.Wait(like, "zone %d: %s, %s", o.z.Order, o.lens.called(), s.opt.setHere(o.z, o.lens))
	if n := len(o.z.Raised); n > 0 && o.z.Raised[n-1].To == 0 { // since the opening
		o.z.Raised[n-1].To = o.z.FocusStop
	}
	if o.z.Stop == 0 {
		o.z.Stop = o.z.FocusStop
	}
}
