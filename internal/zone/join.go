package zone

import (
	"math"

	"sagitta/internal/machine"
	"sagitta/internal/program"
)

// leave ends the piece that is being written: beam off and, at a seam, the
// way out.
func (s *splitter) leave(like *program.Block, seam bool) {
	if s.cur < 0 {
		return
	}
	s.flush()
	s.settleLast()
	o := s.outs[s.cur]
	s.cur = -1
	o.force(&s.last.m)
	o.darkness(like)
	if seam {
		o.z.Seams++
		s.runOut(o, like)
	}
}

// force takes what the original has in force as the zone's own, which it is
// after text that was passed on.
func (o *out) force(m *modal) {
	o.m = *m
	o.m.at.Z += o.off
	if o.opt.Rehearsal {
		o.m.beam, o.m.lit = o.offWord().Mant, false
	}
	if o.owes {
		o.m.motion, o.m.feedSaid, o.owes = -1, false, false
	}
}

// words writes what of the blocks between two burns is not motion, modes or
// beam: comments, pauses and words that are not known.
func (s *splitter) words(gap, at place, o *out, like *program.Block, m *modal) {
	if !o.begun {
		s.frame.open(o, m)
	}
	s.items(gap, at, func(b *batch, i int) {
		it := &b.items[i]
		if it.held < 0 {
			return
		}
		h := &b.blocks[it.held]
		if len(h.block.Words) == 0 {
			if h.block.Comment >= 0 {
				o.mark(&h.block)
				o.write(h.block.Raw)
			}
			return
		}
		o.ch = o.ch[:0]
		for k := range h.block.Words {
			if w := &h.block.Words[k]; w.Letter == 'M' && !o.restored(w.Num) {
				o.say('M', w.Num)
			}
		}
		if h.mv.Kind == machine.Dwell {
			o.sayG(4)
			if p, ok := h.block.Find('P'); ok {
				o.say('P', p.Num)
			}
			o.z.Seconds += h.mv.Seconds
		}
		o.line(&h.block)
	})
}

// restored tells the M words that are not passed on, as what they do is
// restored where a program enters.
func (o *out) restored(num program.Number) bool {
	n, ok := num.At(0)
	return ok && (beamWord(&o.opt.Machine, num) || n.Mant >= 7 && n.Mant <= 9 || n.Mant == 2 || n.Mant == 30)
}

// approach travels to a place where the zone's program is to go on, beam off.
// m is what is to be in force there; at is the programmed place.
func (s *splitter) approach(o *out, m *modal, like *program.Block, at machine.Point, line int, seam bool, way func() (float64, float64)) {
	o.modes(m, like, false)
	lead := 0.0
	x, y := at.X, at.Y
	if seam && s.opt.Lead > 0 && (s.opt.Rehearsal || m.beam != noBeam || m.powerSaid) {
		dx, dy := way()
		lead = s.clearRun(o, at, -dx, -dy)
		if lead > 0 {
			x, y = o.grid(at.X-lead*dx, m.inches), o.grid(at.Y-lead*dy, m.inches)
		}
	}
	o.travel(x, y, at.Z, like, line, s.zref(at.Z, at.Z))
	if lead > 0 {
		s.dark(o, m, like)
		o.run(at.X, at.Y, m, like)
	}
}

// dark makes sure that the beam is off where the program has not said so.
func (s *splitter) dark(o *out, m *modal, like *program.Block) {
	if s.opt.Rehearsal || !o.m.on() || m.beam == noBeam && !m.powerSaid {
		return
	}
	if m.beam != noBeam {
		o.say('M', o.offWord())
		o.m.beam, o.m.lit = o.offWord().Mant, false
	} else {
		o.say(o.opt.Machine.PowerWord, program.Int(0))
		o.m.power, o.m.powerSaid = program.Int(0), true
	}
	o.line(like)
}

// grid rounds a place to written decimals.
func (o *out) grid(v float64, inches bool) float64 {
	return program.Round(v/unit(inches), o.opt.decimals(inches)).Float() * unit(inches)
}

