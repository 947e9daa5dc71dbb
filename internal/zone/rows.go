package zone

import (
	"math"

	"sagitta/internal/machine"
)

// ahead is where burns head to, to tell a raster's rows from lines: a straight burn
// parallel to the one before, and beside it, is the next row. Seams of neighbouring
// rows are put apart, so that they do not line up.
type ahead struct {
	// x, y is where the last burn ends, dx, dy its direction there, 0 where there is
	// none.
	x, y, dx, dy float64
	// rows counts the rows that lie side by side before this one, which begins on line
	// start; that before began on before. lifted tells that a travel came since.
	rows, start, before int
	lifted              bool
}

// lift notes a travel.
func (a *ahead) lift() { a.lifted = true }

const (
	// parallel is the cosine of the angle up to which a row may turn, as its pixels
	// are rounded to decimals.
	parallel = 0.999
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

// take takes the next burn, on a line of the program. It tells by what angle in radians the path turns where it
// begins, 0 behind a travel, and at which fraction of where two zones serve it a seam of
// it is to be, 0 for none.
func (a *ahead) take(m *machine.Move, line int) (turn, at float64) {
	dx, dy := heading(m, 0)
	if dx == 0 && dy == 0 {
		return 0, 0
	}
	along, aside := dx*a.dx+dy*a.dy, dx*a.dy-dy*a.dx
	if !a.lifted {
		turn = math.Abs(math.Atan2(aside, along))
	}
	straight := m.Kind == machine.Line && (a.dx != 0 || a.dy != 0)
	switch off := (m.From.X-a.x)*a.dy - (m.From.Y-a.y)*a.dx; {
	case !straight || math.Abs(along) < parallel || math.Abs(off) > rowsApart:
		a.rows, a.start = 0, line
	case math.Abs(off) > sameRow:
		a.rows, a.before, a.start = a.rows+1, a.start, line
	}
	a.x, a.y, a.lifted = m.To.X, m.To.Y, false
	a.dx, a.dy = heading(m, 1)
	if a.rows == 0 {
		return turn, 0
	}
	_, at = math.Modf(0.5 + golden*float64(a.rows))
	if at = (1-spread)/2 + spread*at; dx < -rounding || dx < rounding && dy < 0 {
		at = 1 - at // the row is burned the other way round
	}
	return turn, at
}
