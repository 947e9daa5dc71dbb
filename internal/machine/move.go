package machine

import "math"

// Point is a position in mm, in the coordinates that the program has before
// its first G92: that word moves the numbers, not the head.
type Point struct{ X, Y, Z float64 }

// axes are its coordinates.
func (p *Point) axes() [3]*float64 { return [3]*float64{&p.X, &p.Y, &p.Z} }

// Kind says what a block does to the head.
type Kind uint8

const (
	// Still is a block without motion or dwell.
	Still Kind = iota
	// Line is a straight move (G0 or G1), Z included, also one without
	// XY length.
	Line
	// Arc is a move on a circle in XY (G2 or G3), Z rising evenly.
	Arc
	// Dwell is a pause (G4) at a point.
	Dwell
)

// Move is what one block makes the head do.
type Move struct {
	Kind Kind
	// Rapid reports a G0.
	Rapid bool
	// Loose reports a rapid on which each axis goes at its own rate: it stays in
	// the rectangle of its ends, and Z is anywhere between theirs all the while.
	Loose bool
	// Burn reports a feed move (or a dwell) with the beam on.
	Burn bool
	// From and To are the ends, in mm. Of an axis that the program has not
	// fixed yet they hold the start that was assumed.
	From, To Point
	// FromUnknown reports a travel from or to an X or Y that is not known: its
	// path over XY is not known. Length and Seconds are then as if the head
	// stood at the last place known or, before any, at the assumed start.
	FromUnknown bool
	// ZUnknown reports the same of Z.
	ZUnknown bool
	// Lost holds the axes that the move leaves at a place the program does
	// not know: those that G28, G30 or G53 sends there. To is then From.
	Lost AxisSet
	// Home says how they go there.
	Home Home
	// CX, CY is an arc's centre in mm; R0 and R1 its radii at From and To
	// in mm, which may differ by as much as RS274 allows; A0 the angle of
	// From seen from the centre and Sweep the signed angle, in radians,
	// counter-clockwise positive.
	CX, CY, R0, R1, A0, Sweep float64
	// Length is the length over XY in mm.
	Length float64
	// Seconds is how long it takes at the programmed feed, or at the
	// rapid rate.
	Seconds float64
	// Feed is the programmed F in mm/min (G94), or in 1/min (G93); 0 for
	// rapids and dwells.
	Feed float64
	// Power is the value of the power word in force, in the program's own
	// unit.
	Power float64
	// PowerFollows reports whether the beam word in force scales power with
	// speed.
	PowerFollows bool
}

// Heading is the direction over XY at the fraction s of the move, as a vector of length 1;
// 0 where it has no length.
func (m *Move) Heading(s float64) (dx, dy float64) {
	if m.Length == 0 {
		return 0, 0
	}
	if m.Kind == Arc {
		sin, cos := math.Sincos(m.A0 + m.Sweep*s)
		way := math.Copysign(1, m.Sweep)
		return -sin * way, cos * way
	}
	dx, dy = m.To.X-m.From.X, m.To.Y-m.From.Y
	l := math.Hypot(dx, dy)
	return dx / l, dy / l
}

// Crosses reports whether the move goes over XY by a way of which only the rectangle
// of its ends is known.
func (m *Move) Crosses() bool { return m.Loose && m.Length > 0 && !m.FromUnknown }

// AxisSet is a set of axes.
type AxisSet uint8

// The axes; Z is the one that moves the focus.
const (
	AxisX AxisSet = 1 << iota
	AxisY
	AxisZ
	axesXY  = AxisX | AxisY
	allAxes = AxisX | AxisY | AxisZ
)

// Home is a move to a place that only the machine knows, by G28, G30 or G53.
type Home struct {
	// G is 28, 30 or 53, and 0 for any other move.
	G int8
	// Named are the axes on the line, and Words their numbers in mm: the
	// point on the way of G28 and G30, machine coordinates of G53.
	Named AxisSet
	Words Point
}

// Stored reports whether the place is a stored one: G28 and G30 go there by
// themselves, whatever the motion mode.
func (h Home) Stored() bool { return h.G == 28 || h.G == 30 }

// XY gives the place at the fraction s, 0 to 1, of the move's XY length, in
// mm. At 0 and 1 it is From and To to the last bit.
func (m *Move) XY(s float64) [2]float64 {
	switch {
	case s <= 0:
		return [2]float64{m.From.X, m.From.Y}
	case s >= 1:
		return [2]float64{m.To.X, m.To.Y}
	case m.Kind == Arc:
		r := m.R0 + (m.R1-m.R0)*s
		sin, cos := math.Sincos(m.A0 + m.Sweep*s)
		return [2]float64{m.CX + r*cos, m.CY + r*sin}
	}
	return [2]float64{m.From.X + (m.To.X-m.From.X)*s, m.From.Y + (m.To.Y-m.From.Y)*s}
}
