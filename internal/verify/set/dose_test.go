package set

import (
	"strings"
	"testing"

	"sagitta/internal/bench"
	"sagitta/internal/verify"
)

// Two burns on one way, the first of which is slowed: each is found in its zone by
// power over speed, not by power, and a lower feed alone does not hold.
func TestSlowedBurnsAreFoundByTheirDose(t *testing.T) {
	const original = "G21 G90\nM5\nG0 X47 Y0\nM4 S200\nG1 X53 F100\nM5\nG0 X47\nM4 S120\nG1 X53\nM5\nG0 X0\nM2\n"
	const low = "G21 G90\nM5\nG0 X47 Y0\nM4 S120\nG1 X53 F100\nM5\nG0 X0\nM2\n"
	const high = "G21 G90\nM5\nG0 X47 Y0\nM4 S120\nG1 X53 F60\nM5\nG0 X0\nM2\n"
	slow := func(o *verify.Options) { o.Slow, o.Slowest = bench.SlowScaled, 0.5 }
	hold := func(low, high string) *Result {
		// In one order, as they touch.
		return runSet(t, cut(t, setList, `1,`, `1, "order": "original",`), map[string]string{"low": low, "high": high}, original, slow)
	}
	if r := hold(low, high); !r.Holds() {
		t.Errorf("%v %v", r.Zones[0].Failures, r.Zones[1].Failures)
	}
	for _, bad := range []string{strings.Replace(high, "S120", "S200", 1), strings.Replace(high, "F60", "F100", 1)} {
		if r := hold(low, bad); r.Holds() {
			t.Errorf("holds:\n%s", bad)
		}
	}
}
