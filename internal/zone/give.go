package zone

import (
	"slices"

	"sagitta/internal/cover"
	"sagitta/internal/stream"
)

// burn lets the path take a burn, or a run of them.
func (s *splitter) burn(w *waiting) {
	joined := s.met && !s.broken
	if !joined {
		s.lens = s.p.order.next()
		s.rows.Lift()
	}
	s.met, s.broken = true, false
	it, bs := w.it, &s.p.bands[s.lens]
	_, h := s.opt.burned(it.Pieces())
	w.burns = 1
	if it.IsRun() && bs.of[it.Kind].Shared(h) {
		w.burns, w.byLine = it.Count(), true
		for k := range it.Lines() {
			it.LineItem(k, &s.line)
			s.pieces = stream.AppendHeights(s.pieces[:0], s.opt.Surface, &s.line.Move, s.opt.pieceTol(), 0)
			_, h := s.opt.burned(s.pieces)
			s.choose(&s.line, bs, h, joined)
			joined = true
		}
	} else {
		s.choose(it, bs, h, joined)
	}
	_, first := slices.BinarySearch(s.p.firstRows, s.rows.Start)
	w.row = s.rows.Beside > 0 || first
	if s.path.Sure() {
		s.settle()
	}
}

// choose lets the path take a burn that asks for these heights.
func (s *splitter) choose(it *stream.Item, bs *lensBands, h cover.Span, joined bool) {
	m := &it.Move
	turn, at := s.rows.Take(m, it.Block.Line)
	meets := cover.Meeting{Joined: joined, Turn: turn, At: at}
	if first, n := bs.of[it.Kind].Serving(h); n > 0 {
		s.path.Burn(bs.base+first, n, meets)
		return
	}
	s.divider.At = at
	margin := 0.0
	if m.Length > 2*stream.ClosestCut {
		margin = stream.ClosestCut / m.Length
	}
	s.pieces = stream.AppendHeights(s.pieces[:0], s.opt.Surface, m, s.opt.pieceTol(), s.opt.Lateral())
	list := s.divider.Divide(s.pieces, bs.of[it.Kind], margin)
	for k := range list {
		if st := &list[k]; st.Miss > rounding {
			s.miss = max(s.miss, st.Miss)
			at := m.XY(st.End)
			s.fails.add(it.Block.Line, "no zone serves the whole of a burn: out by %.4f mm at X%.3f Y%.3f", st.Miss, at[0], at[1])
		}
	}
	s.path.Divided(list, bs.base, meets)
}

// settle decides what waits, and writes it.
func (s *splitter) settle() {
	parts, gap := s.path.Settle(), 0
	for i := range s.queue {
		if w := &s.queue[i]; w.burns > 0 {
			parts = s.write(s.queue[gap:i], w, parts)
			gap = i + 1
		}
	}
	for i := range s.queue[:gap] {
		s.source.Done(s.queue[i].it)
	}
	s.queue = s.queue[:copy(s.queue, s.queue[gap:])]
}

// write gives a burn, or a run of them, to the programs of the zones that its parts
// are for, which come first, and returns the other parts. What stands before it goes
// with it.
func (s *splitter) write(gap []waiting, w *waiting, parts []cover.Part) []cover.Part {
	s.row = w.row
	for k := range w.burns {
		it, offset := w.it, w.offset
		if w.byLine {
			it = &s.line
			w.it.LineItem(k, it)
			offset += int64(len(w.it.Text(0, k)))
		}
		n := 1
		for !parts[n-1].Last {
			n++
		}
		s.writeBurn(gap, it, offset, parts[:n])
		gap, parts = nil, parts[n:]
	}
	return parts
}

// writeBurn gives the parts of a burn to the programs of their zones, or notes them.
func (s *splitter) writeBurn(gap []waiting, it *stream.Item, offset int64, parts []cover.Part) {
	if len(parts) > 1 {
		s.p.CutBurns++
		s.p.Cuts += len(parts) - 1
	}
	if s.rec != nil {
		s.rec.burn(s, gap, it, offset, parts)
		s.last.way = it.Heading(true)
	} else {
		s0 := 0.0
		for k, q := range parts {
			s.enter(gap, it, s0, q.Setting)
			s.writePart(it, s0, s.burnsTo(it, parts, k), q.End)
			s0, gap = q.End, nil
		}
	}
	s.passed(it)
}

// burnsTo is the fraction up to which part k of a burn is burned, over its end.
func (s *splitter) burnsTo(it *stream.Item, parts []cover.Part, k int) float64 {
	q := &parts[k]
	if q.Last || it.Move.Length <= 0 {
		return q.End // 1 of the last
	}
	over := s.opt.overlap(s.row, s.cut, s.p.Zones[q.Setting].Lens)
	s.p.Overlap = max(s.p.Overlap, over)
	// Both ends are rounded as they are written: it is never more. And it leaves
	// some of the next part, which is to be burned as well.
	s1 := min(q.Reach, q.End+max(0, over-s.opt.Lateral())/it.Move.Length, parts[k+1].End-stream.ClosestCut/it.Move.Length)
	return max(s1, q.End)
}

// writePart writes a part of a burn, from fraction s0 to s1 of it, to the zone that is
// being written. It counts up to end.
func (s *splitter) writePart(it *stream.Item, s0, s1, end float64) {
	o := s.outs[s.cur]
	o.note(it.Kind)
	o.checkHead(it, s0, s1)
	o.pen.PassPart(it, s0, s1, o.c)
	o.count(it, s0, end)
	s.last.way, s.last.speed = it.Heading(true), speed(&it.Move)
	if s1 < 1 {
		s.last.way[0], s.last.way[1] = it.Move.Heading(s1)
	}
}

// passed notes where the original stands behind a burn that has been given away.
func (s *splitter) passed(it *stream.Item) {
	s.last.done, s.last.st = true, it.After
	if it.Actions.Ends { // which puts all back that a program sets
		s.last.st = it.During
		s.last.st.At = it.After.At
	}
	s.end = s.last.st
	if it.Actions.Ends && s.rec == nil {
		s.endAll(it)
	}
}

// dropGap lets go of what stands behind the last burn and has become too long to
// wait for the next: its motion is left out.
func (s *splitter) dropGap() {
	if s.rec != nil {
		s.rec.drop(s.queue)
		for i := range s.queue {
			s.source.Done(s.queue[i].it)
		}
		s.queue = s.queue[:0]
		return
	}
	like := &s.queue[0].it.Block
	outs := s.writing
	if s.cur >= 0 {
		outs = outs[s.cur : s.cur+1]
		s.leave(like, noRun)
	} else if s.last.done {
		outs = nil
	}
	for i := range s.queue {
		for _, o := range outs {
			if s.last.done {
				s.rest(o, s.queue[i].it)
			} else {
				o.pen.PassRest(s.queue[i].it)
			}
		}
		s.source.Done(s.queue[i].it)
	}
	s.queue = s.queue[:0]
}
