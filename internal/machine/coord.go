package machine

import (
	"math/bits"

	"sagitta/internal/program"
)

const (
	// unitsPerMM is how many units of a coord are a mm: 10 decimals in mm,
	// and 9 in inches, as 25.4 has one itself.
	unitsPerMM  = 1e10
	decimalsMM  = 10
	decimalsIn  = 9
	tenthsPerIn = 254 // of mm

	// maxUnits bounds the whole part of a coord, so that sums of three do
	// not overflow: 200 km. Beyond, the rest takes over.
	maxUnits = 2e18
)

// coord is a length in mm: q units and a rest r in mm. The rest is 0 unless
// the program has more decimals than a unit, or larger numbers than q holds;
// then sums are as good as a float's.
type coord struct {
	q int64
	r float64
}

// mm returns the length in mm; without a rest it is the nearest float as long
// as the length is below 900 m.
func (c coord) mm() float64 {
	f := float64(c.q) / unitsPerMM
	if c.r != 0 {
		f += c.r
	}
	return f
}

// span returns the length in mm to within 2 units in the last place, without
// the cost of a division: good for how long a move is, not for where it ends.
func (c coord) span() float64 { return float64(c.q)*(1/unitsPerMM) + c.r }

func (c coord) add(d coord) coord {
	c.q += d.q
	c.r += d.r
	if c.q > maxUnits || c.q < -maxUnits {
		return coord{r: float64(c.q)/unitsPerMM + c.r}
	}
	return c
}

// sub returns c - d, which may have up to twice maxUnits.
func (c coord) sub(d coord) coord { return coord{c.q - d.q, c.r - d.r} }

// scale holds, for each number of decimals that fits, the units of a last
// decimal and the largest mantissa that stays within maxUnits.
type scale struct {
	unit, most [program.MaxDecimals + 1]int64
}

var scaleMM, scaleIn = makeScale(decimalsMM, 1), makeScale(decimalsIn, tenthsPerIn)

func makeScale(decimals int, factor int64) *scale {
	s := new(scale)
	unit := factor
	for dec := decimals; dec >= 0; dec-- {
		s.unit[dec], s.most[dec] = unit, maxUnits/unit
		if dec > 0 {
			unit *= 10
		}
	}
	return s
}

// units returns mant with dec decimals in units of a coord, and whether it is
// a whole number of them that fits.
func (s *scale) units(mant int64, dec int8) (q int64, ok bool) {
	most := s.most[dec] // 0 where no number but 0 is whole
	return mant * s.unit[dec], uint64(mant+most) <= 2*uint64(most)
}

// length returns the number as a length in mm.
func length(n program.Number, s *scale) coord {
	if q, ok := s.units(n.Mant, n.Dec); ok {
		return coord{q: q}
	}
	return longLength(n, s == scaleIn)
}

// longLength is length for numbers with more decimals than a unit has, or
// with more digits before the point.
func longLength(n program.Number, inches bool) coord {
	factor, decimals, perMM := uint64(1), int8(decimalsMM), 1.0
	if inches {
		factor, decimals, perMM = tenthsPerIn, decimalsIn, tenthsPerIn/10.0
	}
	whole := coord{r: n.Float() * perMM}
	if n.Dec <= decimals {
		return whole
	}
	mant := uint64(n.Mant)
	if n.Mant < 0 {
		mant = -mant
	}
	divisor := uint64(1)
	for range n.Dec - decimals {
		divisor *= 10
	}
	hi, lo := bits.Mul64(mant, factor)
	if hi >= divisor {
		return whole
	}
	q, rest := bits.Div64(hi, lo, divisor)
	if q > maxUnits {
		return whole
	}
	c := coord{int64(q), float64(rest) / (float64(divisor) * unitsPerMM)}
	if n.Mant < 0 {
		c.q, c.r = -c.q, -c.r
	}
	return c
}
