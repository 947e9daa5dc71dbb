package zone

import (
	"math"

	"sagitta/internal/machine"
	"sagitta/internal/program"
)

// write hands what is decided on to the zones' programs, and lets go of it.
// What stands between two burns goes with the second, and waits for it; drop
// asks not to wait any longer.
func (s *splitter) write(drop bool) {
	gap := place{0, s.from}
	at := gap
scan:
	for ; at.batch < len(s.queue); at = (place{at.batch + 1, 0}) {
		b := s.queue[at.batch]
		for ; at.item < len(b.items); at.item++ {
			if at == s.wait {
				break scan
			}
			it := &b.items[at.item]
			switch {
			case it.is(isBurn):
				s.handle(gap, at)
			case !s.last.done:
				s.frame.headItem(b, at.item)
			case int(it.line) > s.p.lastBurn:
				s.frame.tailItem(b, at.item)
			default:
				continue // waits
			}
			gap = place{at.batch, at.item + 1}
		}
	}
	if drop && s.wait.batch < 0 && gap.batch < len(s.queue) {
		s.dropGap(gap)
		gap = place{len(s.queue), 0}
	}
	for gap.batch < len(s.queue) && gap.item == len(s.queue[gap.batch].items) {
		gap = place{gap.batch + 1, 0}
	}
	s.release(gap.batch)
	s.from = gap.item
	if !s.path.Waits() {
		s.parts = s.parts[:0]
	}
}

// release lets go of the first n batches.
func (s *splitter) release(n int) {
	if n == 0 {
		return
	}
	s.flush()
	for _, b := range s.queue[:n] {
		if s.last.b == b {
			s.settleLast()
		}
		s.walker.giveBack(b)
	}
	s.queue = s.queue[:copy(s.queue, s.queue[n:])]
	if s.wait.batch >= 0 {
		s.wait.batch -= n
	}
}

// settleLast takes what is to be known of the last burn from its batch.
func (s *splitter) settleLast() {
	l := &s.last
	if l.b == nil {
		return
	}
	it := &l.b.items[l.i]
	l.m = s.after(l.b, l.i)
	m := s.move(l.b, it)
	l.dx, l.dy = heading(&m, 1)
	l.b = nil
}

// heading is the direction of a move at a fraction of it, of length 1 or 0.
func heading(m *machine.Move, s float64) (dx, dy float64) {
	if m.Length == 0 {
		return 0, 0
	}
	if m.Kind == machine.Arc {
		sin, cos := math.Sincos(m.A0 + m.Sweep*s)
		way := math.Copysign(1, m.Sweep)
		return -sin * way, cos * way
	}
	l := math.Hypot(m.To.X-m.From.X, m.To.Y-m.From.Y)
	return (m.To.X - m.From.X) / l, (m.To.Y - m.From.Y) / l
}

// raw lets item i go to the zone's program as it is, but for what every block
// of it changes.
func (s *splitter) raw(o *out, b *batch, i int) {
	it := &b.items[i]
	if o.owes && it.is(isMotion) {
		s.flush()
		m := s.before(b, i)
		s.entry(o, b, i, &m)
		return
	}
	if it.held < 0 {
		if !s.opt.Rehearsal || !it.is(saysPower) || it.power == 0 {
			s.pend(b, b.start(i), it.end)
			return
		}
	} else if o.off == 0 && !s.opt.Rehearsal {
		s.pend(b, b.start(i), it.end)
		return
	}
	block := s.block(b, i)
	o.inches = s.before(b, i).inches
	o.ch = o.edits(block, s.after(b, i).relative, o.off, o.ch[:0])
	if len(o.ch) == 0 {
		s.pend(b, b.start(i), it.end)
		return
	}
	s.flush()
	o.changed(block)
}

// pend lets text go out as it is.
func (s *splitter) pend(b *batch, from, to int32) {
	p := &s.pending
	if p.b == b && p.to == from {
		p.to = to
		return
	}
	s.flush()
	p.b, p.from, p.to = b, from, to
}

// flush sends out what is pending.
func (s *splitter) flush() {
	p := &s.pending
	if p.b != nil {
		s.outs[s.cur].write(p.b.text[p.from:p.to])
		p.b = nil
	}
}

// edits adds what every block of the zone's program changes: the Z, by off,
// and in a rehearsal the beam.
func (o *out) edits(b *program.Block, relative bool, off float64, ch []program.Change) []program.Change {
	for i := range b.Words {
		w := &b.Words[i]
		switch {
		case w.Letter == o.opt.Machine.ZAxis && off != 0 && !relative:
			inches := o.inchesOf(b)
			dec := max(o.opt.decimals(inches), w.Num.Dec)
			ch = append(ch, program.SetWord(i, program.Round(w.Num.Float()+off/unit(inches), dec)))
		case !o.opt.Rehearsal:
		case w.Letter == 'M' && lightsWord(&o.opt.Machine, w.Num):
			ch = append(ch, program.SetWord(i, o.offWord()))
		case w.Letter == o.opt.Machine.PowerWord && w.Num.Mant != 0:
			ch = append(ch, program.SetWord(i, program.Int(0)))
		}
	}
	return ch
}

// inchesOf tells the units that a block's lengths are in.
func (o *out) inchesOf(b *program.Block) bool {
	in := o.inches
	for i := range b.Words {
		if w := &b.Words[i]; w.Letter == 'G' {
			switch {
			case w.Num.Cmp(program.Int(20)) == 0:
				in = true
			case w.Num.Cmp(program.Int(21)) == 0:
				in = false
			}
		}
	}
	return in
}

