package focus

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// Depth is the allowed defocus [-Near, +Far], both sides in mm and above zero.
type Depth struct{ Near, Far float64 }

// ParseDepth reads a depth in mm: one number above zero for both sides
// ("1.5"), or the nearer side with a minus and the further one without
// ("-1.2,1.8"). Numbers are plain decimals: no exponent, no NaN, no Inf. The
// error is one line that quotes s and says what is wanted.
func ParseDepth(s string) (Depth, error) {
	first, second, two := strings.Cut(s, ",")
	a, firstOK := plainNumber(first)
	b, secondOK := plainNumber(second)
	why := ""
	switch {
	case !firstOK:
		why = fmt.Sprintf("%q is not a number", first)
	case max(math.Abs(a), math.Abs(b)) > mostDepth:
		why = fmt.Sprintf("more than %d mm", mostDepth)
	case !two && a <= 0:
		why = "it is not above zero"
	case !two:
		return Depth{a, a}, nil
	case !secondOK:
		why = fmt.Sprintf("%q is not a number", second)
	case a > 0 && b < 0:
		why = "it is the wrong way round"
	case a >= 0:
		why = "the first number is not below zero"
	case b <= 0:
		why = "the second number is not above zero"
	default:
		return Depth{-a, b}, nil
	}
	return Depth{}, fmt.Errorf("depth %q: %s: give mm above zero, as in 1.5, or nearer and further, as in -1.2,1.8", s, why)
}

// mostDepth in mm is more than any lens is sharp over: beyond is a slip.
const mostDepth = 1000

// plainNumber reads an optional sign, digits and at most one point, with
// blanks around. Anything else that strconv takes (hexadecimal, exponents,
// infinities) is more likely a slip than a depth.
func plainNumber(s string) (float64, bool) {
	s = strings.TrimSpace(s)
	if strings.Trim(s, "+-.0123456789") != "" {
		return 0, false
	}
	v, err := strconv.ParseFloat(s, 64)
	return v, err == nil
}

// Check tells whether both sides are finite and above zero.
func (d Depth) Check() error {
	if !(d.Near > 0) || !(d.Far > 0) || math.IsInf(d.Near, 0) || math.IsInf(d.Far, 0) {
		return fmt.Errorf("depth from %g to %g mm: both sides must be above zero and finite", -d.Near, d.Far)
	}
	return nil
}

// String writes the depth in mm as ParseDepth reads it.
func (d Depth) String() string {
	num := func(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }
	if d.Near == d.Far {
		return num(d.Near)
	}
	return num(-d.Near) + "," + num(d.Far)
}

// Extreme is an amount in mm, such as a height or a defocus, and where a program
// has it. Line is 0 where there was none.
type Extreme struct {
	MM   float64
	Line int
	X, Y float64
}
