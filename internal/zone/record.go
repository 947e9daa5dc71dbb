package zone

import (
	"math"
	"slices"

	"sagitta/internal/cover"
	"sagitta/internal/machine"
	"sagitta/internal/program"
	"sagitta/internal/stream"
	"sagitta/internal/zone/order"
)

// piece is what is burned in one go in one zone: a part of one figure, contiguous in
// the original.
type piece struct {
	place
	size int64
	// first and last are the lines of its first and last burn. It begins at fraction
	// s0 of the first, and ends at end of the last, which is burned on to s1.
	first, last int
	s0, s1, end float64
	zone        int32
	// in and out tell how far to run into it and out of it.
	in, out run
}

// place is where a line of the original begins: the byte, the line's number, and what is
// in force before it.
type place struct {
	offset int64
	line   int
	// state is the number of the state in force, but for what is kept here.
	state  int32
	motion int8
	at     machine.Point
	power  program.Number
}

// mostPieces bounds the pieces that are put in order.
const mostPieces = 2_000_000

// recorder notes the pieces of a job, as they come in the original.
type recorder struct {
	pieces []piece
	// states are those in force at the places, each once, but for what the places
	// keep, and number has their numbers.
	states []machine.State
	number map[machine.State]int32
	job    *order.Job
	figure int
	// dropped is where what stands before the next burn begins, where it was too long
	// to wait for it; nil else.
	dropped *place
	// prefix is all up to the first line that burns, tail all behind the last, where
	// the original has end in force.
	prefix, tail stream.Span
	end          machine.State
	extent       box // of the burns, roughly
	// turned tells that the way out of the last burn has turned.
	turned bool
	kinds
	// full tells that there are more pieces than are put in order.
	full bool
}

func newRecorder(p *Plan) *recorder {
	r := &recorder{number: map[machine.State]int32{}, prefix: stream.Span{Line: 1}, extent: noBox(),
		kinds: kinds{cuts: p.opt.Cuts, tool: -1}}
	r.job = order.New(ordering(p, r))
	p.marked.Forget() // what was only guessed from heights
	return r
}

// place notes where an item begins, at a byte of the program.
func (r *recorder) place(it *stream.Item, offset int64) place {
	st := it.Before
	p := place{offset: offset, line: it.Block.Line, motion: st.Motion, at: st.At, power: st.Power}
	st.At, st.Power, st.Motion = machine.Point{}, program.Number{}, 0
	n, known := r.number[st]
	if !known {
		n = int32(len(r.states))
		r.states, r.number[st] = append(r.states, st), n
	}
	p.state = n
	return p
}

// span is what a piece is read from.
func (r *recorder) span(pc *piece) stream.Span {
	st := r.states[pc.state]
	st.At, st.Power, st.Motion = pc.at, pc.power, pc.motion
	return stream.Span{Offset: pc.offset, Size: pc.size, Line: pc.line, State: st}
}

// drop notes that what stands before the next burn is too long to wait for it.
func (r *recorder) drop(gap []waiting) {
	if r.dropped == nil {
		p := r.place(gap[0].it, gap[0].offset)
		r.dropped = &p
	}
}