// changed writes a block with the changes gathered.
func (o *out) changed(b *program.Block) {
	o.mark(b)
	o.buf = program.AppendChanged(o.buf[:0], b, o.ch)
	o.write(o.buf)
	o.ch = o.ch[:0]
}

// handle gives the burn at a place to its zone's program; what stands before
// it begins at gap.
func (s *splitter) handle(gap, at place) {
	b := s.queue[at.batch]
	it := &b.items[at.item]
	if it.part >= 0 {
		s.handleCut(gap, at)
		return
	}
	o := s.outs[it.zone]
	if !s.enter(gap, at, o) {
		s.raw(o, b, at.item)
	}
	s.count(o, b, it, 0, 1)
	if it.length == 0 {
		o.z.Lines.Point(it.x, it.y)
	} else if it.held >= 0 && b.blocks[it.held].mv.Kind == machine.Arc {
		o.z.Lines.Arc(&b.blocks[it.held].mv, 0, 1)
	} else {
		o.z.Lines.Straight(it.x0, it.y0, it.x, it.y)
	}
	s.last.done, s.last.b, s.last.i = true, b, at.item
}

// count counts a part of a burn.
func (s *splitter) count(o *out, b *batch, it *item, s0, s1 float64) {
	o.z.Burns++
	o.z.BurnLength += it.length * (s1 - s0)
	o.z.Seconds += it.sec * (s1 - s0)
	if it.held >= 0 {
		o.lastZ = b.blocks[it.held].mv.To.Z
	} else {
		o.lastZ = b.strands[it.like].m.at.Z
	}
}

// enter brings the zone's program to the burn at a place, or to where it
// begins there. It reports false where the program is there already, and the
// burn is to be passed on as it is.
func (s *splitter) enter(gap, at place, o *out) bool {
	b := s.queue[at.batch]
	it := &b.items[at.item]
	if s.cur >= 0 && gap == at && o == s.outs[s.cur] {
		return false
	}
	m := s.before(b, at.item)
	moved, high := s.between(gap, at)
	if !s.last.done {
		if s.frame.start(o, &m) {
			s.cur = it.zone
			o.z.Pieces++
			return false
		}
	} else if s.cur >= 0 && o == s.outs[s.cur] {
		s.settleLast()
		zref := s.zref(s.last.m.at.Z, m.at.Z)
		if !moved || high-o.near()-o.set-o.sigma()*o.off+zref <= rounding {
			s.through(gap, at, o)
			return false
		}
	}
	block := s.block(b, at.item)
	seam := s.cur >= 0 && !moved
	if seam {
		s.p.JointChanges++
	}
	s.leave(block, seam)
	s.words(gap, at, o, block, &m)
	s.approach(o, &m, block, m.at, int(it.line), seam, func() (float64, float64) {
		mv := s.move(b, it)
		return heading(&mv, 0)
	})
	o.modes(&m, block, m.relative)
	s.entry(o, b, at.item, &m)
	s.cur = it.zone
	o.z.Pieces++
	return true
}

// zref is the higher of two programmed Z, counted away from the stock.
func (s *splitter) zref(a, b float64) float64 {
	sigma := s.opt.sigma()
	return max(sigma*a, sigma*b)
}

// between looks at what stands between two burns: whether the head moves, and
// the highest that it passes, less the programmed Z there, counted away from
// the stock.
func (s *splitter) between(gap, at place) (moved bool, high float64) {
	high = math.Inf(-1)
	s.items(gap, at, func(b *batch, i int) {
		it := &b.items[i]
		if !it.is(isMotion) {
			return
		}
		z0, z1 := s.heightsZ(b, it)
		if it.length == 0 && z0 == z1 && !it.is(pathless) {
			return
		}
		moved = true
		high = max(high, passes(it, z0, z1))
	})
	return moved, high
}

// passes is the highest that a travel passes less its lowest Z, both counted
// away from the stock.
func passes(it *item, z0, z1 float64) float64 {
	low := min(z0, z1)
	if it.length == 0 {
		low = z1 // it may come from where it was not clear
	}
	if it.b != it.b {
		return math.Inf(-1)
	}
	return it.b - low
}

// heightsZ is the programmed Z at an item's ends, counted away from the
// stock.
func (s *splitter) heightsZ(b *batch, it *item) (z0, z1 float64) {
	sigma := s.opt.sigma()
	if it.held < 0 {
		z := sigma * b.strands[it.like].m.at.Z
		return z, z
	}
	m := &b.blocks[it.held].mv
	return sigma * m.From.Z, sigma * m.To.Z
}

// items calls do for the items from one place up to another.
func (s *splitter) items(from, to place, do func(*batch, int)) {
	for from.batch < to.batch || from.batch == to.batch && from.item < to.item {
		b := s.queue[from.batch]
		if from.item >= len(b.items) {
			from = place{from.batch + 1, 0}
			continue
		}
		do(b, from.item)
		from.item++
	}
}

// through passes on what stands between two burns of one zone.
func (s *splitter) through(gap, at place, o *out) {
	s.items(gap, at, func(b *batch, i int) {
		it := &b.items[i]
		s.raw(o, b, i)
		o.z.Seconds += it.sec
	})
}

// dropGap lets go of what stands behind the last burn and has become too long
// to wait for the next: its motion is left out.
func (s *splitter) dropGap(gap place) {
	s.broken = true
	end := place{len(s.queue), 0}
	block := s.block(s.queue[gap.batch], min(gap.item, len(s.queue[gap.batch].items)-1))
	if s.cur < 0 {
		return
	}
	o := s.outs[s.cur]
	s.leave(block, false)
	m := o.m
	s.words(gap, end, o, block, &m)
}
