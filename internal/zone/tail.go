package zone

import (
	"bytes"
	"math"

	"sagitta/internal/clearance"
	"sagitta/internal/machine"
	"sagitta/internal/program"
	"sagitta/internal/rewrite"
	"sagitta/internal/stream"
)

// ending is what the original's blocks behind its last burn do, as far as it
// matters where the head comes from.
type ending struct {
	// asked is what their travels ask for but for the first over XY, which goes
	// to first and asks less what it lifts Z to, firstZ counted away from the
	// stock.
	asked  requirement
	first  *machine.Point
	firstZ float64
	// standing tells that Z moves alone before that, to standZ at the lowest, counted away
	// from the stock.
	standing bool
	standZ   float64
	// goes tells that the first motion over XY is to a place of its own,
	// wherever it starts from; stands that an axis offset is set, which depends
	// on where the head is.
	goes, stands bool
	// end is the line that ends the program, where nothing moves behind it.
	end int
}

// leadsOut reports whether an item right behind the last burn is a part of how the head
// runs out of it, at feed and without power: only the program that burns it does so.
func leadsOut(it *stream.Item) bool {
	return it.Moves() && it.Known() && !it.Actions.Ends && !it.Move.Rapid && !it.Move.FromUnknown && it.Move.Length > 0 && it.During.Beam == machine.Off
}

// take takes an item behind the last burn.
func (e *ending) take(o *Options, it *stream.Item) {
	e.stands = e.stands || it.Actions.Codes[machine.NonModal] == 920
	switch {
	case it.Actions.Ends:
		e.end = it.Block.Line
	case moves(it):
		e.end = 0
	}
	if !it.Moves() {
		return
	}
	m, a := &it.Move, it.Actions
	if a.Ends && !o.byHand() { // it goes there at rapid rate first (see endWith)
		e.asked.take(o.travel(m.From, it.Known() && !m.FromUnknown, m.To.X, m.To.Y).less(clearance.Programmed(m, o.Sigma(), 0, 1)))
	}
	if it.IsRun() {
		var line stream.Item
		it.LineItem(0, &line)
		a = line.Actions
	}
	if says := a.X != 0 || a.Y != 0; e.first == nil && (m.Length > 0 || says) {
		// A motion to where the original stands already is one in other zones, and an arc
		// goes another way from another place.
		e.goes = m.Kind == machine.Line && a.X != 0 && a.Y != 0 && !it.During.Relative && m.Lost == 0 && it.During.OffsetUnknown == 0
		e.first, e.firstZ = &machine.Point{X: m.To.X, Y: m.To.Y}, min(o.Sigma()*m.From.Z, o.Sigma()*m.To.Z)
		if it.Count() == 1 {
			return
		}
	}
	if z := o.Sigma() * m.To.Z; e.first == nil && m.Length == 0 && m.Lost == 0 && it.Known() { // wherever the zone's program stands
		if !e.standing || z < e.standZ {
			e.standing, e.standZ = true, z
		}
		return
	}
	e.asked.take(o.along(it))
}

// tail passes an item behind the last burn on to the programs that end with it.
func (s *splitter) tail(it *stream.Item) {
	s.beginTail(&it.Block)
	if !s.elsewhere && leadsOut(it) {
		s.end = it.After
	} else {
		s.beginElsewhere(&it.Block)
	}
	for _, o := range s.outs {
		if o.ends {
			o.endWith(it)
		}
	}
}

// beginTail brings the program that burns what the original burns last to its end.
func (s *splitter) beginTail(like *program.Block) {
	if s.tailed {
		return
	}
	s.tailed = true
	if s.opt.Pause {
		s.leave(like, noRun)
	} else if s.cur >= 0 {
		o := s.outs[s.cur]
		o.ends = true
		s.toEnd(o, true, like)
	}
	s.cur = -1
}

// beginElsewhere brings the other programs to where the original stands behind its
// last burn and what leads out of it.
func (s *splitter) beginElsewhere(like *program.Block) {
	if s.elsewhere {
		return
	}
	s.elsewhere = true
	if s.opt.Pause {
		if err := s.join(like); err != nil {
			s.fault = err
		}
		return
	}
	for _, o := range s.outs {
		if o.begun && !o.ends { // dropEmpty drops those that have not begun
			o.ends = true
			s.toEnd(o, false, like)
		}
	}
}

// endAll ends the programs of the other zones as the burn does that is written
// last, and ends the original.
func (s *splitter) endAll(it *stream.Item) {
	with := s.outs[s.cur]
	s.beginTail(&it.Block)
	s.beginElsewhere(&it.Block)
	for _, o := range s.outs {
		if o.ends && o != with {
			o.pen.BeamOff(&it.Block, true)
			o.pen.PassEnd(it)
		}
	}
}

