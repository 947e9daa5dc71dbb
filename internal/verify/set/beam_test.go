package set

import (
	"slices"
	"strings"
	"testing"

	"sagitta/internal/verify"
)

// unlit is a job of two burns, of which each zone has one, and what of it
// comes before, between and behind them.
type unlit struct{ head, between, tail string }

func (u unlit) job() string { return u.head + "G1 X50 F1000\n" + u.between + "G1 X100\n" + u.tail }

// No zone has a travel, a wait or an end with the beam on that the original
// has not, nor is anything glued to a line that has no end.
func TestSetIsDarkWhereItsOriginalIs(t *testing.T) {
	dark := unlit{head: "G21 G90\nM5\nG0 X0 Y0\nM4 S500\n", between: "S0\nG0 X60\nS500\n", tail: "M5\nG0 X0 Y0\n"}
	lit := unlit{head: "G21 G90\nM3 S500\nG0 X0 Y0\n", between: "G0 X60\n", tail: "G0 X0 Y0\nM5\nM2\n"}
	const open, low, high = "G21 G90\nM5\nG0 X0 Y0\n", "M4 S500\nG1 X50 F1000\nM5\n", "G0 X60\nM4 S500\nG1 X100 F1000\n"
	const home = "G0 X0 Y0\n"
	const powers = "G21 G90\nG0 X0 Y0\nS500\nG1 X50 F1000\nS0\nG0 X60\nS500\nG1 X100\nS0\nG0 X0 Y0\n"
	const first, second = "G21 G90\nG0 X0 Y0\nS500\nG1 X50 F1000\nS0\nG0 X0 Y0\n", "G21 G90\nG0 X60 Y0\nS500\nG1 X100 F1000\nS0\nG0 X0 Y0\n"
	for _, c := range []struct {
		name      string
		original  string
		low, high string
		want      string // "" where it holds
	}{
		{"dark", dark.job(), open + low + home, open + "M0\n" + high + "M5\n" + home, ""},
		{"end", dark.job(), open + low + home + "M3\n", open + high + "M5\n" + home, "zone 1: line 8: beam differs from the original: on at the end"},
		{"stop", dark.job() + "M2\n", open + low + home + "M3\nM2\n", open + high + "M5\n" + home + "M2\n", "zone 1: line 9: beam differs from the original: on at M2"},
		{"stop with power 0", dark.job() + "M2\n", open + low + home + "M3\nS0 M2\n", open + high + "M5\n" + home + "M2\n", ""},
		{"wait", dark.job(), open + low + home, open + "M3 S500\nM0\nM5\n" + high + "M5\n" + home, "zone 2: line 5: beam differs from the original: on at M0, at X0 Y0"},
		{"wait before the end", dark.job(), open + low + "M3\nM1\nM5\n" + home, open + high + "M5\n" + home, "zone 1: line 8: beam differs from the original: on at M1"},
		{"travel", dark.job(), open + low + home, open + "M3 S500\n" + high + "M5\n" + home, "zone 2: line 5: beam differs from the original: on in a travel, at X0 Y0"},
		{"way home", dark.job(), open + low + home, open + high + home + "M5\n", "zone 2: line 7: beam differs from the original: on in a travel, at X100 Y0"},
		{"retract", dark.job(), open + low + home, open + high + "G0 Z5\nM5\n" + home + "G0 Z0\n", "zone 2: line 7: beam differs from the original: on in a travel, at X100 Y0"},
		{"feed move", dark.job(), open + low + home, open + high + "G1 X0\nM5\n" + home, "zone 2: line 7: not in the original, and the beam can fire"},
		{"power 0", dark.job(), open + low + home, open + "M3 S0\n" + high + "S0\n" + home + "M5\n", ""},

		{"lit", lit.job(), "G21 G90\nM3 S500\nG0 X0 Y0\nG1 X50 F1000\nG0 X60\nM5\n" + home + "M2\n",
			"G21 G90\nM5\nG0 X60 Y0\nM3 S500\nG1 X100 F1000\nG0 X0 Y0\nM5\nM2\n", ""},
		{"lit in parts", lit.job(), "G21 G90\nM3 S500\nG0 X0 Y0\nG1 X50 F1000\nG0 X55\nX60\nG0 Z0.5\nM0\nM5\n" + home + "G0 Z0\nM2\n",
			"G21 G90\nM5\nG0 X60 Y0\nM3 S500\nG1 X100 F1000\nG0 X0 Y0\nM5\nM2\n", "zone 1: line 7: beam differs from the original: on in a travel, at X60 Y0"},
		{"lit at other power", lit.job(), "G21 G90\nM3 S500\nG0 X0 Y0\nG1 X50 F1000\nG0 X60 S501\nM0\nM5\n" + home + "M2\n",
			"G21 G90\nM5\nG0 X60 Y0\nM3 S500\nG1 X100 F1000\nG0 X0 Y0\nM5\nM2\n", "zone 1: line 5: beam differs from the original: on in a travel"},
		{"lit elsewhere", lit.job(), "G21 G90\nM3 S500\nG0 X0 Y0\nG1 X50 F1000\nM5\n" + home + "M2\n",
			"G21 G90\nM3 S500\nG0 X0 Y0\nG0 X60\nG1 X100 F1000\nG0 X50\nX0\nM5\nM2\n", "zone 2: line 4: beam differs from the original: on in a travel, at X0 Y0"},
		{"lit back", lit.job(), "G21 G90\nM3 S500\nG0 X0 Y0\nG1 X50 F1000\nG0 X60\nX50\nM5\n" + home + "M2\n",
			"G21 G90\nM5\nG0 X60 Y0\nM3 S500\nG1 X100 F1000\nG0 X0 Y0\nM5\nM2\n", "zone 1: line 6: beam differs from the original: on in a travel, at X60 Y0"},
		{"lit at a wait", lit.job(), "G21 G90\nM3 S500\nG0 X0 Y0\nG1 X50 F1000\nG0 X60\nM0\nM5\n" + home + "M2\n",
			"G21 G90\nM5\nG0 X60 Y0\nM3 S500\nG1 X100 F1000\nG0 X0 Y0\nM5\nM2\n", "zone 1: line 6: beam differs from the original: on at M0"},
		{"lit before its burn", lit.job(), "G21 G90\nM3 S500\nG0 X0 Y0\nM0\nG1 X50 F1000\nM5\n" + home + "M2\n",
			"G21 G90\nM5\nG0 X60 Y0\nM3 S500\nG1 X100 F1000\nG0 X0 Y0\nM5\nM2\n", "zone 1: line 4: beam differs from the original: on at M0"},
		{"lit at the stop", strings.Replace(lit.job(), "M5\nM2", "M2", 1), "G21 G90\nM3 S500\nG0 X0 Y0\nG1 X50 F1000\nM5\n" + home + "M2\n",
			"G21 G90\nM5\nG0 X60 Y0\nM3 S500\nG1 X100 F1000\nG0 X0 Y0\nM2\n", ""},

		// A burn is none where the program before has ended with the beam put off.
		{"put off before", powers, first + "M5\n", second + "M5\n", "zone 2: line 4: beam differs from the original: no word puts the beam on before this burn, and low before it ends with the beam put off"},
		{"put on again", powers, first + "M5\n", strings.Replace(second, "G1", "M3 G1", 1) + "M5\n", ""},
		{"put on too late", powers, first + "M2\n", second + "M3\nM5\n", "zone 2: line 4: beam differs from the original: no word puts the beam on before this burn"},

		// What is glued to a line is a part of it.
		{"glued to a comment", open + low + "G0 X60\nM4 S500\nG1 X100 ; last", open + low + "G0 Z1\nG0 X100 Y0\n",
			open + "G0 X60\nM4 S500\nG1 X100 F1000 ; lastM5\n", "zone 2: line 6: beam differs from the original: on at the end"},
		{"glued to a burn", open + low + "G0 X60\nM4 S500\nG1 X100", open + low + "G0 Z1\nG0 X100 Y0\n",
			open + "G0 X60\nM4 S500\nG1 X100 F1000M5\n", "set: original line 9: missing here: no zone has this burn of 40 mm"},
		{"not glued", open + low + "G0 X60\nM4 S500\nG1 X100 ; last", open + low + "G0 Z1\nG0 X100 Y0\n",
			open + "G0 X60\nM4 S500\nG1 X100 F1000 ; last\nM5\n", ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			bent{low: c.low, high: c.high, original: c.original}.says(t, c.want)
		})
	}
}

