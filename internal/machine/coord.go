package machine

import (
	"math/big"

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
func (c coord) mm() float64 { return float64(c.q)/unitsPerMM + c.r }

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

// unitScale is how numbers of a unit become coords: by a factor, after which the number
// of decimals is whole. For each number of decimals that fits it holds the units of
// a last decimal and the largest mantissa that stays within maxUnits.
type unitScale struct {
	factor     int64
	decimals   int8
	unit, most [program.MaxDigits + 1]int64
}

var scaleMM, scaleIn = makeScale(decimalsMM, 1), makeScale(decimalsIn, tenthsPerIn)

func makeScale(decimals int8, factor int64) *unitScale {
	s := &unitScale{factor: factor, decimals: decimals}
	for dec, unit := decimals, factor; dec >= 0; dec, unit = dec-1, unit*10 {
		s.unit[dec], s.most[dec] = unit, maxUnits/unit
	}
	return s
}

// units returns mant with dec decimals in units of a coord, and whether it is
// a whole number of them that fits.
func (s *unitScale) units(mant int64, dec int8) (q int64, ok bool) {
	most := s.most[dec] // 0 where no number but 0 is whole
	return mant * s.unit[dec], uint64(mant+most) <= 2*uint64(most)
}

// length returns the number as a length in mm.
func (s *unitScale) length(n program.Number) coord {
	if q, ok := s.units(n.Mant, n.Dec); ok {
		return coord{q: q}
	}
	return s.longLength(n)
}

// longLength is length for numbers with more decimals than a unit has, or
// with more digits before the point.
func (s *unitScale) longLength(n program.Number) coord {
	whole := coord{r: n.Float() * (float64(s.unit[0]) / unitsPerMM)}
	if n.Dec <= s.decimals {
		return whole
	}
	divisor := new(big.Int).Exp(big.NewInt(10), big.NewInt(int64(n.Dec-s.decimals)), nil)
	product := new(big.Int).Mul(big.NewInt(n.Mant), big.NewInt(s.factor))
	q, rest := product.QuoRem(product, divisor, new(big.Int))
	if q.CmpAbs(big.NewInt(maxUnits)) > 0 {
		return whole
	}
	part, _ := rest.Float64()
	of, _ := divisor.Float64()
	return coord{q.Int64(), part / (of * unitsPerMM)}
}
