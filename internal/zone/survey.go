package zone

import (
	"bytes"
	"io"
	"math"

	"sagitta/internal/cover"
	"sagitta/internal/focus"
	"sagitta/internal/setup"
)

// Survey reads a program and says how it is divided. It writes nothing.
//
// Errors: *diag.Error for what is read,
// *UnmetError where the job cannot be divided, and those of r as they are.
func Survey(r io.Reader, opt Options) (*Plan, error) {
	lenses, err := choose(&opt)
	if err != nil {
		return nil, err
	}
	opt.Lenses = lenses
	usable := opt.widen()
	s := newSurveyor(&opt)
	s.usable = usable
	w := newWalker(r, &opt)
	if err := w.each(func(b *batch) error {
		s.take(b)
		w.giveBack(b)
		return nil
	}); err != nil {
		return nil, err
	}
	p, err := s.plan()
	if err != nil {
		return nil, err
	}
	return p, nil
}

// surveyor gathers what a plan is made of.
type surveyor struct {
	levels levels
	usable []focus.Depth
	p      *Plan
	opt    *Options
	fails  failures
	sets   []cover.Heights
	whole  []*cover.Whole
	figs   []int
	thick  float64
	sigma  float64

	// The figure under way.
	run    bool
	broken bool
	seen   cover.Span
	// travelZ is the highest Z of the travels since the last burn.
	travelZ float64
	endSeen bool
}

func newSurveyor(opt *Options) *surveyor {
	n := len(opt.Lenses)
	s := &surveyor{levels: newLevels(), p: &Plan{opt: *opt, Low: math.Inf(1), High: math.Inf(-1), clearZ: math.Inf(-1), burnZ: math.Inf(-1), endGoes: true},
		opt: opt, sigma: opt.sigma(), sets: make([]cover.Heights, n), figs: make([]int, n)}
	for i := range opt.Lenses {
		// The zones will be narrower than the lens by about as much.
		s.thick = 2 * opt.pieceTol()
		width := opt.Lenses[i].Width()
		s.whole = append(s.whole, cover.NewWhole(max(width-s.slop(width), width/2)))
	}
	s.p.marked = setup.NewMarks(opt.Surface)
	s.p.opt.Lenses = opt.Lenses
	s.travelZ = math.Inf(-1)
	return s
}

func (s *surveyor) take(b *batch) {
	s.thick = max(s.thick, b.thick)
	for i := range b.items {
		it := &b.items[i]
		if it.flags&(isBurn|isMotion) == 0 {
			continue
		}
		s.levels.take(b, it, s.sigma)
		if it.is(isBurn) {
			s.burn(it)
			s.p.burnZ = max(s.p.burnZ, s.burnZ(b, it))
			if s.travelZ > s.p.clearZ && s.p.Burns > 1 {
				s.p.clearZ = s.travelZ
			}
			s.travelZ = math.Inf(-1)
			s.p.endGoes, s.endSeen = true, false
			if it.held >= 0 {
				s.p.marked.Move(&b.blocks[it.held].mv)
			} else {
				s.p.marked.Line(it.x0, it.y0, it.x, it.y)
			}
			continue
		}
		s.travel(b, i)
	}
}

// burnZ is the programmed Z of a burn, counted away from the stock.
func (s *surveyor) burnZ(b *batch, it *item) float64 {
	if it.held < 0 {
		return s.sigma * b.strands[it.like].m.at.Z
	}
	m := &b.blocks[it.held].mv
	return max(s.sigma*m.From.Z, s.sigma*m.To.Z)
}

// travel takes a motion that does not burn, item i.
func (s *surveyor) travel(b *batch, i int) {
	it := &b.items[i]
	if it.held < 0 {
		s.broken = true
		m := &b.strands[it.like].m
		s.travelZ = max(s.travelZ, s.sigma*m.at.Z)
		if !s.endSeen {
			line := b.text[b.start(i):it.end] // of words alone
			s.goes(bytes.ContainsAny(line, "Xx"), bytes.ContainsAny(line, "Yy"), m.relative)
		}
		return
	}
	h := &b.blocks[it.held]
	if saysPlace(&h.block) {
		_, x := h.block.Find('X')
		_, y := h.block.Find('Y')
		s.goes(x, y, h.after.relative)
	}
	if it.length == 0 && h.mv.From.Z == h.mv.To.Z && !it.is(pathless) {
		return
	}
	s.broken = true
	if it.length > 0 {
		s.travelZ = max(s.travelZ, min(s.sigma*h.mv.From.Z, s.sigma*h.mv.To.Z))
	}
}

// goes notes the first motion over XY after a burn.
func (s *surveyor) goes(x, y, relative bool) {
	if !s.endSeen {
		s.endSeen = true
		s.p.endGoes = x && y && !relative
	}
}

func (s *surveyor) burn(it *item) {
	p := s.p
	p.Burns++
	p.BurnLength += it.length
	p.lastBurn = int(it.line)
	if it.flags&(isOff|isHole) != 0 {
		switch {
		case it.is(isHole):
			s.fails.add(int(it.line), "a burn passes over a hole in the surface, from X%.3f Y%.3f", it.x0, it.y0)
		case !s.opt.OutsideHold:
			s.fails.add(int(it.line), "a burn leaves the surface, from X%.3f Y%.3f", it.x0, it.y0)
		default:
			p.Outside++
		}
	}
	p.Low, p.High = min(p.Low, it.a), max(p.High, it.b)
	if !s.run || s.broken {
		s.endRun()
		s.run, s.broken = true, false
		s.seen = cover.Span{Lo: it.a, Hi: it.b}
	} else {
		s.seen.Lo, s.seen.Hi = min(s.seen.Lo, it.a), max(s.seen.Hi, it.b)
	}
	for k, w := range s.whole {
		if w.Count(cover.Span{Lo: it.a, Hi: it.b}) {
			continue
		}
		// So long a figure needs the deepest lens, or there is only one.
		if len(s.whole) == 1 || lensFor(s.opt.Lenses, s.seen) == k {
			w.Keep()
		} else {
			w.Drop()
		}
	}
}

// endRun gives the figure that has ended its lens.
func (s *surveyor) endRun() {
	if !s.run {
		return
	}
	k := lensFor(s.opt.Lenses, s.seen)
	s.sets[k].Add(s.seen)
	s.figs[k]++
	if len(s.opt.Lenses) > 1 {
		s.p.turns.add(k)
	}
	s.whole[k].Keep()
	for _, w := range s.whole {
		w.Drop()
	}
}
