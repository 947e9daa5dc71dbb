package zone

import (
	"bytes"
	"io"
	"math"

	"sagitta/internal/focus"
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
	sets   []heightSet
	spread []spread
	figs   []int
	thick  float64
	sigma  float64

	// The figure under way.
	run    bool
	broken bool
	seen   Span
	// bins are the figure's burns for each lens, kept until it is known
	// which lens it is given.
	bins [][]binCount
	// travelZ is the highest Z of the travels since the last burn.
	travelZ float64
	endSeen bool
}

// binCount is a number of burns over the same bins; those from aLo to aHi and
// up to bHi, above bLo, are.
type binCount struct {
	from, to           int32
	n                  uint32
	aLo, aHi, bLo, bHi float64
}

func newSurveyor(opt *Options) *surveyor {
	n := len(opt.Lenses)
	s := &surveyor{levels: newLevels(), p: &Plan{opt: *opt, Low: math.Inf(1), High: math.Inf(-1), clearZ: math.Inf(-1), burnZ: math.Inf(-1), endGoes: true},
		opt: opt, sigma: opt.sigma(), sets: make([]heightSet, n), figs: make([]int, n), bins: make([][]binCount, n)}
	for i := range opt.Lenses {
		// The zones will be narrower than the lens by about as much.
		s.thick = 2 * opt.pieceTol()
		width := opt.Lenses[i].Width()
		s.spread = append(s.spread, newSpread(max(width-s.slop(width), width/2)))
	}
	s.p.marked = newMarks(opt.Surface)
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
				s.markArc(b, it)
			} else {
				s.p.marked.line(it.x0, it.y0, it.x, it.y)
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

func (s *surveyor) markArc(b *batch, it *item) {
	m := &b.blocks[it.held].mv
	const turnStep = 0.2
	n := 1 + int(min(math.Abs(m.Sweep)/turnStep, 1e4))
	at := m.XY(0)
	for k := 1; k <= n; k++ {
		to := m.XY(float64(k) / float64(n))
		s.p.marked.line(at[0], at[1], to[0], to[1])
		at = to
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
		s.seen = Span{it.a, it.b}
	} else {
		s.seen.Lo, s.seen.Hi = min(s.seen.Lo, it.a), max(s.seen.Hi, it.b)
	}
	for k := range s.bins {
		s.count(k, it)
	}
}

// count counts the burn in the bins for lens k.
func (s *surveyor) count(k int, it *item) {
	list := s.bins[k]
	if n := len(list); n > 0 {
		c := &list[n-1]
		if it.a >= c.aLo && it.a < c.aHi && it.b > c.bLo && it.b <= c.bHi {
			c.n++
			return
		}
	}
	sp := &s.spread[k]
	from, to := sp.bins(it.a, it.b)
	c := binCount{from: from, to: to, n: 1, aLo: float64(from) * sp.bin, aHi: float64(from+1) * sp.bin,
		bLo: float64(to) * sp.bin, bHi: float64(to+1) * sp.bin}
	if len(list) >= mostPending {
		// So long a figure needs the deepest lens, or there is only one.
		if deepest := lensFor(s.opt.Lenses, s.seen); deepest == k || len(s.bins) == 1 {
			for i := range list {
				sp.add(list[i].from, list[i].to, list[i].n)
			}
		}
		list = list[:0]
	}
	s.bins[k] = append(list, c)
}

// mostPending is how many counts of a figure are kept.
const mostPending = 1 << 13

// endRun gives the figure that has ended its lens.
func (s *surveyor) endRun() {
	if !s.run {
		return
	}
	k := lensFor(s.opt.Lenses, s.seen)
	s.sets[k].add(s.seen)
	s.figs[k]++
	if len(s.opt.Lenses) > 1 {
		s.p.turns.add(k)
	}
	for i := range s.bins {
		if i == k {
			for _, c := range s.bins[i] {
				s.spread[k].add(c.from, c.to, c.n)
			}
		}
		s.bins[i] = s.bins[i][:0]
	}
}
