package follow

import (
	"math"

	"github.com/paulmach/orb"

	"sagitta/internal/clearance"
	"sagitta/internal/focus"
	"sagitta/internal/machine"
	"sagitta/internal/rewrite"
	"sagitta/internal/stream"
)

// Summary is what a run did. Lengths are in mm, times in s, rates in mm/min.
type Summary struct {
	// Figures are those of what is written.
	rewrite.Figures
	// Blocks counts the blocks read, Seconds is their time.
	Blocks  int
	Seconds float64
	// Remarks are on the program that was read.
	stream.Remarks
	// First is where the first burn begins, as programmed; nil where none does.
	First *machine.Point
	// Work is the work offset in force there, 0 where the program selects none, and Shifted
	// tells that it has put places off besides (G92). Extent is that of the burns over XY.
	Work    machine.GCode
	Shifted bool
	Extent  orb.Bound
	// Burns and BurnLength are the number and length of burns.
	Burns      int
	BurnLength float64
	// Low and High are the extremes of the heights that burns see over the datum.
	Low, High focus.Extreme
	// Nearest bounds from below how near the lens comes to the surface under
	// the beam, over burns and travels, against best focus: minus is nearer.
	// Its place is about where. What the program itself lifts Z over a burn does
	// not count.
	Nearest focus.Extreme
	// Closed are the burns that close on themselves.
	Closed stream.Closed
	// Unchecked counts travels of which it was not checked whether they are clear,
	// as from where they go is not known.
	Unchecked int
	// Outside counts burns off the surface at the edge's height.
	Outside int
	// Near and Far are the greatest defocus of burns nearer and further than
	// wanted, as certified by the bounds of the heights, and Part is the
	// greatest part of the depth that any of it spends. Reversals counts how
	// often Z turns from rising to falling or back. All stay 0 by hand.
	Near, Far, Part float64
	Reversals       int
	// EndAbove is how far over rest c ends, because rest is not clear of
	// the stock there, or nothing can move before the beam goes off.
	EndAbove float64
	// Relative tells that the program begins in G91, so that it ends EndAbove
	// over where it began, and begins there when it is run again.
	Relative bool
	// Forced counts corners that had to be put on the string.
	Forced int
	// ShortHorizon is the first line at which less was looked ahead at than
	// the Z rate asks for; 0 if none.
	ShortHorizon int
}

// burn counts a burn, or a run of them, and the heights that it sees.
func (s *Summary) burn(it *stream.Item) {
	burns, length := 1, it.Move.Length
	if it.IsRun() {
		burns, length = it.Burns, it.BurnLength
	}
	if burns == 0 {
		return
	}
	if s.Burns == 0 {
		s.Low.MM, s.High.MM = math.Inf(1), math.Inf(-1)
		s.Extent = orb.Point(it.Move.XY(0)).Bound()
	}
	s.Burns += burns
	s.BurnLength += length
	s.extend(it)
	if it.IsRun() {
		s.see(it, it.Low.H, (it.Low.D-it.StartD)/it.Move.Length)
		s.see(it, it.High.H, (it.High.D-it.StartD)/it.Move.Length)
		return
	}
	for _, p := range it.Pieces() {
		s.see(it, p.H0, p.S0)
		s.see(it, p.H1, p.S1)
	}
}

// extend takes a burn, or a run of them, into the extent.
func (s *Summary) extend(it *stream.Item) {
	b := &s.Extent
	take := func(x0, y0, x1, y1 float64) {
		b.Min[0], b.Min[1] = min(b.Min[0], x0), min(b.Min[1], y0)
		b.Max[0], b.Max[1] = max(b.Max[0], x1), max(b.Max[1], y1)
	}
	if !it.IsRun() {
		take(clearance.Extent(&it.Move))
		return
	}
	take(it.Move.From.X, it.Move.From.Y, it.Move.From.X, it.Move.From.Y)
	for _, v := range it.Lines() {
		take(v.X, v.Y, v.X, v.Y)
	}
}

// see takes a height into the extremes, which a burn sees at a fraction of it.
func (s *Summary) see(it *stream.Item, h, at float64) {
	if h < s.Low.MM {
		s.Low = extreme(it, h, at)
	}
	if h > s.High.MM {
		s.High = extreme(it, h, at)
	}
}

// extreme is an amount at a fraction of an item.
func extreme(it *stream.Item, mm, at float64) focus.Extreme {
	xy := it.PlaceAt(at)
	return focus.Extreme{MM: mm, Line: it.LineAt(at), X: xy[0], Y: xy[1]}
}
