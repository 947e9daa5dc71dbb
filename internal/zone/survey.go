package zone

import (
	"io"
	"math"

	"sagitta/internal/clearance"
	"sagitta/internal/cover"
	"sagitta/internal/focus"
	"sagitta/internal/machine"
	"sagitta/internal/setup"
	"sagitta/internal/stream"
	"sagitta/internal/surface"
)

// Survey reads a program and says how it is divided. It writes nothing.
//
// Errors: *diag.Error for what is read, *UnmetError where the job cannot be
// divided, and those of r as they are.
func Survey(r io.Reader, opt Options) (*Plan, error) {
	lenses, err := choose(&opt)
	if err != nil {
		return nil, err
	}
	opt.Lenses = lenses
	usable := opt.widen()
	opt.prepare()
	s := newSurveyor(&opt)
	s.usable = usable
	source := stream.New(r, opt.reading())
	if err := source.Each(func(it *stream.Item) error {
		s.take(it)
		source.Done(it)
		return nil
	}); err != nil {
		return nil, err
	}
	return s.plan()
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
	slack  float64 // the most that is not certain of the heights under a burn
	sigma  float64
	lit    bool // the beam has been put on

	// The figure under way.
	run    bool
	broken bool
	seen   cover.Span
	// travelZ is the highest Z of the travels since the last burn.
	travelZ float64
}

func newSurveyor(opt *Options) *surveyor {
	n := len(opt.Lenses)
	s := &surveyor{levels: newLevels(), p: &Plan{opt: *opt, Low: math.Inf(1), High: math.Inf(-1), clearZ: math.Inf(-1), burnZ: math.Inf(-1), preamble: nothing()},
		opt: opt, sigma: opt.Sigma(), sets: make([]cover.Heights, n), figs: make([]int, n)}
	for i := range opt.Lenses {
		// The zones will be narrower than the lens by about as much.
		s.slack = 2 * opt.pieceTol()
		width := opt.Lenses[i].Width()
		s.whole = append(s.whole, cover.NewWhole(max(width-s.slop(width), width/2)))
	}
	s.p.marked = setup.NewMarks(opt.Surface)
	s.p.opt.Lenses = opt.Lenses
	s.travelZ = math.Inf(-1)
	return s
}

func (s *surveyor) take(it *stream.Item) {
	s.lit = s.lit || lights(it)
	if s.p.Burns > 0 && !it.Move.Burn {
		s.p.ending.take(s.opt, it)
	}
	if !it.Move.Burn && !it.Moves() {
		return
	}
	s.levels.take(it, s.sigma)
	if it.Move.Burn {
		s.burn(it)
		return
	}
	s.broken = s.broken || moves(it)
	if it.Move.Length > 0 {
		s.travelZ = max(s.travelZ, min(s.sigma*it.Move.From.Z, s.sigma*it.Move.To.Z))
	}
	if s.p.Burns == 0 && !s.lit {
		s.p.preamble.take(s.opt.along(it))
		if !s.p.begins.FromUnknown && it.Known() && clearance.Arrives(&it.Move) {
			s.p.begins = it.Move
		}
	}
}

// burn takes a burn, or a run of them.
func (s *surveyor) burn(it *stream.Item) {
	p, m, h := s.p, &it.Move, s.opt.seen(it.Pieces())
	if s.travelZ > p.clearZ && p.Burns > 0 {
		p.clearZ = s.travelZ
	}
	s.travelZ = math.Inf(-1)
	if p.Burns == 0 {
		p.firstZ = m.From.Z
	}
	p.burnZ = max(p.burnZ, s.sigma*m.From.Z, s.sigma*m.To.Z)
	p.ending = ending{asked: nothing()}
	n := it.Count()
	p.Burns += n
	p.BurnLength += m.Length
	p.lastBurn = it.Block.Line + n - 1
	if s.opt.Pause && it.Actions.Ends {
		s.fails.add(it.Block.Line, "this line burns and ends the program, which goes on with the next zone: put what ends it in a line of its own")
	}
	s.mark(it)
	s.covered(it)
	p.Low, p.High = min(p.Low, h.Lo), max(p.High, h.Hi)
	if !s.run || s.broken {
		s.endRun()
		s.run, s.broken, s.seen = true, false, h
	} else {
		s.seen.Lo, s.seen.Hi = min(s.seen.Lo, h.Lo), max(s.seen.Hi, h.Hi)
	}
	for k, w := range s.whole {
		if w.Count(h, n) {
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

// covered notes a burn over no surface, and how far its heights are not certain.
func (s *surveyor) covered(it *stream.Item) {
	line, from := it.Block.Line, it.Move.From
	off, hole := false, false
	for _, pc := range it.Pieces() {
		off, hole = off || pc.Where == surface.Outside, hole || pc.Where == surface.Hole
		s.slack = max(s.slack, pc.Up+pc.Down)
	}
	switch {
	case hole:
		s.fails.add(line, "a burn passes over a hole in the surface, from X%.3f Y%.3f", from.X, from.Y)
	case off && !s.opt.OutsideHold:
		s.fails.add(line, "a burn leaves the surface, from X%.3f Y%.3f", from.X, from.Y)
	case off:
		s.p.Outside++
	}
}

// mark marks a burn on the map.
func (s *surveyor) mark(it *stream.Item) {
	if !it.IsRun() {
		s.p.marked.Move(&it.Move)
		return
	}
	for a, b := range it.Ends() {
		s.p.marked.Line(a.X, a.Y, b.X, b.Y)
	}
}

// lights reports whether the beam is on, by the item or one before it.
func lights(it *stream.Item) bool {
	return it.Actions.Beam != 0 && it.Actions.BeamOn || it.After.Beam == machine.On
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
		s.p.order.add(k)
	}
	s.whole[k].Keep()
	for _, w := range s.whole {
		w.Drop()
	}
}
