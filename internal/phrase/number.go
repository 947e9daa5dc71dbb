package phrase

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// MM writes a length in mm to the micrometre: "1.500", "0.000".
func MM(mm float64) string { return Fixed(mm, 3) }

// Fixed writes v with so many decimals, nought without a sign.
func Fixed(v float64, decimals int) string {
	return fmt.Sprintf("%.*f", decimals, unsigned0(v, decimals))
}

// Signed writes v with its sign and so many decimals, nought as "+0.000".
func Signed(v float64, decimals int) string {
	return fmt.Sprintf("%+.*f", decimals, unsigned0(v, decimals))
}

// unsigned0 takes the minus off what would be written as nought.
func unsigned0(v float64, decimals int) float64 {
	if math.Abs(v) < math.Pow10(-decimals)/2 {
		return 0
	}
	return v
}

// Up writes v rounded up to so many decimals, as what is to be set at least:
// "1.34". What float64 loses is not rounded up.
func Up(v float64, decimals int) string {
	const lost = 1e-7
	step := math.Pow10(decimals)
	return fmt.Sprintf("%.*f", decimals, math.Ceil(v*step-lost)/step)
}

// Short writes v in four digits where that says all before the point: "0.0123", "1.5",
// "12346".
func Short(v float64) string { return Digits(v, 4) }

// Digits writes v rounded to so many digits, but to no less than whole numbers, and never
// with an exponent: what is nothing but rounding in whatever unit people read is 0.
func Digits(v float64, n int) string {
	if math.Abs(v) < leastShown {
		return "0"
	}
	if math.Abs(v) >= math.Pow10(n) {
		return strconv.FormatFloat(v, 'f', 0, 64)
	}
	short, err := strconv.ParseFloat(strconv.FormatFloat(v, 'g', n, 64), 64)
	if err != nil { // not a number, or none that ends
		short = v
	}
	return strconv.FormatFloat(short, 'f', -1, 64)
}

const leastShown = 5e-9

// Feed writes a feed as the bench has it and as programs in mm do: "100 mm/s (F6000)".
func Feed(mmMin float64) string {
	return Digits(mmMin/60, 4) + " mm/s (F" + Trimmed(mmMin, 3) + ")"
}

// Trimmed writes v rounded to so many decimals, without noughts at its end:
// "1.5", "2", "0".
func Trimmed(v float64, decimals int) string {
	s := strconv.FormatFloat(v, 'f', decimals, 64)
	if strings.Contains(s, ".") {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	if s == "-0" {
		return "0"
	}
	return s
}

// Offset writes an offset in mm as Trimmed does, with its sign but for nought:
// "+1.5", "-0.25", "0".
func Offset(mm float64) string {
	s := Trimmed(mm, 4)
	if mm > 0 && s != "0" {
		s = "+" + s
	}
	return s
}

// Sides writes a depth, both sides above zero, in few digits: "-1.5 to +1.8".
func Sides(near, far float64) string { return fmt.Sprintf("-%.4g to +%.4g", near, far) }

// SidesMM writes a depth to the micrometre: "-1.500 to +1.800".
func SidesMM(near, far float64) string { return fmt.Sprintf("-%.3f to +%.3f", near, far) }

// XY writes a place in program XY, mm: "X10.000 Y20.500".
func XY(x, y float64) string { return "X" + MM(x) + " Y" + MM(y) }

// PlusMinus writes v with its uncertainty u, both to the digits that the
// uncertainty leaves: "90.12 ± 0.45". A u that is not known leaves four
// decimals.
func PlusMinus(v, u float64) string {
	decimals := 4
	if u > 0 {
		decimals = min(max(1-int(math.Floor(math.Log10(u))), 0), 6)
	}
	// An uncertainty below any digit that is shown says no more than that.
	return fmt.Sprintf("%.*f ± %.*f", decimals, v, decimals, u)
}
