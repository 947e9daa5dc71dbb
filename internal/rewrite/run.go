package rewrite

import (
	"math"

	"sagitta/internal/program"
	"sagitta/internal/stream"
)

// plainSlope is how much Z may change over a plain line, as a part of its
// length, before its F may have to change with it: the speed over XY is then
// off by less than FeedSlack.
const plainSlope = 0.1

// passLines writes the lines of a run: those that need no other Z in one piece,
// and of the others only the Z. Every line comes out as block would write it,
// and where a line needs more than a Z, block does.
func (p *Pen) passLines(it *stream.Item, plan Plan) {
	n := it.Count()
	p.Figures.BytesIn += int64(len(it.Text(0, n)))
	p.inRun = true
	still := it.Move.Burn && p.opt.ZMoves == BeamOff
	if p.plainly(it, plan) && (still || !p.needsZ(p.c, &it.During) && !p.needsZ(plan.C, &it.During)) {
		p.Figures.SecondsOut += it.Move.Seconds
		p.sink.begin(&it.Block)
		p.sink.buf = append(p.sink.buf, it.Text(0, n)...)
	} else {
		p.slope(it, plan)
	}
	p.inRun = false
	if line := p.pace.run(it); line > 0 {
		p.paced(line)
	}
	p.src, p.have, p.stopped, p.open = it.After, it.After, false, false
	p.opt.dim(&p.have)
	p.style.keepRun(it)
}

// plainly reports whether the next line of a run, if its Z changes slowly, needs
// nothing but the Z: what it relies on is in force.
func (p *Pen) plainly(it *stream.Item, plan Plan) bool {
	if p.opt.LineMax > 0 && p.opt.LineMax < program.MaxPlain || p.opt.EachLine {
		return false // block looks at each
	}
	return !p.opt.Rehearsal && !plan.Stroke && !p.jumped && p.have.Motion == p.src.Motion && p.feed.Cmp(feedOf(&p.src)) == 0 &&
		(!it.Move.Burn || p.have.BeamWord == p.src.BeamWord && p.have.Power == p.src.Power)
}

// slope writes a run over which Z changes.
type slope struct {
	p    *Pen
	it   *stream.Item
	plan Plan
	// from is the first line that is not written yet.
	from int
	// From d = StartD on Z is off by c + rate*(d-StartD) from what is
	// programmed; where the next line begins is at d.
	c, rate, d      float64
	fastest         float64 // see plainSlope
	makeUp          float64 // what Plan.Rate is over the length
	spell           zSpeller
	plainly         bool // as long as lines need nothing but the Z
	slanted, ranged bool

	changed      int
	low, high    float64 // Z less what is programmed, in mm
	path, travel float64 // of the lines written here, over XY and of Z
	slant        float64 // by what their way is longer than that
	// steepRise over steepPath is the steepest of them.
	steepRise, steepPath float64
}

func (p *Pen) slope(it *stream.Item, plan Plan) {
	o := p.opt
	s := slope{
		p: p, it: it, plan: plan, d: it.StartD, fastest: plainSlope, spell: newZSpeller(p, it),
		plainly: p.plainly(it, plan) && p.marked, slanted: o.Machine.FeedCountsZ && o.Machine.ZAxis == 'Z',
		ranged: o.ZMin != nil || o.ZMax != nil, low: math.Inf(1), high: math.Inf(-1), steepPath: 1,
	}
	c := p.c
	if plan.Stroke {
		c = plan.Before
	}
	s.c, s.rate = o.Sigma()*c, o.Sigma()*(plan.C-c)/it.Move.Length
	perMM := it.Move.Seconds / it.Move.Length
	s.makeUp = plan.Rate * perMM
	if o.ZRate > 0 {
		s.fastest = min(s.fastest, o.ZRate*perMM)
	}
	lines, least := it.Lines(), p.leastChange(&it.During)
	for k := range lines {
		if s.plainly && k+1 < len(lines) { // as most do, it may wait
			if d := lines[k].D; math.Abs(s.c+s.rate*(d-it.StartD)-p.off) <= least {
				s.path += d - s.d
				s.d = d
				continue
			}
		}
		s.line(k)
	}
	s.writeTo(it.Count())
	s.count(perMM)
}