// A program ends with the beam put off by its word, or by its end, also where it was not
// divided and whatever its original does.
func TestOneZoneEndsByTheWord(t *testing.T) {
	list := `{"schema": 1, "zones": [{"program": "all", "lens": "a", "focus_mm": 0.2, "focus_point_mm": [20, 0]}]}`
	const text = "G21 G90\nM3 S500\nG0 X0 Y0\nG1 X40 F1000\n"
	for _, c := range []struct{ end, original, wants string }{
		{"", text, "zone 1: line 4: beam differs from the original: on at the end"},
		{"", text + "M5\n", "on at the end"},
		{"M5\n", text, ""},
		{"M5\n", text + "M5\n", ""},
		{"S0\n", text, "zone 1: ends in another state than the original: no word puts the beam off"},
		{"S0\n", text + "S0\n", "no word puts the beam off"},
		{"M5\nM3 S0\n", text + "M5\n", "no word puts the beam off"},
		{"M2\n", text + "M2\n", ""},
		{"S0\nM30\n", text + "M5\nM30\n", ""},
	} {
		res := runSet(t, list, map[string]string{"all": text + c.end}, c.original, nil)
		if got := failuresOf(res); (got == "") != (c.wants == "") || !strings.Contains(got, c.wants) {
			t.Errorf("%+v: %s", c, got)
		}
	}
}

