package zone

import (
	"math"

	"sagitta/internal/machine"
	"sagitta/internal/program"
	"sagitta/internal/stream"
	"sagitta/internal/zone/order"
)

// record reads the program and notes its pieces; nil where they are to stay in the
// original's order. miss is as of split.
func (p *Plan) record(r Source) (rec *recorder, miss float64, err error) {
	if p.opt.Original || len(p.Zones) < 2 {
		return nil, 0, nil
	}
	s := p.newSplitter("")
	s.rec, s.source = newRecorder(p), stream.New(r, p.opt.reading())
	s.rec.kinds = kinds{cuts: p.opt.Cuts, tool: -1}
	if err := s.source.Each(s.take); err != nil {
		return nil, 0, err
	}
	s.settle()
	if err := s.fails.Err(s.opt.Name); err != nil {
		return nil, s.miss, err
	}
	rec = s.rec
	rec.tail.Size, rec.end = math.MaxInt64-rec.tail.Offset, s.end // up to the end
	return rec, 0, nil
}

// replay is how the pieces are read again, in the order in which they are burned.
type replay struct {
	rec    *recorder
	visits []order.Visit
	// visit, step and span are those under way; span 0 is the prefix.
	visit, step, span int
	// arrived is the program that has come to its first burn by the original's own
	// way, nil where none has.
	arrived *out
	// before is the piece that was burned last, -1 for none.
	before int
	// ends is the visit that stands where the original does behind its last burn, -1
	// where none does.
	ends int
	// dropped tells that what stands before the piece was left out.
	dropped bool
	line    stream.Item // a line of a run that is cut
}

// orders has the pieces put in order, and makes the zones those that are set one after
// the other. It reports false where the original's order is kept.
func (s *splitter) orders(rec *recorder) bool {
	if rec.full {
		s.p.Kept = "it has more than two million pieces"
		return false
	}
	found := rec.job.Order()
	if s.p.Kept = found.Original; s.p.Kept != "" {
		return false
	}
	s.p.Original = false
	s.again = &replay{rec: rec, visits: found.Visits, before: -1, ends: -1}
	s.end = rec.end
	zones, used, of := make([]Zone, len(found.Visits)), make([]bool, len(s.p.Zones)), make([]int, len(found.Visits))
	for i, v := range found.Visits {
		zones[i], used[v.Zone], of[i] = s.p.Zones[v.Zone], true, v.Zone
		zones[i].Order = i + 1
	}
	for k, z := range s.p.Zones {
		if !used[k] {
			s.p.Lenses[z.Lens].Zones--
		}
	}
	s.p.Zones = zones
	setPoints(s.p, of, &s.fails)
	return true
}

// replay writes the programs, visit by visit.
func (s *splitter) replay(r Source, rec *recorder) error {
	s.source = stream.NewSpans(r, s.again.spans(), s.opt.reading())
	if err := s.open(); err != nil {
		return err
	}
	if err := s.source.Each(s.takeAgain); err != nil {
		return err
	}
	s.comeTo(len(s.again.rec.pieces)+1, nil) // where nothing stands behind the last burn
	if err := s.finish(); err != nil {
		return err
	}
	if err := s.fails.Err(s.opt.Name); err != nil {
		return err
	}
	return s.close()
}

// spans gives what is read: the prefix, the pieces, and what is behind the last burn.
func (a *replay) spans() func() (stream.Span, bool) {
	begun, visit, step := false, 0, 0
	return func() (stream.Span, bool) {
		switch {
		case !begun:
			begun = true
			return a.rec.prefix, true
		case visit > len(a.visits):
			return stream.Span{}, false
		case visit == len(a.visits):
			visit++
			return a.rec.tail, true
		}
		steps := a.visits[visit].Steps
		pc := &a.rec.pieces[steps[step].Piece]
		if step++; step == len(steps) {
			visit, step = visit+1, 0
		}
		return a.rec.span(pc), true
	}
}

// next goes on to the next span, and reports whether that is a piece.
func (a *replay) next() bool {
	a.dropped = false
	if a.span++; a.span > 1 {
		a.step++
	}
	if a.visit < len(a.visits) && a.step == len(a.visits[a.visit].Steps) {
		a.visit, a.step = a.visit+1, 0
	}
	return a.visit < len(a.visits)
}

// comeTo comes to a span.
func (s *splitter) comeTo(span int, like *program.Block) {
	for a := s.again; a.span < span; {
		s.skipGap()
		now := a.visit
		if piece := a.next(); now != a.visit || !piece {
			s.leaveVisit(like)
		}
	}
}

