package follow

import (
	"math"

	"sagitta/internal/machine"
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
	// The end of the file needs a block for its style.
	w.chunkBlock(h, h.lines()-1)
	w.last, w.state, w.stopped = &w.chunkLine.block, h.after, false
}

// steady tells that Z stays through the chunk: at neither end, and so nowhere
// between, does c ask for another.
func (w *writer) steady(h *held) bool {
	least, sigma := w.leastChange(&h.during), w.opt.sigma()
	return !h.hasPre && math.Abs(sigma*w.c-w.off) <= least && math.Abs(sigma*h.c-w.off) <= least
}

// slope writes a chunk over which Z changes.
func (w *writer) slope(h *held) {
	b := h.batch
	marks := b.marks[h.first:h.end]
	text := b.text[:marks[len(marks)-1].End]
	from := b.lineStart(h.first)
	start := from

	c := w.c
	if h.hasPre {
		c = h.pre
	}
	length, origin := h.mv.Length, h.startD
	sigma, st := w.opt.sigma(), &h.during
	rate := sigma * (h.c - c) / length
	c *= sigma
	least := w.leastChange(st)
	z := zSpeller{w: w, z: h.mv.From.Z, st: st, letter: w.opt.Machine.ZAxis}
	z.init()
	perMM := h.mv.Seconds / length
	fastest := plainSlope
	if w.opt.ZRate > 0 {
		fastest = min(fastest, w.opt.ZRate*perMM)
	}
	slanted := w.opt.Machine.FeedCountsZ && w.opt.Machine.ZAxis == 'Z'
	ranged := w.opt.ZMin != nil || w.opt.ZMax != nil
	simple := w.simple(h) && w.marked
	path, travel := 0.0, 0.0 // of the lines written here
	// The way along a line askew is longer by rise²/2l, and most lines are
	// as long as the one before.
	slant, alike, inverse := 0.0, 0.0, 0.0
	steepRise, steepPath := 0.0, 1.0 // of the steepest of them
	low, high, changed := math.Inf(1), math.Inf(-1), 0
	d, buf, off := origin, w.buf, w.off // kept in registers through the loop
	for k := range marks {
		m := &marks[k]
		l := m.D - d
		d = m.D
		at := start
		start = m.End
		want := c + rate*(d-origin)
		if k+1 == len(marks) {
			want = sigma * h.c
		}
		if simple && math.Abs(want-off) <= least {
			path += l
			continue
		}
		if from < at {
			buf = append(buf, text[from:at]...)
		}
		from = m.End
		if len(buf) >= flushSize {
			w.buf = buf
			w.flush()
			buf = w.buf
		}
		if simple {
			w.off = off
			num, to := z.number(want)
			if rise := math.Abs(to - off); rise <= fastest*l {
				off = to
				buf = program.AppendPlain(buf, text[at:m.End], m.Axis, m.Style, z.letter, num)
				if ranged {
					w.checkRange(z.z+off, h.block.Line+k, h.mv.To)
				}
				low, high = min(low, off), max(high, off)
				changed++
				travel += rise
				if rise*steepPath > steepRise*l {
					steepRise, steepPath = rise, l
				}
				path += l
				if math.Abs(l-alike) > 1e-6*l {
					alike, inverse = l, 0.5/l
				}
				slant += rise * rise * inverse
				continue
			}
		}
		w.buf, w.off = buf, off
		w.line(h, k, sigma*want, l)
		buf, off = w.buf, w.off
		simple = w.simple(h) && w.marked
	}
	w.buf, w.off = append(buf, text[from:]...), off
	w.full()
	if changed > 0 {
		w.sum.z(z.z + low)
		w.sum.z(z.z + high)
		w.sum.Changed += changed
		w.sum.ZTravel += travel
		if h.mv.Burn {
			path := steepPath
			if slanted {
				path = math.Hypot(steepPath, steepRise)
			}
			w.sum.PeakRate = max(w.sum.PeakRate, steepRise/(path*perMM)*60)
		}
	}
	if slanted {
		path += slant
	}
	w.sum.SecondsOut += path * perMM
}

// full writes out what has gathered.
func (w *writer) full() {
	if len(w.buf) >= flushSize {
		w.flush()
	}
}

// zSpeller spells the Z words of a chunk, whose programmed Z is z.
type zSpeller struct {
	w      *writer
	z      float64
	st     *machine.State
	letter byte
	dec    int8
	// scale is the decimals' power of ten where numbers may be worked out
	// in short: whole decimals of a mm, in G90. unit is one decimal and
	// whole is z, in the smallest parts of an offset.
	scale, unit, whole float64
}

func (z *zSpeller) init() {
	z.dec = z.w.opt.decimals(z.st.Inches)
	if !z.st.Relative && !z.st.Inches && z.st.Offset.Z == 0 && z.w.opt.ZResolution <= z.w.opt.Decimal(false) && math.Abs(z.z) < shortestZ {
		z.scale, z.unit = math.Pow10(int(z.dec)), math.Pow10(snapDigits-int(z.dec))
		z.whole = math.RoundToEven(z.z * snap)
	}
}

const (
	// shortestZ bounds the Z in mm that are worked out in short.
	shortestZ = 1e4
	// clearOfHalf is how near a half a decimal may be to be rounded in short.
	clearOfHalf = 0.5 - 1e-6
)

// number gives the Z word that leads to the offset want, and the offset that
// it does lead to, as zNumber and reach have them.
func (z *zSpeller) number(want float64) (program.Number, float64) {
	if v := (z.z + want) * z.scale; z.scale > 0 && math.Abs(want) < shortestZ {
		n := math.RoundToEven(v)
		if math.Abs(v-n) < clearOfHalf {
			// Below shortestZ all of this is exact but for the division, so
			// that it is snapped(n/z.scale - z.z).
			return program.Number{Mant: int64(n), Dec: z.dec}, (n*z.unit - z.whole) / snap
		}
	}
	num := z.w.zNumber(z.z+want, z.z, z.dec, z.st)
	return num, z.w.reached(num, z.z, z.z, z.st)
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
