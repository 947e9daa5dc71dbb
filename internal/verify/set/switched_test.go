package set

import (
	"strings"
	"testing"

	"sagitta/internal/machine"
	"sagitta/internal/verify"
)

// What switches must stand before the first burn of each program, in order, or behind
// the last of the last; between burns of several zones it is refused, also where all
// programs have it. Of one zone that does not wait, it must stand between the same ones.
func TestSetHoldsWhatSwitches(t *testing.T) {
	const head, low, high, home = "G21 G90\nM5\nG0 X0 Y0\n", "M4 S500\nG1 X50 F1000\nM5\n", "G0 X60\nM4 S500\nG1 X100 F1000\nM5\n", "G0 X0 Y0\n"
	const missing, between, alien = "of the original is not before its first burn", "stands between burns of the original", "is not in the original here"
	for _, word := range []string{"T2", "M6", "M64 P1", "M106", "M117 text", "$32=0", "M48", "/T2"} {
		w := word + "\n"
		for _, c := range []struct{ name, original, low, high, want string }{
			{"before", w + head + low + high + home, w + head + low + home, w + head + high + home, ""},
			{"before, of the first zone missing", w + head + low + high + home, head + low + home, w + head + high + home, "zone 1: original line 1: missing here: "},
			{"before, of the last zone missing", w + head + low + high + home, w + head + low + home, head + high + home, "zone 2: original line 1: missing here: "},
			{"before, of both missing", w + head + low + high + home, head + low + home, head + high + home, missing},
			{"before, late", w + head + low + high + home, head + low + w + home, w + head + high + home, missing},
			{"before, another order", w + "T3\n" + head + low + high + home, "T3\n" + w + head + low + home, w + "T3\n" + head + high + home, missing},
			{"between", head + low + w + high + home, head + low + home, head + w + high + home, between},
			{"between, in both", head + low + w + high + home, head + low + w + home, head + w + high + home, between},
			{"between, in none", head + low + w + high + home, head + low + home, head + high + home, between},
			{"behind", head + low + high + w + home, head + low + w + home, head + high + w + home, ""},
			{"behind, in the last alone", head + low + high + w + home, head + low + home, head + high + w + home, ""},
			{"behind, not in the last", head + low + high + w + home, head + low + w + home, head + high + home, "of the original is not behind its last burn"},
			{"in none", head + low + high + home, head + low + home, head + high + w + home, alien},
		} {
			t.Run(word+" "+c.name, func(t *testing.T) { bent{low: c.low, high: c.high, original: c.original}.says(t, c.want) })
		}
		list := `{"schema": 1, "zones": [{"program": "all", "lens": "a", "focus_mm": 0.3, "focus_point_mm": [30, 0]}]}`
		first, second := "M4 S500\nG1 X20 F1000\nM5\n", "G0 X30\nM4\nG1 X50\nM5\n"
		for program, want := range map[string]string{
			head + first + w + second: "", head + first + second: "not between the same burns", head + w + first + second: alien, head + first + second + w: "not between the same burns",
		} {
			if got := failuresOf(runSet(t, list, map[string]string{"all": program}, head+first+w+second, nil)); (got == "") != (want == "") || !strings.Contains(got, want) {
				t.Errorf("%s, one zone: %q and %q", word, got, want)
			}
		}
	}
	for _, wait := range []string{"M0\n", "M1\n", "M60\n", "M30\nG0 X0 Y0\n"} {
		bent{low: head + low + home, high: head + high + home, original: head + low + wait + high + home}.says(t, between)
	}
}

// Words that the bench has as harmless may stand in any program, and need not.
func TestSetPassesHarmlessWords(t *testing.T) {
	const head, low, high, home = "G21 G90\nM5\nG0 X0 Y0\n", "M4 S500\nG1 X50 F1000\nM5\n", "G0 X60\nM4 S500\nG1 X100 F1000\nM5\n", "G0 X0 Y0\n"
	harmless := func(o *verify.Options) { o.Harmless, o.Machine = []int{812}, machine.DefaultConfig() }
	bent{low: head + low + home, high: head + "M812\n" + high + home, original: head + low + "M812\n" + high + home, change: harmless}.says(t, "")
	bent{low: head + low + home, high: head + high + home, original: "M812\n" + head + low + high + home, change: harmless}.says(t, "")
	bent{low: head + low + home, high: head + "M812\n" + high + home, original: head + low + high + home, change: harmless}.says(t, "M812 is not in the original here")
}
