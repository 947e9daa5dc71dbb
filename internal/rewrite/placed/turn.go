package placed

import (
	"math"

	"sagitta/internal/machine"
)

// Place is where a part lies: its X0 Y0 in mm, and by how many degrees it is turned about
// that, counter-clockwise. Number is what it is called, Says what its comment says of it.
type Place struct {
	Number          int
	X, Y, RotateDeg float64
	Says            string
}

// unitsPerMM is how finely places are kept: as whole numbers, as package machine has them.
const unitsPerMM = 1e10

// units is a length in mm as a whole number of them.
func units(mm float64) int64 { return int64(math.RoundToEven(mm * unitsPerMM)) }

// turn lays a part out. A turn by quarters is exact.
type turn struct {
	x, y     int64
	quarters int // -1 where it is by another angle
	sin, cos float64
}

func turnOf(p *Place) turn {
	t := turn{x: units(p.X), y: units(p.Y), quarters: -1}
	deg := math.Mod(p.RotateDeg, 360)
	if deg < 0 {
		deg += 360
	}
	if q := deg / 90; q == math.Trunc(q) {
		t.quarters = int(q) % 4
	}
	t.sin, t.cos = math.Sincos(deg * math.Pi / 180)
	return t
}

// still reports whether it leaves everything where it is.
func (t *turn) still() bool { return t.quarters == 0 && t.x == 0 && t.y == 0 }

// vector turns a direction.
func (t *turn) vector(x, y int64) (int64, int64) {
	switch t.quarters {
	case 0:
		return x, y
	case 1:
		return -y, x
	case 2:
		return -x, -y
	case 3:
		return y, -x
	}
	fx, fy := float64(x), float64(y)
	return int64(math.RoundToEven(fx*t.cos - fy*t.sin)), int64(math.RoundToEven(fx*t.sin + fy*t.cos))
}

// point is where a place of the part's program lies.
func (t *turn) point(p machine.Point) (x, y int64) {
	x, y = t.vector(units(p.X), units(p.Y))
	return x + t.x, y + t.y
}

// swaps reports whether X of the part lies along Y.
func (t *turn) swaps() bool { return t.quarters == 1 || t.quarters == 3 }
