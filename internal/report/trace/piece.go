package trace

import (
	"math"
	"strings"
	"unicode/utf8"

	"github.com/paulmach/orb"
)

// mostText is how many bytes of a line are kept: with all stretches a tenth of what a page
// may have.
const mostText = 120

// piece is a stretch on its way.
type piece struct {
	Stretch
	// n is how many steps it stands for, parts of them counting as such.
	n float64
	// Of its travels, apart from its burns.
	height, defocus Range
	// spent is the range of what burns spend, with what heights are less sure by, and worst
	// the place where that is most.
	spent Range
	worst worst
	text  [mostText]byte
	chars uint8
}

// worst is where most of the depth is spent.
type worst struct {
	// part is that of the depth, below 0 for none.
	part                          float64
	defocus, less, height, second float64
	at                            orb.Point
	line, original                int
	side                          float64 // of the depth, in mm
}

func newPiece(program int, s *Step, asked *depth, at float64, from orb.Point) piece {
	return piece{
		Stretch: Stretch{Program: program, Line: s.Line, LastLine: s.Line, OriginalLine: s.OriginalLine,
			Near: asked.near, Far: asked.far, WantedMM: asked.defocus, May: Empty(), Must: Empty(),
			At: at, Until: at, C: Empty(), Height: Empty(), Defocus: Empty(), Slowed: 1, From: from, To: from},
		height: Empty(), defocus: Empty(), spent: Empty(),
		worst: worst{part: -1, at: from, line: s.Line, original: s.OriginalLine},
	}
}

// asked is what its burns ask for.
func (p *piece) asked() depth { return depth{p.Near, p.Far, p.WantedMM} }

// take takes a step, or so much of one, up to a time and a place.
func (p *piece) take(s *Step, asked *depth, share, until float64, to orb.Point) {
	if p.chars == 0 {
		p.say(s)
	}
	p.n += share
	p.Until, p.To, p.LastLine = until, to, s.Line
	if p.OriginalLine == 0 {
		p.OriginalLine = s.OriginalLine
	}
	if s.Stops {
		return
	}
	p.ZSpeed = max(p.ZSpeed, finite(s.ZSpeed))
	if !s.Burns {
		p.Travels = true
		return
	}
	p.Burns, p.Near, p.Far, p.WantedMM = true, asked.near, asked.far, asked.defocus
	p.BurnMM += finite(s.LengthMM) * share
	p.Less = max(p.Less, s.Less)
	if s.Speed > 0 {
		p.Slowed = min(p.Slowed, s.Speed)
	}
}

// extremes takes the extremes of all of a burn that begins at a time.
func (p *piece) extremes(s *Step, depth *depth, at float64) {
	p.Height.Join(Range{s.Height.Lo, s.Height.Hi})
	p.Defocus.Join(Range{s.Defocus.Lo, s.Defocus.Hi})
	if s.Within <= math.MaxFloat64 { // the height at its middle is one
		d := (s.C0+s.C1)/2 - s.Middle - depth.defocus
		p.Height.Add(s.Middle)
		p.Defocus.Add(d)
		if s.Less == 0 && (d < p.spent.Lo || d > p.spent.Hi) {
			p.spent.Add(d)
			p.spends(s, depth, d, 0.5, 0, at)
		}
	}
	p.low(s, depth, at)
	p.high(s, depth, at)
}

// low takes the least of what a burn spends, and high the greatest.
func (p *piece) low(s *Step, depth *depth, at float64) {
	if e := &s.Spent; e.Lo < p.spent.Lo {
		p.spent.Lo = e.Lo
		p.spends(s, depth, e.Lo+e.LessLo, e.AtLo, e.LessLo, at)
	}
}

func (p *piece) high(s *Step, depth *depth, at float64) {
	if e := &s.Spent; e.Hi > p.spent.Hi {
		p.spent.Hi = e.Hi
		p.spends(s, depth, e.Hi-e.LessHi, e.AtHi, e.LessHi, at)
	}
}

