package program

import (
	"cmp"
	"math"
	"math/bits"
	"strconv"
)

// MaxDigits is the most digits that a Number has, all of them after the point at the
// most: decimals of 18 digits fit an int64.
const MaxDigits = 18

// maxMant is the largest Mant that Round gives.
const maxMant = 1e18 - 1

// pow10 holds the powers of ten that fit an int64. As floats they are exact (up
// to 10^22 all are).
var pow10 = [MaxDigits + 1]int64{
	1, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9,
	1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18,
}

// Int returns n as a Number without decimals.
func Int(n int64) Number { return Number{Mant: n} }

// Float returns the float nearest to n.
func (n Number) Float() float64 {
	// The quotient of two exact floats is rounded once.
	const exact = 1 << 53
	if -exact <= n.Mant && n.Mant <= exact {
		return float64(n.Mant) / float64(pow10[n.Dec])
	}
	var buf [24]byte
	// The text is a number by construction.
	f, _ := strconv.ParseFloat(string(n.Append(buf[:0])), 64)
	return f
}

// Sign returns -1, 0 or +1.
func (n Number) Sign() int { return cmp.Compare(n.Mant, 0) }

// Cmp compares the values: -1 when n < m, 0 when they are equal, +1 when
// n > m.
func (n Number) Cmp(m Number) int {
	if n.Sign() != m.Sign() {
		return cmp.Compare(n.Sign(), m.Sign())
	}
	// Both products are below 2^123.
	d := max(n.Dec, m.Dec)
	h1, l1 := bits.Mul64(absolute(n.Mant), uint64(pow10[d-n.Dec]))
	h2, l2 := bits.Mul64(absolute(m.Mant), uint64(pow10[d-m.Dec]))
	return n.Sign() * cmp.Or(cmp.Compare(h1, h2), cmp.Compare(l1, l2))
}

func absolute(m int64) uint64 {
	if m < 0 {
		return -uint64(m)
	}
	return uint64(m)
}

// At returns the same value with dec decimals. It reports false where that
// would lose digits or does not fit.
func (n Number) At(dec int8) (Number, bool) {
	if dec < 0 || dec > MaxDigits {
		return n, false
	}
	if dec < n.Dec {
		p := pow10[n.Dec-dec]
		return Number{n.Mant / p, dec}, n.Mant%p == 0
	}
	p := pow10[dec-n.Dec]
	if n.Mant > math.MaxInt64/p || n.Mant < math.MinInt64/p {
		return n, false
	}
	return Number{n.Mant * p, dec}, true
}

// Trim returns the same value without trailing zeros after the point.
func (n Number) Trim() Number {
	for n.Dec > 0 && n.Mant%10 == 0 {
		n.Mant /= 10
		n.Dec--
	}
	return n
}

// Round returns the decimal with dec decimals nearest to v; of two equally
// near ones, the even one. Where v has too many digits before the point, it
// gives fewer decimals, and beyond 10^18 the largest number there is. It
// panics when v is NaN.
func Round(v float64, dec int8) Number {
	if math.IsNaN(v) {
		panic("program: Round of NaN")
	}
	dec = min(max(dec, 0), MaxDigits)
	for dec > 0 && math.Abs(v)*float64(pow10[dec]) >= maxMant {
		dec--
	}
	if math.Abs(v) >= maxMant {
		return Number{Mant: int64(math.Copysign(1, v)) * maxMant}
	}
	x := v * float64(pow10[dec])
	r := math.RoundToEven(x)
	// x is within half a unit in its last place of the true product. Where
	// that cannot move it over a half, r is right. Below 2^50 the last
	// place is at most 2^-3.
	const safe = 1 << 50
	if off := math.Abs(x - r); math.Abs(x) < safe && off+math.Abs(x)*0x1p-52 < 0.5 {
		return Number{int64(r), dec}
	}
	return decimal(strconv.FormatFloat(v, 'f', int(dec), 64)) // of no more digits than fit
}

// Append appends the number with its Dec decimals, a digit before the point,
// and a minus sign where it is negative.
func (n Number) Append(dst []byte) []byte { return spelling{decimals: int(n.Dec)}.append(dst, n) }

// String returns what Append appends.
func (n Number) String() string { return string(n.Append(nil)) }
