package follow

import (
	"math"

	"sagitta/internal/program"
)

// plainSlope is how much Z may change over a plain line, as a part of its
// length, before its F may have to change with it: the speed over XY is then
// off by less than feedSlack.
const plainSlope = 0.1

// slope writes a chunk over which Z changes.
type slope struct {
	w     *writer
	h     *held
	marks []mark
	text  []byte
	// start is where the next line begins in the text, from where what is
	// not written yet does.
	start, from int32
	// From d = origin on Z is off by c + rate*(d-origin) from what is
	// programmed; where the next line begins is at d.
	c, rate, origin, d float64
	least, fastest     float64 // see leastChange and plainSlope
	z                  zSpeller
	simple             bool // as long as lines need nothing but the Z
	slanted, ranged    bool

	changed      int
	low, high    float64 // Z less what is programmed, in mm
	path, travel float64 // of the lines written here, over XY and of Z
	slant        float64 // by what their way is longer than that
	// steepRise over steepPath is the steepest of them.
	steepRise, steepPath float64
}

// slope writes a chunk over which Z changes.
func (w *writer) slope(h *held) {
	marks := h.batch.marks[h.first:h.end]
	s := slope{
		w: w, h: h, marks: marks, text: h.batch.text[:marks[len(marks)-1].End],
		start: h.batch.lineStart(h.first), d: h.startD, origin: h.startD,
		least: w.leastChange(&h.during), fastest: plainSlope,
		z:      zSpeller{w: w, z: h.mv.From.Z, st: &h.during},
		simple: w.simple(h) && w.marked, slanted: w.opt.Machine.FeedCountsZ && w.opt.Machine.ZAxis == 'Z',
		ranged: w.opt.ZMin != nil || w.opt.ZMax != nil,
		low:    math.Inf(1), high: math.Inf(-1), steepPath: 1,
	}
	s.from = s.start
	c := w.c
	if h.hasPre {
		c = h.pre
	}
	sigma := w.opt.sigma()
	s.c, s.rate = sigma*c, sigma*(h.c-c)/h.mv.Length
	s.z.init()
	perMM := h.mv.Seconds / h.mv.Length
	if w.opt.ZRate > 0 {
		s.fastest = min(s.fastest, w.opt.ZRate*perMM)
	}
	for k := s.short(0); k < len(marks); k = s.short(k + 1) {
		s.line(k)
	}
	w.buf = append(w.buf, s.text[s.from:]...)
	w.full()
	s.count(perMM)
}

// short writes the lines from k on as line would, as long as they can be
// worked out in whole decimals. It returns the first that is for line, as the
// chunk's last is.
func (s *slope) short(k int) int {
	for s.simple && !s.ranged && s.z.scale > 0 {
		n := s.plan(k)
		if n == 0 {
			break
		}
		s.write(s.marks[k : k+n])
		k += n
	}
	return k
}

// atOnce is how many lines are planned before they are written.
const atOnce = 64

// plan works out the heights at the ends of the lines from k on in decimals,
// of as many as can be in short.
func (s *slope) plan(k int) int {
	scale := s.z.scale
	at := (s.z.z + s.w.off) * scale
	if k >= len(s.marks) || at != math.RoundToEven(at) || !(max(math.Abs(s.c), math.Abs(s.h.c), math.Abs(s.w.off)) < shortestZ) {
		return 0
	}
	marks := s.marks[k : len(s.marks)-1]
	marks = marks[:min(len(marks), atOnce)]
	heights := s.w.heights[:len(marks)]
	v0, rate, origin, fastest, d := (s.z.z+s.c)*scale, s.rate*scale, s.origin, s.fastest*scale, s.d
	for i := range marks {
		end := marks[i].D
		v := v0 + rate*(end-origin)
		n := math.RoundToEven(v)
		// With whole decimals a change is worth a word where it is one. Near
		// a half, where that may be either way, line decides.
		if math.Abs(v-n) >= clearOfHalf || math.Abs(n-at) > fastest*(end-d) {
			return i
		}
		heights[i] = int64(n)
		at, d = n, end
	}
	return len(marks)
}