// spends takes a place where a defocus spends of the depth, with what heights are less sure
// by, at a fraction of a step that begins at a time.
func (p *piece) spends(s *Step, depth *depth, defocus, part, less, at float64) {
	near, far := -(defocus-less)/depth.near, (defocus+less)/depth.far
	spent, side := max(near, far), depth.far
	if !(spent > p.worst.part) {
		return
	}
	if near > far {
		side = depth.near
	}
	p.worst = worst{part: spent, defocus: defocus, less: less, height: s.c(part) - depth.defocus - defocus, side: side,
		second: at + part*finite(s.Seconds), at: s.Way.XY(part), line: s.Line, original: s.OriginalLine}
	p.say(s)
}

// say keeps the line of a step.
func (p *piece) say(s *Step) { p.chars = uint8(copy(p.text[:], s.Text)) }

// join takes the piece behind in.
func (p *piece) join(o *piece) {
	p.n += o.n
	p.Until, p.To, p.LastLine = o.Until, o.To, o.LastLine
	if p.OriginalLine == 0 {
		p.OriginalLine = o.OriginalLine
	}
	p.joinAsked(o)
	p.Burns, p.Travels = p.Burns || o.Burns, p.Travels || o.Travels
	p.C.Join(o.C)
	p.Height.Join(o.Height)
	p.Defocus.Join(o.Defocus)
	p.height.Join(o.height)
	p.defocus.Join(o.defocus)
	p.spent.Join(o.spent)
	p.Less, p.Slowed = max(p.Less, o.Less), min(p.Slowed, o.Slowed)
	p.ZSpeed = max(p.ZSpeed, o.ZSpeed)
	if o.ZStep > p.ZStep {
		p.ZStep, p.ZStepAt = o.ZStep, o.ZStepAt
	}
	p.BurnMM += o.BurnMM
	if o.worst.part > p.worst.part {
		p.worst, p.text, p.chars = o.worst, o.text, o.chars
	}
}

// joinAsked takes in what the burns of the piece behind ask for, before its ranges are.
func (p *piece) joinAsked(o *piece) {
	switch {
	case !o.Burns || p.Burns && o.Height.IsEmpty():
	case !p.Burns || p.Height.IsEmpty():
		p.Near, p.Far, p.WantedMM, p.Several, p.May, p.Must = o.Near, o.Far, o.WantedMM, o.Several, o.May, o.Must
	case p.Several || o.Several || p.asked() != o.asked():
		may, must := p.Windows(p.Height)
		may2, must2 := o.Windows(o.Height)
		may.Join(may2)
		p.May, p.Must = may, Range{max(must.Lo, must2.Lo), min(must.Hi, must2.Hi)}
		left, right := min(p.Near+p.Defocus.Lo, o.Near+o.Defocus.Lo), min(p.Far-p.Defocus.Hi, o.Far-o.Defocus.Hi)
		p.Near, p.Far = left-min(p.Defocus.Lo, o.Defocus.Lo), right+max(p.Defocus.Hi, o.Defocus.Hi)
		p.Several, p.WantedMM = true, 0
	}
}

// Windows are where c may be for any of the burns of the stretch, and where for all, over
// heights of it.
func (s *Stretch) Windows(height Range) (may, must Range) {
	if s.Several {
		return s.May, s.Must
	}
	low, high := s.WantedMM-(s.Near-s.Less), s.WantedMM+(s.Far-s.Less)
	return Range{height.Lo + low, height.Hi + high}, Range{height.Hi + low, height.Lo + high}
}

// stretch is what it is to others.
func (p *piece) stretch() Stretch {
	s := p.Stretch
	if !s.Burns {
		s.Height, s.Defocus = p.height, p.defocus
	}
	s.WorstAt, s.WorstLine, s.Text = p.worst.at, p.worst.line, printable(p.text[:p.chars])
	return s
}

// printable is a line as it may be shown.
func printable(line []byte) string {
	text := strings.Map(func(r rune) rune {
		switch {
		case r == '\t':
			return ' '
		case r == utf8.RuneError || r < ' ' || r >= 0x7f && r < 0xa0 || r == '\u2028' || r == '\u2029' || r >= '\u202a' && r <= '\u202e' || r >= '\u2066' && r <= '\u2069':
			return -1
		}
		return r
	}, string(line))
	return strings.TrimSpace(text)
}
