package follow

import (
	"math"

	"sagitta/internal/program"
)

// plainSlope is how much Z may change over a plain line, as a part of its
// length, before its F may have to change with it: the speed over XY is then
// off by less than feedSlack.
const plainSlope = 0.1

// chunk writes the lines of a chunk: those that need no other Z in one piece,
// and of the others only the Z. Every line comes out as block would write it,
// and where a line needs more than a Z, block does.
func (w *writer) chunk(h *held) {
	b := h.batch
	marks := b.marks[h.first:h.end]
	text := b.text[:marks[len(marks)-1].end]
	from := b.lineStart(h.first) // of the text that is not written yet
	w.sum.BytesIn += int64(len(text)) - int64(from)

	c, length := w.c, h.mv.Length
	if h.hasPre {
		c = h.pre
	}
	slope := (h.c - c) / length
	sigma, st := w.opt.sigma(), &h.during
	least := w.step(st.Inches) / 2 * (1 + rounding)
	dec, z := w.opt.decimals(st.Inches), h.mv.From.Z
	perMM := h.mv.Seconds / length
	letter := w.opt.Machine.ZAxis
	still := h.mv.Burn && w.opt.ZMoves == BeamOff
	simple := w.simple(h)
	if still && simple {
		marks = nil
		w.sum.SecondsOut += h.mv.Seconds
	}
	d := h.startD
	start := from
	for k := range marks {
		m := &marks[k]
		l := m.d - d
		d = m.d
		at := start
		start = m.end
		to := h.c
		if k+1 < len(marks) {
			to = c + slope*(m.d-h.startD)
		}
		want := sigma * to
		dz := want - w.off
		if simple && math.Abs(dz) <= least {
			w.sum.SecondsOut += l * perMM
			continue
		}
		w.buf = append(w.buf, text[from:at]...)
		from = m.end
		if len(w.buf) >= flushSize {
			w.flush()
		}
		was := w.off
		if simple && w.marked {
			num := w.zNumber(z+want, z, dec, st)
			w.reach(num, z, z, st)
			if rise := math.Abs(w.off - was); rise <= plainSlope*l && !w.tooFast(rise, l*perMM) {
				w.buf = program.AppendPlain(w.buf, text[at:m.end], m.axis, m.style, letter, num)
				w.checkRange(z+w.off, h.block.Line+k, h.mv.To)
				w.sum.Changed++
				w.sum.link(h, l, w.off-was, w.slantedSeconds(l, w.off-was, perMM), w.off != was)
				continue
			}
			w.off = was
		}
		w.line(h, k, to, l)
		simple = w.simple(h)
	}
	w.buf = append(w.buf, text[from:]...)
	if len(w.buf) >= flushSize {
		w.flush()
	}
	// The end of the file needs a block for its style.
	w.chunkBlock(h, h.lines()-1)
	w.last, w.state, w.stopped = &w.chunkLine.block, h.after, false
}

// simple tells that a line of the chunk whose Z changes slowly needs nothing
// but the Z.
func (w *writer) simple(h *held) bool {
	return !w.opt.Rehearsal && !w.strayed && w.outF == w.progF && !h.hasPre && !w.opt.byBlock
}

// tooFast tells a change of Z by dz in mm that takes longer than s seconds.
func (w *writer) tooFast(dz, s float64) bool { return w.opt.ZRate > 0 && dz > w.opt.ZRate*s }

// slantedSeconds is how long a line takes whose Z changes, at the F in force.
func (w *writer) slantedSeconds(length, dz, perMM float64) float64 {
	if w.opt.Machine.FeedCountsZ && w.opt.Machine.ZAxis == 'Z' {
		length = math.Sqrt(length*length + dz*dz)
	}
	return length * perMM
}

// line writes line k of a chunk as a block of its own, to correction c.
func (w *writer) line(h *held, k int, c, length float64) {
	w.chunkBlock(h, k)
	l := &w.chunkLine
	l.mv, l.during, l.after, l.c = h.mv, h.during, h.after, c
	l.pre, l.hasPre = h.pre, h.hasPre && k == 0
	l.mv.Length, l.mv.Seconds = length, length*(h.mv.Seconds/h.mv.Length)
	m := &h.batch.marks[h.first+k]
	l.mv.To.X, l.mv.To.Y = m.x, m.y
	l.after.At = l.mv.To
	if k == 0 {
		h.hasPre = false
	} else {
		m = &h.batch.marks[h.first+k-1]
		l.mv.From.X, l.mv.From.Y = m.x, m.y
	}
	w.corners = w.corners[:0]
	read := w.sum.BytesIn
	w.block(l)
	w.sum.BytesIn = read // the whole chunk is counted
}

// chunkBlock makes line k of a chunk the writer's own block.
func (w *writer) chunkBlock(h *held, k int) {
	b := h.batch
	w.chunkLine.block.SetPlain(&h.block, b.line(h.first+k), k, b.marks[h.first+k].style)
}
