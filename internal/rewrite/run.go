package rewrite

import (
	"math"

	"sagitta/internal/bench"
	"sagitta/internal/program"
	"sagitta/internal/stream"
)

const (
	// plainSlope is how much Z may change over a plain line, as a part of its
	// length, before its F may have to change with it: the speed over XY is
	// then off by less than FeedSlack.
	plainSlope = 0.1
	// roundedOff is the part of a step that a line may be off by and still be
	// as steep as it is meant to be.
	roundedOff = 1e-3
)

// passLines writes the lines of a run: those that need no other Z in one piece,
// and of the others only the Z. Every line comes out as block would write it,
// and where a line needs more than a Z, block does.
func (p *Pen) passLines(it *stream.Item, target Target) {
	n := it.Count()
	p.Figures.BytesIn += int64(len(it.Text(0, n)))
	p.inRun = true
	p.finelyRun(it, target.Next)
	still := it.Move.Burn && p.opt.ZMoves == bench.BeamOff
	if p.plainly(it, target) && (still || !p.needsZ(p.c, &it.During) && !p.needsZ(target.C, &it.During)) {
		p.Figures.SecondsOut += it.Move.Seconds
		p.sink.begin(&it.Block)
		p.sink.buf = append(p.sink.buf, it.Text(0, n)...)
	} else {
		p.slope(it, target)
	}
	p.inRun = false
	if line := p.pace.run(it); line > 0 {
		p.paced(line)
	}
	p.src, p.stopped, p.open = it.After, false, false
	p.comeTo(&it.After, false, !p.lowered && (it.Move.Burn || it.After.Power != it.Before.Power))
	p.style.keepRun(it)
}

// plainly reports whether the next line of a run, if its Z changes slowly, needs
// nothing but the Z: what it relies on is in force.
func (p *Pen) plainly(it *stream.Item, target Target) bool {
	if p.opt.LineMax > 0 && p.opt.LineMax < program.MaxPlain {
		return false // block looks at each
	}
	return !p.opt.Rehearsal && !target.Stroke && target.Longer <= 1 && !p.jumped && !p.lowered && p.have.Motion == p.src.Motion && p.feed.Cmp(feedOf(&p.src)) == 0 &&
		(!it.Move.Burn || p.hasBeam(&p.src) && p.have.Power == p.src.Power)
}

// runWriter writes a run over which Z changes.
type runWriter struct {
	p      *Pen
	it     *stream.Item
	lines  []stream.Vertex
	target Target
	// text is that of the lines, of which those before until leave Z as it is.
	text  []byte
	until int
	// c and rate are what Z is to be off by from what is programmed, in mm where
	// the run starts, and how that grows with D.
	c, rate float64
	// least is the least change of Z worth a word, fastest the most of it for a
	// plain line and makeUp for one that makes up for those that wait, as parts
	// of their length.
	least, fastest, makeUp float64
	// room is by how much Z may be off what is wanted, roundedUp by how much more
	// a line may change Z than it is meant to.
	room, roundedUp float64
	// slowed: all lines are steeper than Z can be, and so each has its own time.
	slowed bool
	spell  zSpeller

	travel float64 // of Z over the lines written plainly
	slant  float64 // by what their way is longer than over XY, where F counts Z
	blocks float64 // the length of the lines written as blocks
	// steepRise over steepPath is the steepest of the plain ones that burn.
	steepRise, steepPath float64
}

func (p *Pen) slope(it *stream.Item, target Target) {
	c := p.c
	if target.Stroke {
		c = target.Before
	}
	o, perMM := p.opt, it.Move.Seconds/it.Move.Length
	s := runWriter{
		p: p, it: it, lines: it.Lines(), text: it.Text(0, it.Count()), target: target, spell: newZSpeller(p, it),
		c: o.Sigma() * c, rate: o.Sigma() * (target.C - c) / it.Move.Length,
		least: p.step(it.During.Inches) / 2 * (1 + rounding), fastest: plainSlope, makeUp: target.Rate * perMM,
		steepPath: 1,
	}
	s.room, s.roundedUp = target.Room+s.least, 2*s.least*(1-roundedOff)
	if o.ZRate > 0 {
		s.fastest = min(s.fastest, o.ZRate*perMM)
		if s.slowed = math.Abs(s.rate) > o.ZRate*perMM*(1+rounding); s.slowed {
			s.room = s.least
		}
	}
	passed := false // what stands before line k has only been passed by
	for k := 0; k < len(s.lines); k++ {
		if p.marked && !s.slowed && p.plainly(it, s.target) {
			if k = s.passPlain(k); k == len(s.lines) {
				break
			}
			passed = true
		}
		s.block(k, passed)
		passed = false
	}
	s.count(perMM)
}