// takeAgain takes the next item of the spans.
func (s *splitter) takeAgain(it *stream.Item) error {
	a := s.again
	s.comeTo(it.Span, &it.Block)
	switch {
	case a.span == 0 && !it.Move.Burn && !s.lit && !lights(it):
		return s.preamble(it)
	case a.visit == len(a.visits):
		s.tail(it)
		s.source.Done(it)
		return s.err()
	case !it.Move.Burn:
		s.lit = true
		s.queue = append(s.queue, waiting{it: it})
		if s.full() {
			s.skipGap()
		}
		return s.err()
	case a.span == 0:
		s.firstBurn(it)
	default:
		s.burnAgain(it)
	}
	for i := range s.queue {
		s.source.Done(s.queue[i].it)
	}
	s.queue = s.queue[:0]
	s.source.Done(it)
	return s.err()
}

// firstBurn comes to the first burn of the original.
func (s *splitter) firstBurn(it *stream.Item) {
	s.lit = true
	var o *out
	for i, v := range s.again.visits {
		if v.Steps[0].Piece == 0 {
			o = s.outs[i]
		}
	}
	if s.begin(s.queue, it, o) {
		s.again.arrived = o
	}
}

// burnAgain gives a burn of a piece, or a run of them, to the program of its visit.
func (s *splitter) burnAgain(it *stream.Item) {
	a := s.again
	pc := &a.rec.pieces[a.visits[a.visit].Steps[a.step].Piece]
	first, last := it.Block.Line == pc.first, it.Block.Line+it.Count()-1 == pc.last
	if it.IsRun() && (first && pc.s0 > 0 || last && pc.end < 1) {
		gap := s.queue
		for k := range it.Count() {
			it.LineItem(k, &a.line)
			s.partAgain(pc, gap, &a.line, k == 0 && first, k == it.Count()-1 && last)
			gap = nil
		}
		return
	}
	s.partAgain(pc, s.queue, it, first, last)
}

// partAgain gives what of an item is a piece's to the program: all but what comes
// before its begin, where that is on the first, and behind its end on the last.
func (s *splitter) partAgain(pc *piece, gap []waiting, it *stream.Item, first, last bool) {
	s0, s1, end := 0.0, 1.0, 1.0
	if first {
		s0 = pc.s0
	}
	if last {
		s1, end = pc.s1, pc.end
	}
	s.enterAgain(pc, gap, it, first, s0)
	s.writePart(it, s0, s1, end)
	s.last.done, s.last.st = true, it.After
	if last {
		s.again.before = s.again.visits[s.again.visit].Steps[s.again.step].Piece
		if it.Actions.Ends && end == 1 {
			s.endAll(it)
		}
	}
}

// enterAgain brings the visit's program to where a burn of a piece begins: to the
// piece, where it is the first.
func (s *splitter) enterAgain(pc *piece, gap []waiting, it *stream.Item, first bool, s0 float64) {
	a := s.again
	o, like, step := s.outs[a.visit], &it.Block, a.visits[a.visit].Steps[a.step]
	goesOn := s.cur == a.visit && !a.dropped && (!first || s0 == 0 && step.Piece == a.before+1)
	moved, asked := s.between(gap)
	switch zref := max(o.sigma()*s.last.st.At.Z, o.sigma()*it.Move.From.Z); {
	case a.arrived == o && a.arrived != nil:
		a.arrived, s.cur = nil, a.visit
		o.piece(it, s0)
		return
	case goesOn && (!moved || o.need(asked, zref) <= o.c+rounding):
		o.passGap(gap, zref)
		return
	case step.Joined && first && s.cur == a.visit && s.stands(&it.Before):
		o.pen.Jump(&it.Before)
		o.list(it, s0)
		return
	}
	if s.cur >= 0 {
		out := noRun
		if first && a.before >= 0 {
			out = a.rec.pieces[a.before].out
		}
		s.leave(like, out)
	}
	o.begin()
	for i := range gap {
		s.rest(o, gap[i].it)
	}
	in := noRun
	if first {
		in = pc.in
	}
	s.approach(o, it, s0, in)
	s.cur = a.visit
	o.piece(it, s0)
}

// stands reports whether the program being written stands where st is in force.
func (s *splitter) stands(st *machine.State) bool {
	at, known := s.outs[s.cur].pen.At()
	return known && math.Abs(at.X-st.At.X) < rounding && math.Abs(at.Y-st.At.Y) < rounding
}

// skipGap lets go of what stands before a burn and has become too long to wait for it.
func (s *splitter) skipGap() {
	if len(s.queue) == 0 {
		return
	}
	a := s.again
	for i := range s.queue {
		it := s.queue[i].it
		switch {
		case a.span > 0:
			s.rest(s.outs[a.visit], it)
		default:
			for _, o := range s.writing {
				o.pen.PassRest(it)
			}
		}
		s.source.Done(it)
	}
	s.queue, a.dropped = s.queue[:0], true
}

// leaveVisit ends what a visit burns, unless the original ends there.
func (s *splitter) leaveVisit(like *program.Block) {
	a := s.again
	switch last := len(a.rec.pieces) - 1; {
	case s.cur < 0:
	case a.before == last:
		a.ends, s.cur = s.cur, -1
	default:
		s.leave(like, a.rec.pieces[a.before].out)
	}
	if a.visit == len(a.visits) {
		s.cur = a.ends
	}
}