// toEnd brings a zone's program to where the original stands behind its last burn;
// here tells that it is there.
func (s *splitter) toEnd(o *out, here bool, like *program.Block) {
	e, st, sigma := &s.p.elsewhere, s.end, o.sigma()
	if here {
		e = &s.p.ending
	}
	from, known := o.pen.At()
	if !here { // the original's way is another, and what it does with the beam on stays there
		o.pen.StayDark(like)
	}
	// Where the tail does not say where it goes, it begins where the original
	// leaves off.
	goes := here || e.goes && !e.stands
	if !goes {
		from.X, from.Y, known = st.At.X, st.At.Y, true
	}
	asked := e.asked
	if e.standing {
		asked.take(s.opt.travel(from, known, from.X, from.Y).less(e.standZ))
	}
	if !here { // the original may leave off lower
		asked.take(s.opt.travel(from, known, from.X, from.Y).less(sigma * st.At.Z))
	}
	if e.first != nil {
		asked.take(s.opt.travel(from, known, e.first.X, e.first.Y).less(e.firstZ))
	}
	zref := sigma * o.lastZ
	if lift := o.need(asked, zref) - o.c; lift > rounding {
		o.setLift(lift)
	}
	o.risen = false
	c := o.c + o.lift
	switch {
	case here && o.lift > 0:
		o.pen.BeamOff(like, true)
		o.pen.MoveZ(like, st.At.Z+sigma*c)
	case here:
	case goes:
		o.pen.Jump(&st)
		if up := sigma * (o.pen.Z() - st.At.Z); s.opt.byHand() && up > rounding {
			o.lift = up // the original leaves off lower: nothing here does
		} else {
			o.pen.MoveZ(like, st.At.Z+sigma*c)
		}
	default:
		o.pen.Jump(&st)
		o.way(like, st.At.X, st.At.Y, st.At.Z, c, max(zref, sigma*st.At.Z))
	}
	o.handRaise(o.hand, like)
}

// setLift lifts what comes by so much at least, or waits for it to be done.
func (o *out) setLift(by float64) {
	if o.opt.byHand() {
		o.hand = max(o.hand, by)
		return
	}
	step := max(o.opt.Step(false), o.opt.Step(true))
	by = math.Ceil(by/step-1e-7) * step
	o.lift = max(o.lift, by)
	o.z.Lift = max(o.z.Lift, by)
}

// endWith passes on an item behind the last burn. Before the block that ends the
// program the beam is put off, and Z goes back to the programmed one, where that is
// clear.
func (o *out) endWith(it *stream.Item) {
	a := &it.Actions
	if o.offAlready(it) {
		o.pen.Jump(&it.After)
		return
	}
	if tape := string(bytes.TrimSpace(it.Block.Body())) == "%"; tape && !o.pen.Stopped() || a.Ends && a.Beam == 0 {
		o.pen.BeamOff(&it.Block, true)
	}
	if len(o.p.Zones) > 1 && relights(it) { // it would fire where it stands, or on a travel
		o.pen.StayDark(&it.Block)
	}
	if o.opt.byHand() && it.Actions.Z != 0 && !it.During.Relative {
		o.lift = 0 // the program's own Z stays as it is
	}
	if !o.opt.byHand() && moves(it) && !it.During.Relative && o.c != 0 {
		switch up := o.safe(it, o.sigma()*o.lastZ); {
		case up && it.ZOnly() && o.lift == 0 && o.left(it, -o.c) > leastLift:
			o.lift, o.aloft = -o.c, true
		case !up && o.aloft:
			o.lift, o.aloft = 0, false
		}
	}
	plan := rewrite.Target{C: o.c + o.lift}
	if it.Block.Line == o.p.ending.end && plan.C != 0 && !o.opt.byHand() {
		if m := &it.Move; it.Moves() && !it.During.Relative && m.Lost == 0 && it.Known() {
			// It goes first, and down there: behind it the program is over.
			o.pen.BeamOff(&it.Block, true)
			o.pen.MoveTo(&it.Block, m.To.X, m.To.Y)
		}
		if at, known := o.pen.At(); known && (!it.Moves() || at.X == it.Move.To.X && at.Y == it.Move.To.Y) && o.restIsClear() {
			o.pen.BeamOff(&it.Block, true)
			plan.Stroke, plan.Before, plan.C = true, 0, 0
			o.lift = -o.c
		}
	}
	o.pen.Pass(it, plan)
}

// offAlready reports whether an item does nothing but to put the beam off by the word by
// which the program has put it off already.
func (o *out) offAlready(it *stream.Item) bool {
	w := it.Actions.Beam.In(&it.Block)
	if w == nil || it.Actions.BeamOn || len(o.p.Zones) < 2 || it.Block.Comment >= 0 {
		return false
	}
	for i := range it.Block.Words {
		if v := &it.Block.Words[i]; v != w && v.Letter != 'N' {
			return false
		}
	}
	n, _ := w.Num.At(0)
	return o.pen.Has().BeamWord == int(n.Mant)
}

// relights reports whether an item behind the last burn says that the beam may fire.
func relights(it *stream.Item) bool {
	a := &it.Actions
	return a.Beam != 0 && a.BeamOn || a.Power != 0 && it.During.Beam == machine.On
}

// restIsClear reports whether the zone's program may go down to the programmed Z
// where it stands.
func (o *out) restIsClear() bool {
	at, known := o.pen.At()
	st := o.pen.State()
	if !known || !st.ZKnown || o.opt.byHand() {
		return false
	}
	return o.need(o.opt.travel(at, true, at.X, at.Y), o.sigma()*o.lastZ) <= o.sigma()*st.At.Z+rounding
}

// finish decides and writes what waits, and ends the programs.
func (s *splitter) finish() error {
	s.settle()
	if len(s.queue) > 0 {
		s.dropGap()
	}
	s.beginTail(nil)
	s.beginElsewhere(nil)
	for _, o := range s.outs {
		if !o.ends {
			continue
		}
		if !o.pen.Stopped() {
			o.pen.BeamOff(nil, true)
			if o.c+o.lift != 0 && o.restIsClear() {
				o.pen.EndZ(0)
			}
		}
		if err := o.pen.Finish(); err != nil {
			return err
		}
		s.times(o, o.pen)
	}
	return s.err()
}
