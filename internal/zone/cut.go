package zone

import (
	"math"

	"sagitta/internal/machine"
	"sagitta/internal/program"
)

// arcDigits is how many decimals more than a cut point an arc's centre gets,
// so that both radii stay within RS274's rule.
const arcDigits = 1

// piece is a part of a burn as it is written, between two places.
type piece struct {
	m        *machine.Move
	block    *program.Block
	mode     *modal // in force while it burns
	from, to machine.Point
	// s0 and s1 are the fractions of the move, as meant.
	s0, s1 float64
	dec    int8
}

// handleCut gives the parts of the burn at a place to their zones' programs.
func (s *splitter) handleCut(gap, at place) {
	b := s.queue[at.batch]
	it := &b.items[at.item]
	m := s.move(b, it)
	mode := s.after(b, at.item)
	mode.at = m.From
	block := s.block(b, at.item)
	p := piece{m: &m, block: block, mode: &mode, from: m.From, dec: s.opt.decimals(mode.inches)}
	if m.Kind == machine.Arc {
		p.dec = max(p.dec, machine.ArcDecimals(mode.inches))
	}
	for _, letter := range [2]byte{'X', 'Y'} {
		if w, has := block.Find(letter); has {
			p.dec = max(p.dec, w.Num.Dec)
		}
	}
	s.p.CutBurns++
	for k := it.part; ; k++ {
		q := s.parts[k]
		o := s.outs[q.Setting]
		if k == it.part {
			s.firstPart(gap, at, o, &p)
		} else {
			s.p.Cuts++
			s.leave(block, true)
			s.begin(o, &mode)
			way := func() (float64, float64) { return heading(&m, p.s0) }
			s.approach(o, &mode, block, p.from, int(it.line), true, way)
			o.modes(&mode, block, mode.relative)
			o.z.Pieces++
		}
		s.cur = int32(q.Setting)
		next := p.place(q.End)
		p.s1, p.to = q.End, next
		if s.opt.Overlap > 0 && !q.Last {
			p.s1 = min(q.Reach, q.End+s.opt.Overlap/m.Length)
			p.to = p.place(p.s1)
		}
		s.burnPart(o, &p)
		s.count(o, b, it, p.s0, q.End)
		if m.Kind == machine.Arc {
			o.z.Lines.Arc(&m, p.s0, q.End)
		} else {
			// As meant, so that all parts together are as long as the burn.
			a, b := m.XY(p.s0), m.XY(q.End)
			o.z.Lines.Straight(a[0], a[1], b[0], b[1])
		}
		o.lastZ = p.to.Z
		s.last.done, s.last.b = true, nil
		s.last.m = o.m
		s.last.m.at = p.to
		s.last.dx, s.last.dy = heading(&m, p.s1)
		p.s0, p.from = q.End, next
		if q.Last {
			break
		}
	}
	s.pauses(b, it, block)
}

// begin begins the zone's program, where that has not been done.
func (s *splitter) begin(o *out, m *modal) {
	if !o.begun {
		s.frame.open(o, m)
	}
}

// firstPart brings the zone's program to the start of a burn that is cut.
func (s *splitter) firstPart(gap, at place, o *out, p *piece) {
	before := s.before(s.queue[at.batch], at.item)
	moved, high := s.between(gap, at)
	switch {
	case !s.last.done:
		if s.frame.start(o, &before) {
			o.force(&before)
			o.modes(p.mode, p.block, p.mode.relative)
			o.z.Pieces++
			return
		}
	case s.cur >= 0 && o == s.outs[s.cur]:
		s.settleLast()
		zref := s.zref(s.last.m.at.Z, before.at.Z)
		if !moved || high-o.near()-o.set-o.sigma()*o.off+zref <= rounding {
			s.through(gap, at, o)
			s.flush()
			o.force(&before)
			o.modes(p.mode, p.block, p.mode.relative)
			return
		}
	}
	seam := s.cur >= 0 && !moved
	if seam {
		s.p.JointChanges++
	}
	s.leave(p.block, seam)
	s.words(gap, at, o, p.block, p.mode)
	s.approach(o, p.mode, p.block, p.from, int(p.block.Line), seam, func() (float64, float64) { return heading(p.m, 0) })
	o.modes(p.mode, p.block, p.mode.relative)
	o.z.Pieces++
}

