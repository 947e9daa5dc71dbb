package rewrite

import (
	"math"

	"sagitta/internal/machine"
	"sagitta/internal/program"
	"sagitta/internal/stream"
)

const (
	// FeedSlack is how far XY speed may be off before F is compensated.
	FeedSlack = 0.005
	// feedDigits is how many significant digits a computed F has: its
	// rounding, always down, is small against FeedSlack.
	feedDigits = 5
)

// link is a straight part of the correction: the part ds of the move, over
// which the offset of Z changes by doff mm, and was planned to by due. Of a cut move
// ds counts between the points as written: rounded, short pieces differ by more than F
// may.
type link struct{ ds, doff, due float64 }

// link is that of a part of a move, from an offset to a planned correction.
func (p *Pen) link(ds, from, due float64) link {
	l := link{ds, p.off - from, p.opt.Sigma() * (due - p.due)}
	p.due = due
	return l
}

// setFeed adds the F that the link needs, and puts the programmed F back where
// the link needs none of its own and another is in force. Of a cut move, own
// tells the piece that is the block itself, and first the first of those before
// it.
func (p *Pen) setFeed(it *stream.Item, l link, own, first bool) {
	m := &it.Move
	seconds := m.Seconds * l.ds
	dz := (m.To.Z-m.From.Z)*l.ds + l.doff
	length := m.Length * l.ds
	said := it.Actions.F.In(&it.Block)
	p.share = 1
	if m.Rapid {
		if !m.FromUnknown && !m.ZUnknown {
			seconds = math.Hypot(length, dz) / p.opt.Machine.RapidMMMin * 60 // the way as it is written
		}
		p.took = p.withZ(seconds, dz)
		p.Figures.link(it, length, dz, p.took, l.doff != 0)
		if first && said != nil {
			p.ch = append(p.ch, program.Change{Letter: 'F', Num: said.Num})
		}
		if said != nil {
			p.feed = said.Num
		}
		return
	}
	want, took := p.linkFeed(it, l, seconds, length, dz)
	p.share = p.slowed(it, seconds, took)
	if rise := m.To.Z - m.From.Z; length == 0 && rise != 0 && !it.During.InverseTime && !m.ZUnknown {
		took *= math.Abs(dz / rise) // Z alone, at its feed
	}
	p.took = p.withZ(took, dz)
	p.Figures.link(it, length, dz, p.took, l.doff != 0)
	now := p.feed
	if said != nil && own {
		now = said.Num
	}
	if want.Cmp(now) != 0 || it.During.InverseTime && !own {
		p.ch = append(p.ch, program.Change{Letter: 'F', Num: want})
	}
	p.feed = want
}

// withZ is the time of a move over which Z changes by dz, which may take longer than
// XY does.
func (p *Pen) withZ(seconds, dz float64) float64 {
	return max(seconds, p.opt.ZSeconds(dz))
}

// linkFeed gives the F word for a link, in G93 in 1/min, and how long it takes with
// it in s, as it is written.
func (p *Pen) linkFeed(it *stream.Item, l link, seconds, length, dz float64) (program.Number, float64) {
	m, o, inverse := &it.Move, p.opt, it.During.InverseTime
	changes := l.doff != 0 && (length > 0 || inverse) && !m.FromUnknown && !m.ZUnknown
	took, slower := seconds, false
	if o.ZRate > 0 && (changes || l.due != 0) {
		took, slower = p.inRate(it, (m.To.Z-m.From.Z)*l.ds+l.due, dz, seconds, changes)
	}
	even := m.Burn && p.longer > 1 && seconds > 0
	if even {
		took, slower, changes = max(took, seconds*p.longer), true, true
	}
	if inverse {
		if o.FeedMax > 0 && changes {
			own := math.Hypot(m.Length, m.To.Z-m.From.Z) / m.Seconds * 60
			if least := math.Hypot(length, dz) / max(o.FeedMax, own) * 60; took < least*(1-rounding) {
				slower, took = true, least
			}
		}
		if said := it.Actions.F.In(&it.Block); !slower && l.ds == 1 && said != nil {
			return said.Num, seconds
		}
		if slower {
			p.Figures.Lowered++
		}
		f := roundDown(60 / took)
		return f, 60 / f.Float()
	}
	if !changes {
		return it.During.Feed, seconds
	}
	path := length
	if o.Machine.FeedCountsZ && o.Machine.ZAxis == 'Z' {
		path = math.Hypot(length, dz)
	}
	way := path
	if slower && m.Kind == machine.Arc && l.ds != 1 {
		// Its ends and its centre are rounded: on a way shorter by two
		// decimals Z must keep its rate, to within the one of its own.
		dec := o.Decimal(it.During.Inches)
		path = max(path/2, path-max(0, 2*dec-dec*length/math.Abs(dz)))
	}
	want := path / took * 60 // mm/min
	if o.FeedMax > 0 && want > o.FeedMax && want > m.Feed {
		want = max(o.FeedMax, min(m.Feed, want))
	}
	switch {
	case !slower && math.Abs(want/m.Feed-1) <= FeedSlack:
		return it.During.Feed, way / m.Feed * 60
	case want < m.Feed:
		p.Figures.Lowered++
	default:
		p.Figures.Raised++
	}
	if all := m.Feed / p.longer; even && math.Abs(want/all-1) <= FeedSlack {
		want = all // as all burns of the row
	}
	f := roundDown(want / Unit(it.During.Inches))
	return f, way / (f.Float() * Unit(it.During.Inches)) * 60
}

