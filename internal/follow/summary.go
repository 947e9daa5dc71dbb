package follow

import (
	"math"

	"sagitta/internal/machine"
	"sagitta/internal/surface"
)

// Summary is what a run did. Lengths are in mm, times in s, rates in mm/min.
type Summary struct {
	// Blocks counts the blocks read; Changed those written otherwise, Added
	// those put in, Points the cuts among them.
	Blocks, Changed, Added, Points int
	// BytesIn and BytesOut are the sizes of both programs.
	BytesIn, BytesOut int64
	// LinesPerS is the most lines of words that the written program asks for
	// within a second of its own time, LinesPerSLine a line of the program
	// read at which it does.
	LinesPerS     float64
	LinesPerSLine int
	// NumbersRepeat is the first line whose number is not above that of a
	// line added before it; 0 if none.
	NumbersRepeat int
	// Notes are M words without known meaning, each once.
	Notes []machine.Note
	// Burns and BurnLength are the number and length of burns.
	Burns      int
	BurnLength float64
	// Low and High are the heights that burns see over the datum; HighX,
	// HighY and HighLine are where the highest is.
	Low, High    float64
	HighX, HighY float64
	HighLine     int
	// Nearest bounds from below how near the lens comes to the surface under
	// the beam, over burns and travels, against best focus: minus is nearer.
	// NearestX, NearestY and NearestLine are about where. What the program
	// itself lifts Z over a burn does not count.
	Nearest            float64
	NearestX, NearestY float64
	NearestLine        int
	// Outside counts burns off the surface at the edge's height.
	Outside int
	// ZLow and ZHigh are the range of the Z written, valid with ZWritten.
	ZLow, ZHigh float64
	ZWritten    bool
	// ZTravel is the sum of all changes of the correction along XY; PeakRate
	// the greatest rate of Z on burns.
	ZTravel, PeakRate float64
	// Near and Far are the greatest defocus of burns nearer and further than
	// wanted, as certified by the bounds of the heights, and Part is the
	// greatest part of the depth that any of it spends. Reversals counts how
	// often Z turns from rising to falling or back. All stay 0 ByHand.
	Near, Far, Part float64
	Reversals       int
	// Lowered and Raised count the feeds written other than programmed.
	Lowered, Raised int
	// Slowed counts the burns, or the parts of cut ones, that take longer
	// than programmed.
	Slowed int
	// Seconds is the time of the program read, SecondsOut that of the one
	// written.
	Seconds, SecondsOut float64
	// EndAbove is how far over rest c ends, because rest is not clear of
	// the stock there, or nothing can move before the beam goes off.
	EndAbove float64
	// Relative tells that the program begins in G91, so that it ends EndAbove
	// over where it began, and begins there when it is run again.
	Relative bool
	// Forced counts corners that had to be put on the string.
	Forced int
	// ShortWindow is the first line at which less was looked ahead at than
	// the Z rate asks for; 0 if none.
	ShortWindow int
}

// burn counts a burn and the heights it sees.
func (s *Summary) burn(line int, m *machine.Move, pieces []surface.Piece) {
	if s.Burns == 0 {
		s.Low, s.High = math.Inf(1), math.Inf(-1)
	}
	s.Burns++
	s.BurnLength += m.Length
	s.extremes(line, m, pieces)
}

// extremes takes the heights that a burn sees into those of all.
func (s *Summary) extremes(line int, m *machine.Move, pieces []surface.Piece) {
	for i := range pieces {
		p := &pieces[i]
		s.Low = min(s.Low, min(p.H0, p.H1))
		if h := max(p.H0, p.H1); h > s.High {
			s.High, s.HighLine = h, line
			at := m.XY(p.S0)
			if p.H1 > p.H0 {
				at = m.XY(p.S1)
			}
			s.HighX, s.HighY = at[0], at[1]
		}
	}
}

// chunk counts the burns of a chunk and the heights they see.
func (s *Summary) chunk(h *held) {
	if h.burns == 0 {
		return
	}
	if s.Burns == 0 {
		s.Low, s.High = math.Inf(1), math.Inf(-1)
	}
	s.Burns += h.burns
	s.BurnLength += h.burnLength
	s.Low = min(s.Low, h.low.h)
	if h.high.h > s.High {
		at := (h.high.d - h.startD) / h.mv.Length
		s.High, s.HighLine = h.high.h, h.lineAt(at)
		xy := h.placeAt(at)
		s.HighX, s.HighY = xy[0], xy[1]
	}
}

// z counts a Z written.
func (s *Summary) z(z float64) {
	if !s.ZWritten {
		s.ZWritten, s.ZLow, s.ZHigh = true, z, z
		return
	}
	s.ZLow, s.ZHigh = min(s.ZLow, z), max(s.ZHigh, z)
}

// link counts a straight part of the written path.
func (s *Summary) link(h *held, length, dz, seconds float64, moved bool) {
	s.SecondsOut += seconds
	if !moved {
		return
	}
	s.ZTravel += math.Abs(dz)
	if h.mv.Burn && length > 0 && seconds > 0 {
		s.PeakRate = max(s.PeakRate, math.Abs(dz)/seconds*60)
	}
}