// run makes a feed move with the beam off, at the feed of m.
func (o *out) run(x, y float64, m *modal, like *program.Block) {
	length := math.Hypot(x-o.m.at.X, y-o.m.at.Y)
	o.sayG(1)
	o.say('X', o.exact(x, o.m.inches))
	o.say('Y', o.exact(y, o.m.inches))
	feed := m.feed
	if m.inverse {
		// Its own time, at the speed of a usual lead: a second's worth.
		feed = program.Int(60)
	}
	if m.inverse || !o.m.feedSaid || o.m.feed.Cmp(feed) != 0 {
		o.say('F', feed)
	}
	o.line(like)
	o.m.motion, o.m.feed, o.m.feedSaid = 1, feed, true
	o.m.at.X, o.m.at.Y = x, y
	if f := feed.Float() * unit(o.m.inches); f > 0 && !m.inverse {
		o.z.Seconds += length / f * 60
	}
}

// travel goes to a place at rapid rate, at a Z that is clear all the way, and
// comes down (or up) to the programmed Z there. zref is the higher of the
// programmed Z of the burns on both sides, counted away from the stock.
func (o *out) travel(x, y, z float64, like *program.Block, line int, zref float64) {
	o.travelTo(x, y, o.written(z), like, line, zref)
}

// travelTo is travel to a Z as it is written.
func (o *out) travelTo(x, y, to float64, like *program.Block, line int, zref float64) {
	sigma := o.sigma()
	if o.m.known && math.Abs(x-o.m.at.X) < rounding && math.Abs(y-o.m.at.Y) < rounding {
		o.toZ(to, like, line)
		return
	}
	high := o.over(&o.m, x, y)
	if o.begun && o.z.Burns > 0 {
		zref = max(zref, sigma*o.lastZ)
	}
	ends := max(sigma*o.m.at.Z, sigma*to)
	top := ends
	if o.p.travels && !o.opt.ByHand {
		top = max(top, sigma*o.written(o.p.clearZ))
	}
	raise := 0.0
	if need := o.clear(high, zref); need > top+rounding && o.opt.ByHand {
		raise = need - top
		o.handRaise(raise, like)
	} else if need > top+rounding {
		top = sigma * o.up(sigma*need, o.m.inches)
	}
	if top > sigma*o.m.at.Z+rounding {
		o.toZ(sigma*top, like, line)
	}
	o.sayG(0)
	o.say('X', o.exact(x, o.m.inches))
	o.say('Y', o.exact(y, o.m.inches))
	o.line(like)
	if o.m.known {
		o.z.Seconds += math.Hypot(x-o.m.at.X, y-o.m.at.Y) / o.opt.Machine.RapidMMMin * 60
	}
	o.m.motion, o.m.known = 0, true
	o.m.at.X, o.m.at.Y = x, y
	o.toZ(to, like, line)
	if raise > 0 {
		o.handLower(like)
	}
}

// handRaise waits for the operator to raise the lens before a travel that is
// not clear otherwise, on a bench whose Z is moved by hand.
func (o *out) handRaise(by float64, like *program.Block) {
	o.z.Raises++
	o.z.Raise = max(o.z.Raise, by)
	o.wait(like, "raise the lens by %.2f mm or more, so that it clears the stock", roundUp(by))
	o.z.Raised = append(o.z.Raised, [2]int{o.w.lines, 0})
}

// handLower waits for the lens to be lowered again.
func (o *out) handLower(like *program.Block) {
	o.wait(like, "bring the lens back to where it was")
	o.z.Raised[len(o.z.Raised)-1][1] = o.w.lines
}

// roundUp rounds up to what is set by hand.
func roundUp(v float64) float64 { return math.Ceil(v*100-rounding) / 100 }

// over is the highest of the surface on the straight way to a place, or at
// the place where it is not known whence.
func (o *out) over(m *modal, x, y float64) float64 {
	if !m.known {
		h, _ := o.opt.Surface.At(x, y)
		return h
	}
	high := math.Inf(-1)
	for _, pc := range o.opt.Surface.AppendLine(nil, m.at.X, m.at.Y, x, y, o.opt.pieceTol(), 0) {
		high = max(high, max(pc.H0, pc.H1)+pc.Up)
	}
	_, most, _, _ := o.opt.Surface.Range()
	return min(high, most)
}

