package zone

import (
	"sagitta/internal/machine"
	"sagitta/internal/program"
	"sagitta/internal/rewrite"
	"sagitta/internal/stream"
)

// enter brings the zone's program to where a burn begins, at fraction s0 of it.
// gap is what stands between it and the burn before.
func (s *splitter) enter(gap []waiting, it *stream.Item, s0 float64, zone int) {
	o, like := s.outs[zone], &it.Block
	moved, asked := s.between(gap)
	switch zref := max(o.sigma()*s.last.st.At.Z, o.sigma()*it.Move.From.Z); {
	case s0 > 0:
	case !s.last.done:
		if s.begin(gap, it, o) {
			s.cur = zone
			o.z.Pieces++
			return
		}
	case s.cur == zone && (!moved || o.need(asked, zref) <= o.c+rounding):
		for i := range gap {
			o.pen.Pass(gap[i].it, rewrite.Target{C: o.c})
		}
		return
	}
	seam := s0 > 0 || s.cur >= 0 && !moved
	if seam && s0 == 0 {
		s.p.JointChanges++
	}
	s.leave(like, seam)
	o.begin()
	if s.last.done {
		for i := range gap {
			s.rest(o, gap[i].it)
		}
	}
	s.approach(o, it, s0, seam)
	s.cur = zone
	o.z.Pieces++
}

// begin comes to the first burn of all: what leads to it is its zone's, and of
// the other zones what of it is no motion. It reports whether the zone's program
// is there, by the original's own motion.
func (s *splitter) begin(gap []waiting, it *stream.Item, o *out) bool {
	_, asked := s.between(gap)
	asked.take(o.enters(true))
	through := !s.opt.Pause && o.lift == 0 && (o.c == 0 || o.risen || s.rises(gap)) &&
		o.need(asked, o.sigma()*it.Move.From.Z) <= o.c+rounding
	for i := range gap {
		for _, other := range s.writing {
			if other == o && through {
				o.transit(gap[i].it)
			} else {
				other.pen.PassRest(gap[i].it)
			}
		}
	}
	if s.opt.Pause {
		s.main.SayModes(&it.Block, &it.Before)
		s.fork()
	}
	if through {
		o.begin()
		o.handLower(&it.Block)
	}
	return through
}

// rises reports whether what leads to the first burn lets Z go to the height of a
// zone, beam off.
func (s *splitter) rises(gap []waiting) bool {
	for i := range gap {
		if it := gap[i].it; moves(it) {
			return it.Before.Beam != machine.On && it.Before.ZKnown && it.Move.Lost == 0
		}
	}
	return false
}

// between looks at what stands between two burns: whether the head moves, and
// what that asks of the correction.
func (s *splitter) between(gap []waiting) (moved bool, asked requirement) {
	asked = nothing()
	for i := range gap {
		if it := gap[i].it; moves(it) {
			moved = true
			asked.take(s.opt.along(it))
		}
	}
	return moved, asked
}

// leave ends the piece that is being written: beam off and, at a seam, the way
// out.
func (s *splitter) leave(like *program.Block, seam bool) {
	if s.cur < 0 {
		return
	}
	o := s.outs[s.cur]
	s.cur = -1
	o.pen.BeamOff(like, false)
	if !seam {
		return
	}
	if x, y, runs := o.runOut(s.last.dx, s.last.dy, like); runs {
		o.pen.FeedTo(like, x, y)
	}
}

// approach travels to where the zone's program is to go on, beam off: to fraction
// s0 of a burn.
func (s *splitter) approach(o *out, it *stream.Item, s0 float64, seam bool) {
	st := it.Before
	if s0 > 0 {
		at := o.pen.Place(it, s0)
		st = it.During
		st.At = machine.Point{X: at[0], Y: at[1], Z: it.Move.From.Z + (it.Move.To.Z-it.Move.From.Z)*s0}
		st.XKnown, st.YKnown, st.ZKnown = true, true, true
	}
	o.pen.Jump(&st)
	like, dx, dy := &it.Block, 0.0, 0.0
	if seam {
		dx, dy = heading(&it.Move, s0)
	}
	x, y, runs := o.runOut(-dx, -dy, like)
	if !runs {
		x, y = st.At.X, st.At.Y
	}
	zref := o.sigma() * st.At.Z
	if o.z.Burns > 0 {
		zref = max(zref, o.sigma()*o.lastZ)
	}
	o.pen.BeamOff(like, false)
	o.way(like, x, y, st.At.Z, o.c, zref)
	if runs {
		o.pen.FeedTo(like, st.At.X, st.At.Y)
	}
}

// transit passes on an item of the preamble or the postamble: c goes to the height
// of its travels before the first of them.
func (o *out) transit(it *stream.Item) {
	plan := rewrite.Target{C: o.c + o.lift}
	o.gone |= it.Move.Lost
	switch {
	case o.risen:
	case !it.Moves() || it.Move.Lost != 0:
		plan.C = 0
	default:
		o.risen = true
		if o.opt.byHand() {
			o.handRaise(o.hand, &it.Block)
		} else if plan.C != 0 && it.Before.ZKnown && !it.ZOnly() {
			plan.Stroke, plan.Before = true, plan.C
		}
	}
	o.pen.Pass(it, plan)
}

// begin comes to the way to the zone's first burn. A lens that was raised by hand
// before stays up until that burn.
func (o *out) begin() {
	if !o.begun {
		o.begun = true
		o.lift, o.hand = 0, 0
	}
}

// count counts a part of a burn, or a run of burns.
func (o *out) count(it *stream.Item, s0, s1 float64) {
	m := &it.Move
	o.lastZ = m.From.Z + (m.To.Z-m.From.Z)*s1
	if it.IsRun() {
		o.z.Burns += it.Burns
		o.z.BurnLength += it.BurnLength
		for a, b := range it.Ends() {
			o.z.Lines.Straight(a.X, a.Y, b.X, b.Y)
		}
		return
	}
	o.z.Burns++
	o.z.BurnLength += m.Length * (s1 - s0)
	switch {
	case m.Length == 0:
		o.z.Lines.Point(m.To.X, m.To.Y)
	case m.Kind == machine.Arc:
		o.z.Lines.Arc(m, s0, s1)
	default:
		// As meant, so that all parts together are as long as the burn.
		a, b := m.XY(s0), m.XY(s1)
		o.z.Lines.Straight(a[0], a[1], b[0], b[1])
	}
}
