package zone

import (
	"fmt"
	"math"
	"strconv"

	"sagitta/internal/clearance"
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
	out, in := s.runs.over, s.runs.over
	if s0 == 0 && (moved || s.cur < 0) {
		out, in = s.runs.between(gap, s.last.way, it.Heading(false))
	}
	switch zref := max(o.sigma()*s.last.st.At.Z, o.sigma()*it.Move.From.Z); {
	case s0 > 0:
	case !s.last.done:
		if s.begin(gap, it, o) {
			s.cur = zone
			o.piece(it, s0)
			return
		}
	case s.cur == zone && (!moved || o.need(asked, zref) <= o.c+rounding):
		o.passGap(gap, zref)
		return
	}
	if s0 == 0 && s.cur >= 0 && !moved {
		s.p.JointChanges++
	}
	s.leave(like, out)
	o.begin()
	if s.last.done {
		for i := range gap {
			s.rest(o, gap[i].it)
		}
	}
	s.approach(o, it, s0, in)
	s.cur = zone
	o.piece(it, s0)
}

// begin comes to the first burn of all: what leads to it is the program's that begins
// with it, nil for none, and of the others what of it is no motion. It reports whether
// that program is there, by the original's own motion.
func (s *splitter) begin(gap []waiting, it *stream.Item, o *out) bool {
	through := o != nil && !s.opt.Pause && o.lift == 0 && (o.c == 0 || o.risen || s.rises(gap))
	if through {
		_, asked := s.between(gap)
		asked.take(o.enters(true))
		through = o.need(asked, o.sigma()*it.Move.From.Z) <= o.c+rounding
	}
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

// leave ends the piece that is being written: beam off, and the way out.
func (s *splitter) leave(like *program.Block, r run) {
	if s.cur < 0 {
		return
	}
	o := s.outs[s.cur]
	s.cur = -1
	o.pen.BeamOff(like, false)
	if r < 0 {
		return
	}
	if x, y, runs := o.runOut(r, s.last.speed, s.last.way, like); runs {
		o.pen.FeedTo(like, x, y)
	}
}

// approach travels to where the zone's program is to go on, beam off: to fraction
// s0 of a burn.
func (s *splitter) approach(o *out, it *stream.Item, s0 float64, r run) {
	st := it.Before
	if s0 > 0 {
		at := o.pen.Place(it, s0)
		st = it.During
		st.At = machine.Point{X: at[0], Y: at[1], Z: it.Move.From.Z + (it.Move.To.Z-it.Move.From.Z)*s0}
		st.XKnown, st.YKnown, st.ZKnown = true, true, true
	}
	o.pen.Jump(&st)
	like, way := &it.Block, it.Heading(false)
	if s0 > 0 {
		way[0], way[1] = it.Move.Heading(s0)
	}
	x, y, runs := o.runOut(r, speed(&it.Move), [2]float64{-way[0], -way[1]}, like)
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
	case !o.begun && o.lift == 0 && o.c != 0 && o.safe(it, o.p.focusZ()):
		plan.C = 0 // up there the original's Z will do
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

// piece begins a piece of the zone, at fraction s0 of an item.
func (o *out) piece(it *stream.Item, s0 float64) {
	o.z.Pieces++
	o.list(it, s0)
}

// list notes where in the original what comes next begins, at fraction s0 of an item.
func (o *out) list(it *stream.Item, s0 float64) {
	o.pieces = fmt.Appendf(o.pieces, ",%d,%s\n", it.Block.Line, strconv.FormatFloat(math.Round(s0*1e9)/1e9, 'f', -1, 64))
	if len(o.pieces) > mostListed && o.listed == nil {
		_, o.listed = (o.file + piecesPart).Write(o.pieces)
		o.pieces = o.pieces[:0]
	}
}

// mostListed bounds the text of the list of pieces that is kept for a zone, in bytes.
const mostListed = 32 << 10

// count counts a part of a burn, or a run of burns.
func (o *out) count(it *stream.Item, s0, s1 float64) {
	m := &it.Move
	if o.z.Burns == 0 {
		o.firstZ = m.From.Z + (m.To.Z-m.From.Z)*s0
	}
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

// rest passes on what is no motion of a block whose motion is left out.
func (s *splitter) rest(o *out, it *stream.Item) {
	if it.Actions.Ends && s.fault == nil {
		s.fault = s.opt.between(it)
	}
	o.pen.PassRest(it)
}

// leastLift is by how much the lens must be further than in best focus at a safe height,
// and what must be left of the moves to it and back, in mm.
const leastLift = 0.05

// safe reports whether a travel is at a safe height as the original has it, between burns
// at zref: the lens further than in best focus over all that it passes, and the head
// clear, whatever the zone's focus is. Of one of Z alone that is where it ends, and where
// that is not known, it is over all of the surface.
func (o *out) safe(it *stream.Item, zref float64) bool {
	if it.Move.Lost != 0 || !it.After.ZKnown || it.Move.ZUnknown {
		return false
	}
	if clearance.Programmed(&it.Move, o.sigma(), 0, 1)-zref <= leastLift {
		return false
	}
	asks := o.opt.along(it)
	if !it.Known() {
		_, high, _, _ := o.opt.Surface.Range()
		asks = requirement{high, math.Inf(-1)}
		if o.opt.model != nil {
			asks.tip = o.opt.model.Everywhere()
		}
		asks = asks.less(clearance.Programmed(&it.Move, o.sigma(), 0, 1))
	}
	if asks.axis+zref+o.opt.Defocus+leastLift > o.set {
		return false
	}
	return o.lens.Standoff == nil || asks.tip-*o.lens.Standoff+o.p.focusZ() <= o.set
}

// rises reports whether the first of these items is a move of Z alone to a safe height,
// from which another comes down again.
func (o *out) rises(gap []waiting, zref float64) bool {
	it := gap[0].it
	if !it.ZOnly() || it.During.Relative || o.left(it, -o.c) <= leastLift || !o.safe(it, zref) {
		return false
	}
	for i := range gap[1:] {
		switch it := gap[1+i].it; {
		case !moves(it) || o.safe(it, zref):
		default:
			return it.ZOnly() && o.left(it, o.c) < -leastLift
		}
	}
	return false
}

// left is what is left of a move of Z alone, away from the stock, that takes a change of
// the correction with it.
func (o *out) left(it *stream.Item, change float64) float64 {
	return o.sigma()*(it.Move.To.Z-it.Move.From.Z) + change
}

// passGap passes on what stands between two burns of the zone, at its correction; at a
// safe height as it is.
func (o *out) passGap(gap []waiting, zref float64) {
	up := false
	for i := range gap {
		it := gap[i].it
		switch {
		case o.c == 0 || !moves(it):
		case up:
			up = o.safe(it, zref)
		default:
			up = o.rises(gap[i:], zref)
		}
		c := o.c
		if up {
			c = 0
		}
		o.pen.Pass(it, rewrite.Target{C: c})
	}
}
