package say

import (
	"strings"
	"testing"

	"sagitta/internal/timing"
)

// Parts are said without an exponent, and what is less than all of it not as all.
func TestPartsOfTiming(t *testing.T) {
	for _, c := range []struct {
		slow, slowed float64
		want         []string
	}{
		{0.996, 0.997, []string{"100 % of the burned length", "at 99.7 % of its speed"}},
		{0.026, 0.9994, []string{"2.6 % of the burned length", "at 99.9 % of its speed"}},
		{0.9, 0.98, []string{"90 % of the burned length", "at 98 % of its speed"}},
		{0.0006, 0.004, []string{"0.06 % of the burned length", "at 0.4 % of its speed"}},
	} {
		m := &Timing{Made: &timing.Times{BurnMM: 1, SlowMM: c.slow, SlowedShare: c.slowed, SlowedLine: 9}, Original: &timing.Times{}}
		text := strings.Join(m.Lines("name"), "\n")
		for _, want := range c.want {
			if !strings.Contains(text, want) {
				t.Errorf("%+v: no %q in %s", c, want, text)
			}
		}
	}
}
