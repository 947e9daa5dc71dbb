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
	for k := range marks {
		s.line(k)
	}
	w.buf = append(w.buf, s.text[s.from:]...)
	w.full()
	s.count(perMM)
}

// steepest notes a line that rises or falls so much over its length, in mm.
func (s *slope) steepest(rise, length float64) {
	if rise*s.steepPath > s.steepRise*length {
		s.steepRise, s.steepPath = rise, length
	}
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