// passPlain writes the lines from line k on that need nothing but the Z, and
// returns the first that needs more.
func (s *runWriter) passPlain(k int) int {
	p := s.p
	ranged := p.opt.ZMin != nil || p.opt.ZMax != nil
	p.sink.begin(&s.it.Block)
	from := s.start(k) // the text from here on is not written yet
	for k = s.skip(k); k < len(s.lines); k = s.skip(k + 1) {
		num, to := s.spell.number(s.want(k))
		l, rise := s.length(k), math.Abs(to-p.off)
		if rise > s.fastest*l {
			break
		}
		p.off, p.offStep = to, 2*s.least
		v := &s.lines[k]
		at := s.start(k) + int(v.Axis)
		p.sink.buf = program.AppendAxis(append(p.sink.buf, s.text[from:at]...), v.Style, p.opt.Machine.ZAxis, num)
		from = at
		if ranged {
			p.checkRange(s.spell.z+to, s.it.Block.Line+k, s.it.Move.To)
		}
		p.Figures.z(s.spell.z + to)
		p.Figures.Changed++
		s.travel += rise
		s.slant += rise * rise / (2 * l)
		if v.Burn && rise*s.steepPath > s.steepRise*l { // a run of burns may have travels
			s.steepRise, s.steepPath = rise, l
		}
	}
	p.sink.buf = append(p.sink.buf, s.text[from:s.start(k)]...)
	return k
}

// skip returns the first line from line k on that may not leave Z as it is. The
// others ask for no other Z, or Z may wait: there is room for that, and the next
// line can still make up for it.
func (s *runWriter) skip(k int) int {
	s.spell.stand()
	last, off := len(s.lines)-1, s.p.off
	for ; k < last; k++ {
		out := math.Abs(s.want(k) - off)
		if out > s.room {
			return k
		}
		if out <= s.least {
			continue
		}
		next := s.want(k + 1)
		n, ok := s.spell.round(next)
		rise := math.Abs(n-s.spell.at) * s.spell.step
		if !ok {
			_, to := s.spell.exact(next)
			rise = math.Abs(to - off)
		}
		// What rounding makes of the steepest line is no steeper than that.
		if rise > s.makeUp*s.length(k+1)+s.roundedUp {
			return k
		}
	}
	if k == last && math.Abs(s.want(k)-off) <= s.least {
		k++
	}
	return k
}

// start is where line k begins in the text, or ends that before it.
func (s *runWriter) start(k int) int {
	if k == 0 {
		return 0
	}
	return len(s.text) - int(s.lines[len(s.lines)-1].End-s.lines[k-1].End)
}

// length is that of line k.
func (s *runWriter) length(k int) float64 {
	if k == 0 {
		return s.lines[0].D - s.it.StartD
	}
	return s.lines[k].D - s.lines[k-1].D
}

// want is what Z is to be off by where line k ends.
func (s *runWriter) want(k int) float64 {
	if k+1 == len(s.lines) {
		return s.p.opt.Sigma() * s.target.C
	}
	return s.c + s.rate*(s.lines[k].D-s.it.StartD)
}

// block writes line k as a block. Before it others may have been passed by.
func (s *runWriter) block(k int, passed bool) {
	p := s.p
	s.blocks += s.length(k)
	stroke := s.target.Stroke && k == 0 // after which Z stands where it was sent
	if s.until <= k && !stroke {
		s.until = s.skip(k)
	}
	want := s.want(k)
	if k < s.until {
		want = p.off
	}
	if k > 0 {
		p.due = p.opt.Sigma() * s.want(k-1)
	}
	s.it.LineItem(k, &p.line)
	if k > 0 || passed {
		before := &p.line.Before
		p.src.At, p.src.Power, p.src.PowerSaid, p.src.Motion = before.At, before.Power, before.PowerSaid, before.Motion
		if passed {
			p.comeTo(&p.src, false, s.it.Move.Burn || before.Power != s.it.Before.Power)
		}
	}
	p.block(&p.line, Target{C: p.opt.Sigma() * want, Before: s.target.Before, Stroke: stroke, due: p.opt.Sigma() * s.want(k), inRun: true, Longer: s.target.Longer})
	s.target.Stroke = false
}

// count takes the lines written here into the figures; perMM is the time in s
// of a mm.
func (s *runWriter) count(perMM float64) {
	o, f := s.p.opt, &s.p.Figures
	slanted := o.Machine.FeedCountsZ && o.Machine.ZAxis == 'Z'
	f.ZTravel += s.travel
	if s.it.Move.Burn {
		path := s.steepPath
		if slanted {
			path = math.Hypot(s.steepPath, s.steepRise)
		}
		f.PeakRate = max(f.PeakRate, s.steepRise/(path*perMM)*60)
	}
	path := s.it.Move.Length - s.blocks
	if slanted {
		path += s.slant
	}
	f.SecondsOut += path * perMM
}
