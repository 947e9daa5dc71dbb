// Package rows tells the rows of a raster from other lines as burns come in, and says where
// seams in them are to be. It is mathematics: moves in, numbers out.
package rows

import (
	"math"

	"sagitta/internal/machine"
)

// Finder is told what is burned, in order: a straight burn parallel to the one before, and
// beside it, is the next row. Seams of neighbouring rows are put apart, so that they do not
// line up. The zero Finder is ready.
type Finder struct {
	// Beside counts the rows that lie side by side before this one, which begins on line
	// Start; that before began on Before.
	Beside, Start, Before int
	// x, y is where the last burn ends, dx, dy its direction there, 0 where there is
	// none. lifted tells that a travel came since.
	x, y, dx, dy float64
	lifted       bool
}

// Lift notes a travel.
func (f *Finder) Lift() { f.lifted = true }

const (
	// rounding is so little that it tells no direction.
	rounding = 1e-7
	// Parallel is the cosine of the angle up to which a row may turn, as its pixels
	// are rounded to decimals.
	Parallel = 0.999
	// sameRow is how far beside a row, in mm, its next pixel may lie.
	sameRow = 0.005
	// rowsApart is how far apart rows are at most, in mm: lines further apart are not
	// seen as one.
	rowsApart = 1
	// golden are multiples of which, less whole numbers, any two neighbours are 0.38
	// apart, and no few of them lie close together.
	golden = 0.6180339887498949
	// spread is the part of where both zones serve that seams of rows are spread over.
	spread = 0.8
)

// Take takes the next burn, on a line of the program. It tells by what angle in radians the
// path turns where it begins, 0 behind a travel, and at which fraction of where two zones
// serve it a seam of it is to be, 0 for none.
func (f *Finder) Take(m *machine.Move, line int) (turn, at float64) {
	dx, dy := m.Heading(0)
	if dx == 0 && dy == 0 {
		return 0, 0
	}
	along, aside := dx*f.dx+dy*f.dy, dx*f.dy-dy*f.dx
	if !f.lifted {
		turn = math.Abs(math.Atan2(aside, along))
	}
	straight := m.Kind == machine.Line && (f.dx != 0 || f.dy != 0)
	switch off := (m.From.X-f.x)*f.dy - (m.From.Y-f.y)*f.dx; {
	case !straight || math.Abs(along) < Parallel || math.Abs(off) > rowsApart:
		f.Beside, f.Start = 0, line
	case math.Abs(off) > sameRow:
		f.Beside, f.Before, f.Start = f.Beside+1, f.Start, line
	}
	f.x, f.y, f.lifted = m.To.X, m.To.Y, false
	f.dx, f.dy = m.Heading(1)
	if f.Beside == 0 {
		return turn, 0
	}
	_, at = math.Modf(0.5 + golden*float64(f.Beside))
	if at = (1-spread)/2 + spread*at; dx < -rounding || dx < rounding && dy < 0 {
		at = 1 - at // the row is burned the other way round
	}
	return turn, at
}
