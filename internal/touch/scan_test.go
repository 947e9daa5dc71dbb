package touch

import (
	"fmt"
	"testing"

	"pgregory.net/rapid"
)

// scanned is what a line is cut into, with and without a first look.
func scanned(b []byte, comma bool, sep byte) (short, whole string) {
	s := tokenizer{comma: comma, sep: sep}
	text := func() string { return fmt.Sprint(s.tokens, s.sawMM, s.sawInch, s.sawDown) }
	s.line(b)
	short = text()
	s.scan(b, func([]byte, int) (piece, bool) { return piece{}, false })
	return short, text()
}

// What is known at a glance is what the general rule makes of it.
func FuzzPlain(f *testing.F) {
	for _, line := range []string{"1,2,3", "X1.5 Y-2 Z+0,25 mm", "12:30:00 1;2;3", "2024-01-02 5 6 7", "probe12 3 in", "1e3 2E-4 5.", "gap: 0.25\"", ".5,,-.5", "µm 3 é4"} {
		f.Add([]byte(line), true, byte(0))
		f.Add([]byte(line), false, byte(';'))
		f.Add([]byte(line), true, byte(','))
	}
	f.Fuzz(func(t *testing.T, b []byte, comma bool, sep byte) {
		if short, whole := scanned(b, comma, sep); short != whole {
			t.Errorf("%q, comma %v, separator %q:\n%s\n%s", b, comma, sep, short, whole)
		}
	})
}

// Lines of what logs are made of, in any order.
func TestPlainLines(t *testing.T) {
	words := rapid.SampledFrom([]string{"0", "12", "2024", "1.5", "-3.25", "+7", ".5", "5.", "1e3", "2E-4", "x", "Y", "z_mm", "probe", "probe1", "gap", "mm", "in", "inch", "µ", "\xff", "12:30:00", "2024-01-02", ""})
	between := rapid.SampledFrom([]string{" ", ",", ";", "", ", ", "\t", "  ", ":", "=", "-", "+", ".", "\"", "(", "[", "#"})
	line := rapid.Custom(func(t *rapid.T) (line string) {
		for range rapid.IntRange(0, 8).Draw(t, "words") {
			line += words.Draw(t, "word") + between.Draw(t, "between")
		}
		return line
	})
	rapid.Check(t, func(t *rapid.T) {
		comma, sep := rapid.Bool().Draw(t, "comma"), rapid.SampledFrom([]byte{0, ',', ';', '\t', ' '}).Draw(t, "sep")
		for range 30 {
			line := line.Draw(t, "line")
			if short, whole := scanned([]byte(line), comma, sep); short != whole {
				t.Fatalf("%q, comma %v, separator %q:\n%s\n%s", line, comma, sep, short, whole)
			}
		}
	})
}
