package follow

import (
	"math"

	"sagitta/internal/machine"
	"sagitta/internal/program"
)

// chunk writes the lines of a chunk: those that need no other Z in one piece,
// and of the others only the Z. Every line comes out as block would write it,
// and where a line needs more than a Z, block does.
func (w *writer) chunk(h *held) {
	b := h.batch
	marks := b.marks[h.first:h.end]
	from := b.lineStart(h.first) // of the text that is not written yet
	end := marks[len(marks)-1].End
	w.sum.BytesIn += int64(end - from)
	w.inChunk = true
	still := h.mv.Burn && w.opt.ZMoves == BeamOff && w.simple(h)
	if still || w.simple(h) && w.steady(h) {
		w.sum.SecondsOut += h.mv.Seconds
		w.buf = append(w.buf, b.text[from:end]...)
		w.full()
	} else {
		w.slope(h)
	}
	w.inChunk = false
	w.passChunk(h)
	w.end.keep(h)
	w.last, w.state, w.stopped = nil, h.after, false
}

// chunkEnd is the last line of a chunk: of that at the end of the file, and of
// few others, a block is needed for its style.
type chunkEnd struct {
	like  program.Block
	raw   []byte
	lines int
	style program.PlainStyle
}

func (e *chunkEnd) keep(h *held) {
	k := h.end - 1
	e.like, e.lines, e.style = h.block, k-h.first, h.batch.marks[k].Style
	e.raw = append(e.raw[:0], h.batch.line(k)...)
}

// lastBlock is the last block written, nil if none.
func (w *writer) lastBlock() *program.Block {
	if w.last == nil && len(w.end.raw) > 0 {
		w.chunkLine.block.SetPlain(&w.end.like, w.end.raw, w.end.lines, w.end.style)
		w.last = &w.chunkLine.block
	}
	return w.last
}

// steady tells that Z stays through the chunk: at neither end, and so nowhere
// between, does c ask for another.
func (w *writer) steady(h *held) bool {
	least, sigma := w.leastChange(&h.during), w.opt.sigma()
	return !h.hasPre && math.Abs(sigma*w.c-w.off) <= least && math.Abs(sigma*h.c-w.off) <= least
}

// full writes out what has gathered.
func (w *writer) full() {
	if len(w.buf) >= flushSize {
		w.flush()
	}
}

// simple tells that a line of the chunk whose Z changes slowly needs nothing
// but the Z.
func (w *writer) simple(h *held) bool {
	if w.opt.LineMax > 0 && w.opt.LineMax < program.MaxPlain {
		return false // block looks at each
	}
	return !w.opt.Rehearsal && !w.strayed && w.outF == w.progF && !h.hasPre && !w.opt.byBlock
}

// line writes line k of a chunk as a block of its own, to correction c.
func (w *writer) line(h *held, k int, c, length float64) {
	w.chunkBlock(h, k)
	l := &w.chunkLine
	l.mv, l.during, l.after, l.c = h.mv, h.during, h.after, c
	l.pre, l.hasPre = h.pre, h.hasPre && k == 0
	l.mv.Length, l.mv.Seconds = length, length*(h.mv.Seconds/h.mv.Length)
	m := &h.batch.marks[h.first+k]
	l.during.Motion, l.after.Motion = m.Motion, m.Motion
	if m.Motion > 1 {
		l.mv.Kind = machine.Arc
	}
	l.mv.To.X, l.mv.To.Y = m.X, m.Y
	l.after.At = l.mv.To
	if k == 0 {
		h.hasPre = false
	} else {
		m = &h.batch.marks[h.first+k-1]
		l.mv.From.X, l.mv.From.Y = m.X, m.Y
	}
	w.corners = w.corners[:0]
	read := w.sum.BytesIn
	w.block(l)
	w.sum.BytesIn = read // the whole chunk is counted
}

// chunkBlock makes line k of a chunk the writer's own block.
func (w *writer) chunkBlock(h *held, k int) {
	b := h.batch
	w.chunkLine.block.SetPlain(&h.block, b.line(h.first+k), k, b.marks[h.first+k].Style)
}