// clearRun is how far, up to the lead, the head may run from a programmed
// place in a direction and be clear of the stock.
func (s *splitter) clearRun(o *out, at machine.Point, dx, dy float64) float64 {
	lead := s.opt.Lead
	if dx == 0 && dy == 0 {
		return 0
	}
	most := o.near() + o.set + o.sigma()*o.off - rounding // the height that is still clear
	length := 0.0
	for _, pc := range s.opt.Surface.AppendLine(nil, at.X, at.Y, at.X+dx*lead, at.Y+dy*lead, s.opt.pieceTol(), s.opt.lateral()) {
		if max(pc.H0, pc.H1)+pc.Up <= most {
			length = pc.S1 * lead
			continue
		}
		if room := most - pc.Up - pc.H0; room > 0 && pc.H1 > pc.H0 {
			length = (pc.S0 + (pc.S1-pc.S0)*room/(pc.H1-pc.H0)) * lead
		}
		break
	}
	if length < closestCut {
		return 0
	}
	return length
}

// runOut goes on from a seam with the beam off.
func (s *splitter) runOut(o *out, like *program.Block) {
	if s.opt.Lead <= 0 || !o.canDarken() || !o.m.feedSaid && !o.m.inverse {
		return
	}
	m := o.m
	at := m.at
	at.Z -= o.off
	lead := s.clearRun(o, at, s.last.dx, s.last.dy)
	if lead == 0 {
		return
	}
	o.modes(&m, like, false)
	o.run(o.grid(at.X+lead*s.last.dx, m.inches), o.grid(at.Y+lead*s.last.dy, m.inches), &m, like)
}

// entry writes the first block of a piece, with what was in force before it.
func (s *splitter) entry(o *out, b *batch, i int, m *modal) {
	it := &b.items[i]
	block := s.block(b, i)
	o.inches = m.inches
	o.ch = o.edits(block, s.after(b, i).relative, o.off, o.ch[:0])
	has := func(letter byte) bool { _, ok := block.Find(letter); return ok }
	if it.is(isMotion) && !saysMotion(block) && o.m.motion != m.motion {
		o.sayG(int64(m.motion))
	}
	rapid := it.held >= 0 && b.blocks[it.held].mv.Rapid
	if it.is(isMotion) && !rapid && !has('F') && !m.inverse && m.feedSaid && !(o.m.feedSaid && o.m.feed.Cmp(m.feed) == 0) {
		o.say('F', m.feed)
	}
	if !s.opt.Rehearsal {
		if m.powerSaid && !has(s.opt.Machine.PowerWord) && !(o.m.powerSaid && o.m.power.Cmp(m.power) == 0) {
			o.say(s.opt.Machine.PowerWord, m.power)
		}
		if m.beam != noBeam && !saysBeam(&s.opt.Machine, block) && !(o.m.lit && o.m.beam == m.beam) {
			o.say('M', program.Int(m.beam))
		}
	}
	o.owes = !it.is(isMotion) || rapid && !has('F')
	o.m.power, o.m.powerSaid, o.m.beam, o.m.lit = m.power, m.powerSaid, m.beam, m.lit
	if it.is(isMotion) {
		o.m.motion = m.motion
	}
	if len(o.ch) == 0 {
		o.mark(block)
		o.write(block.Raw)
		return
	}
	o.changed(block)
}

// saysMotion tells whether the block has a motion word.
func saysMotion(b *program.Block) bool {
	for i := range b.Words {
		if n, ok := b.Words[i].Num.At(0); b.Words[i].Letter == 'G' && ok && n.Mant >= 0 && n.Mant <= 3 {
			return true
		}
	}
	return false
}

// saysBeam tells whether the block has a beam word.
func saysBeam(cfg *machine.Config, b *program.Block) bool {
	for i := range b.Words {
		if b.Words[i].Letter == 'M' && beamWord(cfg, b.Words[i].Num) {
			return true
		}
	}
	return false
}