// burn notes the parts of a burn, or of a run of them, that begins with the byte at
// offset, and what stands before it.
func (r *recorder) burn(s *splitter, gap []waiting, it *stream.Item, offset int64, parts []cover.Part) {
	behind := offset + int64(it.Size())
	moved := r.dropped != nil || slices.ContainsFunc(gap, func(w waiting) bool { return moves(w.it) })
	out, in := s.runs.over, s.runs.over
	if moved || len(r.pieces) == 0 {
		out, in = s.runs.between(gap, s.last.way, it.Heading(false))
	}
	switch {
	case r.full:
		return
	case len(r.pieces) == 0:
		r.prefix.Size = behind
		if it.IsRun() {
			r.prefix.Size = offset + int64(len(it.Text(0, 1)))
		}
		gap, r.dropped = nil, nil // which are the prefix's
	}
	r.tail = stream.Span{Offset: behind, Line: it.Block.Line + it.Count(), State: it.After, Percents: s.percents}
	apart := moved && (r.dropped != nil || !inRow(&s.last, gap, it))
	if apart {
		r.figure++
	}
	cut := r.cut(it)
	s.cut = cut
	s0 := 0.0
	for k := range parts {
		q, n := &parts[k], len(r.pieces)
		if n == 0 || k > 0 || apart || r.pieces[n-1].zone != int32(q.Setting) {
			pc := piece{zone: int32(q.Setting), first: it.Block.Line, s0: s0, in: in, out: noRun}
			if k > 0 {
				pc.in, out = s.runs.over, s.runs.over
			}
			switch {
			case r.dropped != nil:
				pc.place, r.dropped = *r.dropped, nil
			case k == 0 && len(gap) > 0:
				pc.place = r.place(gap[0].it, gap[0].offset)
			default:
				pc.place = r.place(it, offset)
			}
			if n > 0 {
				r.pieces[n-1].out = out
			}
			if n > 0 && k == 0 && !moved {
				s.p.JointChanges++
			}
			r.pieces = append(r.pieces, pc)
			r.job.Piece(q.Setting, r.figure, false)
		}
		r.dropped = nil
		pc := &r.pieces[len(r.pieces)-1]
		pc.size, pc.last, pc.end, pc.s1 = behind-pc.offset, it.Block.Line+it.Count()-1, q.End, s.burnsTo(it, parts, k)
		mark(s.p, q.Setting, it, s0, q.End)
		if r.draw(it, s0, q.End); cut {
			r.job.Cuts()
		}
		s0 = q.End
	}
	if it.Actions.Ends {
		r.job.MustBeLast()
	}
	r.full = len(r.pieces) > mostPieces
}

// runsOut notes how far the original runs out of its last burn, by what comes behind it.
func (r *recorder) runsOut(it *stream.Item, way [2]float64) {
	if r.turned || r.full {
		return
	}
	last := &r.pieces[len(r.pieces)-1]
	length, all := straight([]waiting{{it: it}}, way)
	if r.turned = !all; length > 0 {
		last.out = max(last.out, asBench) + run(length)
	}
}

// draw notes where a part of a burn, or a run of them, lies.
func (r *recorder) draw(it *stream.Item, s0, s1 float64) {
	m := &it.Move
	r.extent.take(m.From.X, m.From.Y, m.To.X, m.To.Y)
	switch {
	case it.IsRun():
		for a, b := range it.Ends() {
			r.extent.take(a.X, a.Y, b.X, b.Y)
			r.job.Line(a.X, a.Y, b.X, b.Y)
		}
	case m.Length == 0:
		r.job.Point(m.To.X, m.To.Y)
	case m.Kind == machine.Arc:
		turned := m.Sweep * s0
		r.extent.take(m.CX-m.R0, m.CY-m.R0, m.CX+m.R0, m.CY+m.R0)
		r.job.Arc(m.CX, m.CY, m.R0+(m.R1-m.R0)*s0, m.R0+(m.R1-m.R0)*s1, m.A0+turned, m.Sweep*s1-turned)
	default:
		a, b := m.XY(s0), m.XY(s1)
		r.job.Line(a[0], a[1], b[0], b[1])
	}
}

// inRow reports whether what stands between the last burn and another goes on straight
// ahead at feed, as over the white of a raster's row.
func inRow(l *last, gap []waiting, it *stream.Item) bool {
	dx, dy := l.way[0], l.way[1]
	on := func(m *machine.Move) bool {
		hx, hy := m.Heading(0)
		long := math.Hypot(m.To.X-m.From.X, m.To.Y-m.From.Y) >= straightOn*m.Length // as not every run is
		return m.Kind == machine.Line && !m.Rapid && m.From.Z == m.To.Z && !m.FromUnknown && long && hx*dx+hy*dy > straightOn
	}
	for i := range gap {
		if it := gap[i].it; it.Moves() && !on(&it.Move) {
			return false
		}
	}
	return on(&it.Move)
}

// straightOn is the cosine of the angle up to which a row may turn, as pixels of it
// are rounded to decimals.
const straightOn = 0.999