// What an original does with the beam on besides burning is noted once, each kind with
// its first line and how often; an end by its word is none.
func TestSetNamesWhatIsLit(t *testing.T) {
	list := `{"schema": 1, "zones": [{"program": "all", "lens": "a", "focus_mm": 0.2, "focus_point_mm": [20, 0]}]}`
	const text = "G21 G90\nM3 S500\nG0 X0 Y0\nG1 X40 F1000\nG0 X30\nM0\nM6 T2\nG1 X35\n"
	const travels, waits = "the original itself travels with the beam on, 2 times in all, first on its line 3", "the original itself waits with the beam on, 2 times in all, first on its line 6"
	for end, want := range map[string][]string{
		"": {travels, waits, "the original itself ends with the beam on, at its line 8"}, "M5\n": {travels, waits}, "M2\n": {travels, waits},
		"M5\nG0 X0\nM0\n": {travels, waits},
	} {
		res := runSet(t, list, map[string]string{"all": text + end}, text+end, nil)
		var got []string
		for _, n := range res.Whole.Notes {
			if strings.Contains(n, "with the beam on") {
				got = append(got, n)
			}
		}
		if !slices.Equal(got, want) || res.Holds() != (end != "") {
			t.Errorf("%q: %q, %s", end, got, failuresOf(res))
		}
	}
}

