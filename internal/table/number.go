package table

import (
	"bytes"
	"math"
	"strconv"
)

// Number reads field k as a number; what names it in errors, such as "height".
func (r *Row) Number(k int, what string) (float64, error) {
	b := r.Text(k)
	if len(b) == 0 {
		return 0, r.Fail(k, "%s is missing; a number is needed here", what)
	}
	v, ok := r.Parse(b)
	if ok {
		if i := bytes.IndexAny(b, ".,"); r.sign == 0 && i >= 0 {
			r.sign = b[i]
		}
		return v, nil
	}
	hint := ""
	if _, ok := parse(b, 0); ok { // it has the other sign
		hint = "; decimals take a point"
		if r.sign == ',' {
			hint = "; decimals take a comma, as before it"
		}
	}
	return 0, r.Fail(k, "%s %s is not a number%s", what, Quote(b), hint)
}

// Number reads text of no table as a number, with a point or a comma.
func Number(text []byte) (float64, bool) { return parse(text, 0) }

// Parse reads text of the table as a number: decimal, with or without an
// exponent. Hexadecimal, underscores, Inf and NaN are no numbers here. Where the
// comma does not separate fields it may be the decimal sign, but not beside
// points: that would be one between thousands.
func (r *Row) Parse(text []byte) (float64, bool) {
	sign := r.sign
	if sign == 0 && r.sep == ',' {
		sign = '.'
	}
	return parse(text, sign)
}

// typesetMinus is the minus sign of typesetting, U+2212.
var typesetMinus = []byte("\u2212")

// parse reads a number with the given decimal sign, 0 for either.
func parse(b []byte, sign byte) (float64, bool) {
	var buf [64]byte // so that a string is made of it without allocating
	text := append(buf[:0], b...)
	if rest, typeset := bytes.CutPrefix(b, typesetMinus); typeset {
		text = append(append(buf[:0], '-'), rest...)
	}
	for i, c := range text {
		switch {
		case c == ',' && (sign == ',' || sign == 0):
			text[i] = '.'
		case c == '.' && sign == ',':
			return 0, false
		case (c < '0' || c > '9') && c != '.' && c != '+' && c != '-' && c != 'e' && c != 'E':
			return 0, false
		}
	}
	v, err := strconv.ParseFloat(string(text), 64)
	return v, err == nil && !math.IsInf(v, 0)
}
