package trace

import "math"

// Step is a step of the path as it is taken in: a motion, a dwell or a stop.
type Step struct {
	// Line is in the checked program, OriginalLine in the original, 0 where there is none.
	Line, OriginalLine int
	// Burns tells that it burns, Waits that it stands still with the beam off, Stops that
	// it waits for the operator, and Unknown that only its end is known.
	Burns, Waits, Stops, Unknown bool
	// Way are its places and heights. A straight one has Turn 0; an arc turns by so many
	// radians, either way.
	Way  Way
	Turn float64
	// LengthMM is its length over XY.
	LengthMM float64
	// C0 and C1 are the correction at its ends.
	C0, C1 float64
	// Middle is the height at its middle, and Within how far heights on it leave that at
	// most: +Inf where that is not bounded.
	Middle, Within float64
	// Height, Defocus and Spent, which is Defocus with what heights are less sure by, are
	// the ranges of a burn. They may be empty, or short of what Known has already.
	Height, Defocus, Spent Extent
	// Less is by how much the depth is less at most for that.
	Less float64
	// Near and Far are what is usable of the depth, and WantedMM is the wanted defocus; where
	// Near is 0 all are the program's.
	Near, Far, WantedMM float64
	// NoHeight tells that some of it has no height.
	NoHeight bool
	// Seconds is how long it takes, and ZSpeed how fast Z goes at most; within it time goes by
	// evenly. ZStep is the step of the speed of Z at its beginning, where burns go over into each
	// other; 0 where it is not known.
	Seconds, ZSpeed, ZStep float64
	// Speed is the share of the original's speed.
	Speed float64
	// Text is the line of the program, and Remark the comment beside a wait.
	Text   []byte
	Remark string
}

// c is the correction at a fraction of the step, at its ends to the last bit.
func (s *Step) c(part float64) float64 {
	if part == 1 {
		return s.C1
	}
	return s.C0 + (s.C1-s.C0)*part
}

// Way gives places and heights along a step.
type Way interface {
	// XY is the place at a fraction of the step's length.
	XY(part float64) [2]float64
	// At is the height there, and whether there is one; else it is that of the nearest
	// place that has one.
	At(part float64) (mm float64, is bool)
}

// Extent is the range of a quantity over a step, Lo > Hi where it is empty.
type Extent struct {
	Lo, Hi float64
	// AtLo and AtHi are where, as fractions of the step, and LessLo and LessHi by how much
	// heights are less sure there.
	AtLo, AtHi, LessLo, LessHi float64
}

// Empty is a range that has nothing in it.
func Empty() Range { return Range{math.Inf(1), math.Inf(-1)} }

// IsEmpty reports whether there is nothing in a range.
func (r Range) IsEmpty() bool { return !(r.Lo <= r.Hi) }

// Add takes a value into a range; what is no number is left out.
func (r *Range) Add(v float64) {
	if v < r.Lo {
		r.Lo = v
	}
	if v > r.Hi {
		r.Hi = v
	}
}

// Join takes another range in.
func (r *Range) Join(o Range) {
	r.Lo, r.Hi = min(r.Lo, o.Lo), max(r.Hi, o.Hi)
}

// finite is v, or 0 where that is no number.
func finite(v float64) float64 {
	if v-v != 0 {
		return 0
	}
	return v
}
