package surface

import (
	"bytes"
	"fmt"
	"math"
	"strconv"
	"strings"
)

// pow10 holds the powers of ten that float64 represents exactly.
var pow10 = [...]float64{1, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10,
	1e11, 1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22}

// parseNumber reads a decimal number, with or without an exponent, exactly
// as strconv.ParseFloat does. Hexadecimal, underscores, Inf and NaN are not
// numbers here.
func parseNumber(b []byte) (float64, bool) {
	if len(b) == 0 {
		return 0, false
	}
	// Up to 15 digits and a power of ten within 1e22 are exact in float64,
	// so that one division rounds as it should (W. D. Clinger, PLDI 1990).
	// It spares the allocation of a string for nearly every number.
	var mantissa uint64
	i, digits, frac := 0, 0, 0
	dot := false
	if b[0] == '-' || b[0] == '+' {
		i++
	}
	for ; i < len(b); i++ {
		c := b[i]
		if c == '.' && !dot {
			dot = true
		} else if c >= '0' && c <= '9' && digits < 15 {
			mantissa = mantissa*10 + uint64(c-'0')
			digits++
			if dot {
				frac++
			}
		} else {
			break
		}
	}
	if i == len(b) && digits > 0 {
		v := float64(mantissa) / pow10[frac]
		if b[0] == '-' {
			v = -v
		}
		return v, true
	}
	for _, c := range b {
		if (c < '0' || c > '9') && c != '.' && c != '+' && c != '-' && c != 'e' && c != 'E' {
			return 0, false
		}
	}
	v, err := strconv.ParseFloat(string(b), 64)
	return v, err == nil && !math.IsInf(v, 0)
}

// looksNumeric tells text that means to be a number, though it may not be a
// valid one: such a field is never taken for a label.
func looksNumeric(b []byte) bool {
	t := strings.ToLower(strings.TrimLeft(string(b), "+-"))
	if t == "inf" || t == "infinity" {
		return true
	}
	return t != "" && (t[0] >= '0' && t[0] <= '9' || t[0] == '.' && len(t) > 1 && t[1] >= '0' && t[1] <= '9')
}

func isNaN(b []byte) bool { return len(b) == 3 && bytes.EqualFold(b, []byte("nan")) }

// coordinate reads field k as a place on an axis, in mm.
func (r *lineReader) coordinate(k int, axis string) (float64, error) {
	return r.length(k, axis, maxCoordMM)
}

// height reads field k as a height in mm, up positive; NaN when missing.
func (r *lineReader) height(k int) (float64, error) {
	b := r.text(k)
	if len(b) == 0 || isNaN(b) {
		return math.NaN(), nil
	}
	v, err := r.length(k, "height", maxHeightMM)
	if r.down {
		v = 0 - v // not -v: no negative zero
	}
	return v, err
}

func (r *lineReader) length(k int, what string, limit float64) (float64, error) {
	b := r.text(k)
	at := r.fields[k].start
	if len(b) == 0 {
		return 0, r.fail(at, what+" is blank; a number is needed here")
	}
	v, ok := parseNumber(b)
	if !ok {
		hint := ""
		if r.sep != ',' && bytes.IndexByte(b, ',') >= 0 {
			hint = "; decimals take a point"
		}
		return 0, r.fail(at, fmt.Sprintf("%s %s is not a number%s", what, quote(b), hint))
	}
	if r.inch {
		v *= 25.4
	}
	if math.Abs(v) > limit {
		return 0, r.fail(at, fmt.Sprintf("%s %s is not within %g mm of zero", what, quote(b), limit))
	}
	return v, nil
}

// quote shows a field in a message, cut when it is long.
func quote(b []byte) string {
	if len(b) > 40 {
		return strconv.Quote(string(b[:40])) + "..."
	}
	return strconv.Quote(string(b))
}
