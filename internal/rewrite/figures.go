package rewrite

import (
	"math"

	"sagitta/internal/machine"
	"sagitta/internal/stream"
)

// Figures are what a pen has written. Lengths are in mm, times in s, rates in
// mm/min.
type Figures struct {
	// Changed counts the blocks written otherwise than read, Added those put
	// in, Points the cuts among them.
	Changed, Added, Points int
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
	// ZLow and ZHigh are the range of the Z written, valid with ZWritten.
	ZLow, ZHigh float64
	ZWritten    bool
	// ZTravel is the sum of all changes of the correction along XY; PeakRate
	// the greatest rate of Z on burns.
	ZTravel, PeakRate float64
	// Lowered and Raised count the feeds written other than programmed.
	Lowered, Raised int
	// Slowed counts the burns, or the parts of cut ones, that take longer
	// than programmed, SlowedBy is the greatest part of its speed that one has
	// lost.
	Slowed   int
	SlowedBy float64
	// SecondsOut is the time of what is written, less what operators take at its
	// stops, and Waits counts those that were put in.
	SecondsOut float64
	Waits      int
}

// z counts a Z written.
func (f *Figures) z(z float64) {
	if !f.ZWritten {
		f.ZWritten, f.ZLow, f.ZHigh = true, z, z
		return
	}
	f.ZLow, f.ZHigh = min(f.ZLow, z), max(f.ZHigh, z)
}

// link counts a straight part of the written path.
func (f *Figures) link(it *stream.Item, length, dz, seconds float64, moved bool) {
	f.SecondsOut += seconds
	if !moved {
		return
	}
	f.ZTravel += math.Abs(dz)
	if it.Move.Burn && length > 0 && seconds > 0 {
		f.PeakRate = max(f.PeakRate, math.Abs(dz)/seconds*60)
	}
}

// BreachKind says what a written line asks that cannot be given.
type BreachKind uint8

const (
	// OutOfRange: Z leaves the bench's range. Amount is by how much, in mm.
	OutOfRange BreachKind = iota
	// NoWay: there is no place where Z could go to height before the burn.
	// Amount is how far it is from there, in mm.
	NoWay
	// TooSteep: Z cannot keep up though the burn is as slow as allowed.
	// Amount is the rate needed in mm/min.
	TooSteep
	// TooLong: a line is written longer than the controller takes. Amount is
	// its length in characters.
	TooLong
	// NoBeamWord: the beam was put off by its word, and the program has none that
	// would put it on again for a burn.
	NoBeamWord
	// PowerUnsaid: the burn is slowed, and no power was said that could go with its
	// feed. Amount is the part of its speed that it loses.
	PowerUnsaid
	// PowerLow: the burn is slowed so far that its power would fall below the least
	// that the source gives. Amount is the part of its speed that it loses.
	PowerLow
)

// Breach is a place where what was asked of the pen cannot be written.
type Breach struct {
	Kind   BreachKind
	Line   int // of the original; 0 where it is no one line's
	At     machine.Point
	Amount float64
}
