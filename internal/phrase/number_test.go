package phrase

import (
	"math"
	"slices"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func TestNumbers(t *testing.T) {
	for _, c := range []struct{ got, want string }{
		{MM(1.5), "1.500"}, {MM(-0.0004), "0.000"}, {MM(-0.0006), "-0.001"},
		{Signed(0.25, 3), "+0.250"}, {Signed(-0.0004, 3), "+0.000"}, {Signed(-0.00004, 4), "+0.0000"}, {Signed(-2, 1), "-2.0"},
		{Up(1.331, 2), "1.34"}, {Up(1.33, 2), "1.33"}, {Up(0.1+0.2, 1), "0.3"}, {Up(6.6, 2), "6.60"},
		{Short(1.23456), "1.235"}, {Short(580), "580"}, {Short(0.012345), "0.01235"},
		{Trimmed(1.5, 4), "1.5"}, {Trimmed(100, 0), "100"}, {Trimmed(100, 3), "100"}, {Trimmed(-0.00001, 4), "0"},
		{Offset(1.5), "+1.5"}, {Offset(-0.25), "-0.25"}, {Offset(0.00001), "0"}, {Offset(-0.00001), "0"},
		{Sides(1.5, 1.8), "-1.5 to +1.8"}, {SidesMM(1.5, 1.8), "-1.500 to +1.800"},
		{XY(10, -20.5), "X10.000 Y-20.500"}, {XY(-0.0001, 0), "X0.000 Y0.000"},
		{PlusMinus(90.1234, 0.45), "90.12 ± 0.45"}, {PlusMinus(1234.5, 60), "1234 ± 60"},
		{PlusMinus(1, 0), "1.0000 ± 0.0000"}, {PlusMinus(1, math.NaN()), "1.0000 ± NaN"}, {PlusMinus(1, 1e-9), "1.000000 ± 0.000000"},
	} {
		if c.got != c.want {
			t.Errorf("%q, want %q", c.got, c.want)
		}
	}
}

func TestList(t *testing.T) {
	for want, names := range map[string][]string{"": nil, "a": {"a"}, "a and b": {"a", "b"}, "a, b and c": {"a", "b", "c"}} {
		if got := List(names); got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
}

func TestFold(t *testing.T) {
	for _, c := range []struct {
		text  string
		width int
		want  []string
	}{
		{"", 10, []string{"- "}},
		{"one two", 9, []string{"- one two"}},
		{"one two", 8, []string{"- one", "  two"}},
		{"µµµ µµµ", 9, []string{"- µµµ µµµ"}}, // characters, not bytes
		{"longer than that", 6, []string{"- longer", "  than", "  that"}},
	} {
		if got := Fold(c.text, c.width, "- ", "  "); !slices.Equal(got, c.want) {
			t.Errorf("%q: %q, want %q", c.text, got, c.want)
		}
	}
}

func TestPrintable(t *testing.T) {
	if got, want := Printable("é b\na\x00\u200b(c)"), "é b\ufffda\ufffd\ufffd(c)"; got != want {
		t.Errorf("%q, want %q", got, want)
	}
}

// Digits never writes an exponent, and is off by half of its last digit at most.
func TestDigitsHaveNoExponent(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		v := rapid.Float64Range(-1, 1).Draw(rt, "v") * math.Pow(10, rapid.Float64Range(-7, 9).Draw(rt, "size"))
		n := rapid.IntRange(1, 6).Draw(rt, "digits")
		s := Digits(v, n)
		back, err := strconv.ParseFloat(s, 64)
		if err != nil || strings.ContainsAny(s, "eE") {
			rt.Fatalf("%g: %q, %v", v, s, err)
		}
		if off := math.Abs(back - v); off > max(0.5, math.Abs(v)*0.5*math.Pow10(1-n))*1.000001 || math.Abs(v) < 1 && math.Abs(v) >= leastShown && off > math.Abs(v)*0.5*math.Pow10(1-n)*1.000001 {
			rt.Fatalf("%g: %q", v, s)
		}
	})
	if got := Digits(math.NaN(), 3); got != "NaN" {
		t.Errorf("%q", got)
	}
	if got := Digits(-8.8e-17, 4); got != "0" {
		t.Errorf("%q", got)
	}
	if got := Feed(6000); got != "100 mm/s (F6000)" {
		t.Errorf("%q", got)
	}
}