// place is where a cut at a fraction of the move is written.
func (p *piece) place(s float64) machine.Point {
	switch {
	case s <= 0:
		return p.m.From
	case s >= 1:
		return p.m.To
	}
	u := unit(p.mode.inches)
	xy := p.m.XY(s)
	at := machine.Point{
		X: program.Round(xy[0]/u, p.dec).Float() * u,
		Y: program.Round(xy[1]/u, p.dec).Float() * u,
		Z: p.m.From.Z + (p.m.To.Z-p.m.From.Z)*s,
	}
	// A move along an axis keeps to it.
	if p.m.Kind == machine.Line {
		if p.m.From.X == p.m.To.X {
			at.X = p.m.From.X
		}
		if p.m.From.Y == p.m.To.Y {
			at.Y = p.m.From.Y
		}
	}
	return at
}

// burnPart writes a part of a burn as a block of its own.
func (s *splitter) burnPart(o *out, p *piece) {
	mode, in := p.mode, p.mode.inches
	o.ch = o.ch[:0]
	o.sayG(int64(mode.motion))
	word := func(letter byte, from, to float64) {
		if mode.relative {
			to -= from
		}
		o.say(letter, o.exact(to, in))
	}
	word('X', p.from.X, p.to.X)
	word('Y', p.from.Y, p.to.Y)
	least := 0.0
	if o.off != 0 {
		least = s.opt.decimal(in) / 2 * (1 + rounding)
	}
	if z := o.written(p.to.Z); math.Abs(z-o.m.at.Z) > least {
		num := program.Round(z/unit(in), max(s.opt.decimals(in), 0))
		if mode.relative {
			num = program.Round((z-o.m.at.Z)/unit(in), max(s.opt.decimals(in), 0))
		}
		o.say(s.opt.Machine.ZAxis, num)
		o.checkRange(z, p.block.Line)
	}
	if p.m.Kind == machine.Arc {
		dec := p.dec + arcDigits
		o.say('I', program.Round((p.m.CX-p.from.X)/unit(in), dec))
		o.say('J', program.Round((p.m.CY-p.from.Y)/unit(in), dec))
	}
	if !p.m.Rapid {
		o.sayFeed(p)
	}
	if !s.opt.Rehearsal {
		if mode.powerSaid {
			o.say(s.opt.Machine.PowerWord, mode.power)
		}
		if mode.beam != noBeam && !(o.m.lit && o.m.beam == mode.beam) {
			o.say('M', program.Int(mode.beam))
		}
	}
	o.line(p.block)
	at := p.to
	at.Z = o.written(at.Z)
	known := *mode
	o.m = known
	o.m.at, o.m.known = at, true
	if s.opt.Rehearsal {
		o.m.beam, o.m.lit = o.offWord().Mant, false
	}
}

// sayFeed adds the F of a part of a burn.
func (o *out) sayFeed(p *piece) {
	switch {
	case p.mode.inverse:
		// F is one over the minutes that the part takes.
		part := p.s1 - p.s0
		const digits = 4
		o.say('F', program.Round(p.m.Feed/math.Max(part, 1e-9), digits))
	case p.mode.feedSaid && !(o.m.feedSaid && o.m.feed.Cmp(p.mode.feed) == 0):
		o.say('F', p.mode.feed)
	}
}

// pauses writes the words that stop a program, behind a burn that was cut
// instead of on its line.
func (s *splitter) pauses(b *batch, it *item, block *program.Block) {
	if it.held < 0 || s.cur < 0 {
		return
	}
	o := s.outs[s.cur]
	for i := range block.Words {
		w := &block.Words[i]
		if w.Letter != 'M' || beamWord(&s.opt.Machine, w.Num) {
			continue
		}
		if n, ok := w.Num.At(0); ok && (n.Mant == 0 || n.Mant == 1 || n.Mant == 60) {
			o.say('M', w.Num)
			o.line(block)
		}
	}
}
