package focus

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// Depth is the allowed defocus [-Near, +Far], both sides in mm and above zero.
type Depth struct{ Near, Far float64 }

// depthWanted says how a depth is written; every error of ParseDepth ends so.
const depthWanted = "give mm above zero, as in 1.5, or nearer and further, as in -1.2,1.8"

// ParseDepth reads a depth in mm: one number above zero for both sides
// ("1.5"), or the nearer side with a minus and the further one without
// ("-1.2,1.8"). Numbers are plain decimals: no exponent, no NaN, no Inf. The
// error is one line that quotes s and says what is wanted.
func ParseDepth(s string) (Depth, error) {
	bad := func(why string) (Depth, error) {
		return Depth{}, fmt.Errorf("depth %q: %s: %s", s, why, depthWanted)
	}
	first, second, two := strings.Cut(s, ",")
	a, ok := plainNumber(first)
	if !ok {
		return bad(fmt.Sprintf("%q is not a number", first))
	}
	if !two {
		if a <= 0 {
			return bad("it is not above zero")
		}
		return Depth{a, a}, nil
	}
	b, ok := plainNumber(second)
	switch {
	case !ok:
		return bad(fmt.Sprintf("%q is not a number", second))
	case a > 0 && b < 0:
		return bad("it is the wrong way round")
	case a >= 0:
		return bad("the first number is not below zero")
	case b <= 0:
		return bad("the second number is not above zero")
	}
	return Depth{-a, b}, nil
}

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