// What only the machine knows of a place is known of neither program.
func TestSetKeepsPlacesAndOffsets(t *testing.T) {
	const open = "G21 G90\nM5\nG0 X0 Y0\nG0 Z0\n"
	low, high := "M4 S500\nG1 X50 F1000\nM5\n", "M5\nG0 X50 Y0\nM4 S500\nG1 X100 F1000\nM5\n"
	both := "M4 S500\nG1 X100 F1000\nM5\n"
	for _, c := range []struct {
		name      string
		original  string
		low, high string
		want      string
	}{
		{"G53", open + both + "G53 G0 Z0\nG53 G0 X0 Y0\nM2\n", open + low + "G53 G0 Z0\nG53 G0 X0 Y0\nM2\n", open + high + "G53 G0 Z0\nG53 G0 X0 Y0\nM2\n", ""},
		{"G53 of one axis", open + both + "G53 G0 X0\nM2\n", open + low + "G53 G0 X0\nM2\n", open + high + "G53 G0 X0\nM2\n", ""},
		{"G53 of one axis, elsewhere", open + both + "G53 G0 X0\nM2\n", open + low + "G53 G0 X0\nM2\n", open + high + "G0 Y1\nG53 G0 X0\nM2\n",
			"zone 2: ends in another state than the original: the head stands 1 mm from where"},
		{"G28 left out", open + both + "G28\nM2\n", open + low + "G28\nM2\n", open + high + "M2\n", "zone 2: ends in another state than the original: which axes are known"},
		{"G28 before", "G21 G90\nM5\nG28\nG0 X0 Y0\nG0 Z0\n" + both + "G0 X0\n", "G21 G90\nM5\nG28\nG0 X0 Y0\nG0 Z0\n" + low + "G0 X0\n",
			"G21 G90\nM5\nG28\nG0 Z0.1\nG0 X50 Y0\nG0 Z0\nM4 S500\nG1 X100 F1000\nM5\nG0 X0\n", ""},
		{"G92", open + "G0 X20\nG92 X0\nM4 S500\nG1 X80 F1000\nM5\nG92.1\nG0 X0 Y0\n", open + "G0 X20\nG92 X0\nM4 S500\nG1 X30 F1000\nM5\nG92.1\nG0 X0 Y0\n",
			open + "G0 X50\nM4 S500\nG1 X100 F1000\nM5\nG0 X0 Y0\n", ""},
		{"G92 kept", open + "G0 X20\nG92 X0\nM4 S500\nG1 X80 F1000\nM5\nG92.1\nG0 X0 Y0\n", open + "G0 X20\nG92 X0\nM4 S500\nG1 X30 F1000\nM5\nG92.1\nG0 X0 Y0\n",
			open + "G0 X20\nG92 X0\nG0 X30\nM4 S500\nG1 X80 F1000\nM5\nG92.1\nG0 X0 Y0\n", ""},
		{"G92, places of before", open + "G0 X20\nG92 X0\nM4 S500\nG1 X80 F1000\nM5\nG92.1\nG0 X0 Y0\n", open + "G0 X20\nG92 X0\nM4 S500\nG1 X30 F1000\nM5\nG92.1\nG0 X0 Y0\n",
			open + "G0 X20\nG92 X0\nG0 X50\nM4 S500\nG1 X100 F1000\nM5\nG92.1\nG0 X0 Y0\n", "no zone has the last 50 mm of this burn, at X50 Y0"},
		{"G92 left in force", open + both + "G92 X0 Y0\nG92.1\nG0 X0 Y0\n", open + low + "G92 X0 Y0\nG92.1\nG0 X0 Y0\n",
			open + high + "G92 X100 Y0\nG92 X100.5\nG0 X0.5 Y0\n", "zone 2: ends in another state than the original: the offset of G92, by 0.5 mm"},
		{"G92.2 and G92.3", open + "G92 X5\nG92.2\n" + both + "G92.3\nG0 X5 Y0\nM2\n", open + "G92 X5\nG92.2\n" + low + "G92.3\nG0 X5 Y0\nM2\n",
			open + "G92 X5\nG92.2\n" + high + "G92.3\nG0 X5 Y0\nM2\n", ""},
		{"two programs", open + low + "M2\nG0 X50\nM4\nG1 X100\nM5\nG0 X0\nM2\n", open + low + "M2\nG0 X0\nM2\n", open + "M2\n" + high + "G0 X0\nM2\n",
			"set: original line 8: word differs from the original: M2 stands between burns of the original"},
		{"G90.1", open + "G90.1\nG0 X10 Y10\nM4 S500\nG2 X10 Y10 I15 J10 F1000\nM5\nG91.1\nG0 X70\nM4\nG1 X80\nM5\n", open + "G90.1\nG0 X10 Y10\nM4 S500\nG2 X10 Y10 I15 J10 F1000\nM5\nG91.1\nG0 Z1\nG0 X80\n",
			open + "G0 X70 Y10\nM4 S500\nG1 X80 F1000\nM5\n", ""},
		{"G90.1 left in force", open + "G90.1\nG0 X10 Y10\nM4 S500\nG2 X10 Y10 I15 J10 F1000\nM5\nG91.1\nG0 X70\nM4\nG1 X80\nM5\n",
			open + "G90.1\nG0 X10 Y10\nM4 S500\nG2 X10 Y10 I15 J10 F1000\nM5\nG0 Z1\nG0 X80\n",
			open + "G0 X70 Y10\nM4 S500\nG1 X80 F1000\nM5\n", "zone 1: ends in another state than the original: arc distance mode"},
		{"G90.1, centre of G91.1", open + "G90.1\nG0 X10 Y10\nM4 S500\nG2 X10 Y10 I15 J10 F1000\nM5\nG91.1\nG0 X70\nM4\nG1 X80\nM5\n", open + "G91.1\nG0 X10 Y10\nM4 S500\nG2 X10 Y10 I15 J10 F1000\nM5\nG0 Z1\nG0 X80\n",
			open + "G0 X70 Y10\nM4 S500\nG1 X80 F1000\nM5\n", "no zone has this burn of 31.416 mm"},
	} {
		t.Run(c.name, func(t *testing.T) {
			for _, form := range []struct {
				name   string
				change func(string) string
			}{
				{"as it is", func(s string) string { return s }},
				{"CRLF", func(s string) string { return strings.ReplaceAll(s, "\n", "\r\n") }},
				{"numbered", func(s string) string {
					var b strings.Builder
					for i, line := range strings.SplitAfter(strings.TrimSuffix(s, "\n"), "\n") {
						line, end, _ := strings.Cut(line, "\n")
						line = "N" + strings.Repeat("1", i%4+1) + " " + line
						sum := byte(0)
						for k := range len(line) {
							sum ^= line[k]
						}
						b.WriteString(line + "*" + verify.Number(float64(sum)) + "\n" + end)
					}
					return b.String()
				}},
			} {
				t.Run(form.name, func(t *testing.T) {
					list := strings.NewReplacer("0.75", "0.7", "[75,", "[70,").Replace(setList)
					bent{list: list, low: form.change(c.low), high: form.change(c.high), original: form.change(c.original)}.says(t, c.want)
				})
			}
		})
	}
}