// writeTo writes the lines up to line k that are not written yet.
func (s *slope) writeTo(k int) {
	if s.from < k {
		s.p.sink.begin(&s.it.Block)
		s.p.sink.buf = append(s.p.sink.buf, s.it.Text(s.from, k)...)
	}
	s.from = k
}

// line writes line k, the next, unless it may wait to be written as it is.
func (s *slope) line(k int) {
	p, v := s.p, &s.it.Lines()[k]
	l := v.D - s.d
	s.d = v.D
	want := s.want(k)
	if s.waits(k, want) {
		want = p.off
	}
	if s.plainly && math.Abs(want-p.off) <= p.leastChange(&s.it.During) {
		s.path += l
		return
	}
	s.writeTo(k)
	s.from = k + 1
	if s.plainly {
		num, to := s.spell.number(want)
		if rise := math.Abs(to - p.off); rise <= s.fastest*l {
			p.off = to
			p.sink.begin(&s.it.Block)
			p.sink.buf = program.AppendPlain(p.sink.buf, s.it.Text(k, k+1), v.Axis, v.Style, p.opt.Machine.ZAxis, num)
			if s.ranged {
				p.checkRange(s.spell.z+p.off, s.it.Block.Line+k, s.it.Move.To)
			}
			s.low, s.high = min(s.low, p.off), max(s.high, p.off)
			s.changed++
			s.travel += rise
			if v.Burn && rise*s.steepPath > s.steepRise*l { // a run of burns may have travels
				s.steepRise, s.steepPath = rise, l
			}
			s.path += l
			s.slant += rise * rise * (0.5 / l)
			return
		}
	}
	s.block(k, p.opt.Sigma()*want)
}

// want is what Z is to be off by where line k ends.
func (s *slope) want(k int) float64 {
	if k+1 == s.it.Count() {
		return s.p.opt.Sigma() * s.plan.C
	}
	return s.c + s.rate*(s.it.Lines()[k].D-s.it.StartD)
}

// waits reports whether Z may stay as it is on line k, which asks for want: there
// is room for that, and the next line can still make up for it.
func (s *slope) waits(k int, want float64) bool {
	off, least := s.p.off, s.p.leastChange(&s.it.During)
	if math.Abs(want-off) > s.plan.Room+least || k+1 == s.it.Count() {
		return false
	}
	// What rounding makes of the steepest line is no steeper than that.
	lines, next := s.it.Lines(), s.want(k+1)
	most := s.makeUp*(lines[k+1].D-lines[k].D) + 2*least*(1-roundedOff)
	if math.Abs(next-off)-least > most {
		return false
	}
	_, to := s.spell.number(next)
	return math.Abs(to-off) <= most
}

// roundedOff is the part of a step that a line may be off by and still be as
// steep as it is meant to be.
const roundedOff = 1e-3

// block writes line k as a block, to correction c.
func (s *slope) block(k int, c float64) {
	p := s.p
	s.it.LineItem(k, &p.line)
	if k > 0 || s.plainly { // what stands before it has been passed by
		p.src.At, p.src.Power, p.src.Motion = p.line.Before.At, p.line.Before.Power, p.line.Before.Motion
		p.src.PowerSaid = p.line.Before.PowerSaid
		if s.plainly {
			feed := p.feed
			p.have, p.feed = p.src, feed
			p.opt.dim(&p.have)
		}
	}
	plan := Plan{C: c, Before: s.plan.Before, Stroke: s.plan.Stroke && k == 0}
	p.block(&p.line, plan)
	s.plan.Stroke = false
	s.plainly = p.plainly(s.it, s.plan) && p.marked
}

// count takes the lines written here into the figures; perMM is the time in s
// of a mm.
func (s *slope) count(perMM float64) {
	f := &s.p.Figures
	if s.changed > 0 {
		z := s.it.Move.From.Z
		f.z(z + s.low)
		f.z(z + s.high)
		f.Changed += s.changed
		f.ZTravel += s.travel
		if s.it.Move.Burn {
			path := s.steepPath
			if s.slanted {
				path = math.Hypot(s.steepPath, s.steepRise)
			}
			f.PeakRate = max(f.PeakRate, s.steepRise/(path*perMM)*60)
		}
	}
	// The way along a line askew is longer by rise²/2l.
	if s.slanted {
		s.path += s.slant
	}
	f.SecondsOut += s.path * perMM
}