// write writes lines whose heights have been planned.
func (s *slope) write(marks []mark) {
	w, heights := s.w, s.w.heights[:len(marks)]
	at := int64((s.z.z + w.off) * s.z.scale)
	letter, dec := w.opt.Machine.ZAxis, s.z.dec
	d, start, from, buf, text := s.d, s.start, s.from, w.buf, s.text
	alike, most, squares := 0.0, int64(0), int64(0) // of the lines of one length
	begun, changed, travel := at, 0, int64(0)
	for i, n := range heights {
		m := &marks[i]
		l := m.D - d
		d = m.D
		if n == at {
			start = m.End
			continue
		}
		if from < start {
			buf = appendShort(buf, text, from, start)
		}
		buf = program.AppendPlain(buf, text[start:m.End], m.Axis, m.Style, letter, program.Number{Mant: n, Dec: dec})
		if math.Abs(l-alike) > sameLength*l {
			s.steps(alike, most, squares)
			alike, most, squares = l, 0, 0
		}
		rise := max(n-at, at-n)
		most = max(most, rise)
		squares += rise * rise
		travel += rise
		if changed == 0 {
			begun = n
		}
		changed++
		at, start, from = n, m.End, m.End
	}
	s.path += d - s.d
	s.d, s.start, s.from, w.buf = d, start, from, buf
	w.full()
	if changed > 0 {
		s.steps(alike, most, squares)
		w.off = s.z.offset(float64(at))
		first := s.z.offset(float64(begun))
		s.low, s.high = min(s.low, w.off, first), max(s.high, w.off, first)
		s.changed += changed
		s.travel += float64(travel) / s.z.scale
	}
}

// steps takes lines of one length in mm that change Z into the tallies: most
// is the most that one does, in decimals, and squares the sum of the squares.
func (s *slope) steps(length float64, most, squares int64) {
	if most == 0 {
		return
	}
	s.steepest(float64(most)/s.z.scale, length)
	s.slant += float64(squares) / (s.z.scale * s.z.scale) * (0.5 / length)
}

// steepest notes a line that rises or falls so much over its length, in mm.
func (s *slope) steepest(rise, length float64) {
	if rise*s.steepPath > s.steepRise*length {
		s.steepRise, s.steepPath = rise, length
	}
}

// sameLength is by which part two lengths may differ to count as one.
const sameLength = 1e-6

// appendShort appends text[from:to], mostly of a line or two.
func appendShort(dst, text []byte, from, to int32) []byte {
	const wide = 32
	n, end := len(dst), int(from)+wide
	if to-from > wide || cap(dst)-n < wide || cap(text) < end {
		return append(dst, text[from:to]...)
	}
	*(*[wide]byte)(dst[n : n+wide]) = *(*[wide]byte)(text[from:end])
	return dst[:n+int(to-from)]
}

// line writes line k, the next.
func (s *slope) line(k int) {
	w, m := s.w, &s.marks[k]
	l, at := m.D-s.d, s.start
	s.d, s.start = m.D, m.End
	sigma := w.opt.sigma()
	want := s.c + s.rate*(m.D-s.origin)
	if k+1 == len(s.marks) {
		want = sigma * s.h.c
	}
	if s.simple && math.Abs(want-w.off) <= s.least {
		s.path += l
		return
	}
	if s.from < at {
		w.buf = append(w.buf, s.text[s.from:at]...)
	}
	s.from = m.End
	w.full()
	if s.simple {
		num, to := s.z.number(want)
		if rise := math.Abs(to - w.off); rise <= s.fastest*l {
			w.off = to
			w.buf = program.AppendPlain(w.buf, s.text[at:m.End], m.Axis, m.Style, w.opt.Machine.ZAxis, num)
			if s.ranged {
				w.checkRange(s.z.z+w.off, s.h.block.Line+k, s.h.mv.To)
			}
			s.low, s.high = min(s.low, w.off), max(s.high, w.off)
			s.changed++
			s.travel += rise
			s.steepest(rise, l)
			s.path += l
			s.slant += rise * rise * (0.5 / l)
			return
		}
	}
	w.line(s.h, k, sigma*want, l)
	s.simple = w.simple(s.h) && w.marked
}

// count takes the lines written here into the summary; perMM is the time in s
// of a mm.
func (s *slope) count(perMM float64) {
	w := s.w
	if s.changed > 0 {
		w.sum.z(s.z.z + s.low)
		w.sum.z(s.z.z + s.high)
		w.sum.Changed += s.changed
		w.sum.ZTravel += s.travel
		if s.h.mv.Burn {
			path := s.steepPath
			if s.slanted {
				path = math.Sqrt(s.steepPath*s.steepPath + s.steepRise*s.steepRise)
			}
			w.sum.PeakRate = max(w.sum.PeakRate, s.steepRise/(path*perMM)*60)
		}
	}
	// The way along a line askew is longer by rise²/2l.
	if s.slanted {
		s.path += s.slant
	}
	w.sum.SecondsOut += s.path * perMM
}