// inRate is how long a link takes that is planned to change Z by so much, and written to
// by dz, in the time of its feed, or longer where that is more than the rate of Z
// allows: no less than half a step tells is left over for the links behind it, so that
// short ones do not add up. May tells whether it can take longer at all.
func (p *Pen) inRate(it *stream.Item, planned, dz, seconds float64, may bool) (took float64, slower bool) {
	m, o := &it.Move, p.opt
	step := o.Step(it.During.Inches)
	need := p.debt + math.Abs(planned)
	took = seconds
	switch {
	case !may || need <= o.ZRate*seconds+step/2:
	case !m.Burn:
		took, slower = max(need, math.Abs(dz))/o.ZRate, true
	case o.MaySlow(m):
		most := seconds / o.Slowest
		took, slower = min(max(need, math.Abs(dz))/o.ZRate, max(most, math.Abs(planned)/o.ZRate)), true
		if took > most*(1+FeedSlack) {
			p.breach(TooSteep, it.Block.Line, m.From, o.ZRate*took/seconds*60)
		}
	case math.Abs(dz) > o.ZRate*seconds+step:
		// The plan has seen to what is allowed, except where less was looked ahead
		// at than it needs.
		took, slower = math.Abs(dz)/o.ZRate, true
		p.breach(TooSteep, it.Block.Line, m.From, o.ZRate*took/seconds*60)
	}
	p.debt = min(step, max(0, need-o.ZRate*took))
	return took, slower
}

// What marks is power over speed: a burn that is slowed gets the same share of its
// power, unless the source sees to that.

// slowed returns the share of its power that a burn gets which takes so long instead
// of the programmed time, and counts it where it is slowed.
func (p *Pen) slowed(it *stream.Item, seconds, took float64) (share float64) {
	m, o := &it.Move, p.opt
	if !m.Burn || took <= seconds*(1+FeedSlack) {
		return 1
	}
	share = seconds / took
	p.Figures.Slowed++
	p.Figures.SlowedBy = max(p.Figures.SlowedBy, 1-share)
	switch {
	case !o.PowerGoes(m):
		return 1
	case m.Power <= 0:
		p.breach(PowerUnsaid, it.Block.Line, m.From, 1-share)
	case share*m.Power < o.PowerLeast*(1-FeedSlack):
		p.breach(PowerLow, it.Block.Line, m.From, 1-share)
	}
	if o.Rehearsal {
		return 1
	}
	return share
}

// roundDown keeps the leading digits of a feed.
func roundDown(f float64) program.Number {
	dec := 0
	for x := f; x < math.Pow10(feedDigits-1) && dec < 9; x *= 10 {
		dec++
	}
	// A hair is added so that what is exact in decimals stays.
	return program.Round(math.Floor(f*math.Pow10(dec)*(1+rounding))/math.Pow10(dec), int8(dec)).Trim()
}

// regainFeed writes a block that puts the programmed F and power back where others
// are in force.
func (p *Pen) regainFeed(like *program.Block) {
	if f := feedOf(&p.src); !p.src.InverseTime && p.feed.Cmp(f) != 0 {
		p.ch = append(p.ch, program.Change{Letter: 'F', Num: p.src.Feed})
		p.feed = p.src.Feed
	}
	p.regainPower(&p.src)
	p.put(like)
}

// regainEnd writes a block that brings motion mode and feed to those that the
// original ends with, where it may go on behind its last line. A part of it need
// not end so.
func (p *Pen) regainEnd(like *program.Block) {
	if p.part {
		return
	}
	if !p.stopped && p.src.Motion > 0 && p.have.Motion != p.src.Motion {
		p.ch = append(p.ch, g(program.Int(int64(p.src.Motion))))
		p.have.Motion = p.src.Motion
	}
	if f := feedOf(&p.src); !p.src.InverseTime && p.feed.Cmp(f) != 0 && f.Mant > 0 {
		p.ch = append(p.ch, program.Change{Letter: 'F', Num: f})
		p.feed = f
	}
	p.regainPower(&p.src)
	p.put(like)
}
