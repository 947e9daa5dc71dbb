package set

import (
	"cmp"
	"fmt"
	"io"
	"strings"
	"testing"

	"sagitta/internal/bench"
	"sagitta/internal/focus"
	"sagitta/internal/machine"
	"sagitta/internal/surface"
	"sagitta/internal/surface/surfacetest"
	"sagitta/internal/verify"
)

// The set that tests bend: a plane that rises 0.01 mm/mm along x, two zones of
// ±0.3 mm at 0.25 and 0.75 mm, and a job of one cut burn, one arc, one dwell
// and one burn that both zones' programs could have.
const setOriginal = `G21 G90
M5
G0 X0 Y0
M4 S500
G1 X100 F1000
M5
G0 X10 Y10
M4 S300
G2 X10 Y10 I5 J0
G4 P0.5
M5
G0 X50 Y50
M4 S300
G1 X55
M5
G0 X80 Y50
M4 S300
G1 X90
M5
G0 X0 Y0
M2
`

const setLow = `G21 G90
M5
G0 X0 Y0
M4 S500
G1 X50 F1000
M5
G0 X10 Y10
M4 S300
G2 X10 Y10 I5 J0
G4 P0.5
M5
G0 X50 Y50
M4 S300
G1 X55
M5
G0 X0 Y0
M2
`

const setHigh = `G21 G90
M5
G0 Z0.1
G0 X50 Y0
G0 Z0
G1 X100 F1000 S500 M4
M5
G0 X80 Y50
G1 X90 S300 M4
M5
G0 X0 Y0
M2
`

// plane rises by slope along x.
func plane(t testing.TB, slope float64) *surface.Placed {
	t.Helper()
	return surfacetest.Of(t, "", []float64{0, 50, 100}, []float64{0, 100}, func(x, _ float64) float64 { return x * slope })
}

// runSet checks a set of these programs.
func runSet(t *testing.T, set string, programs map[string]string, original string, change func(*verify.Options)) *Result {
	t.Helper()
	s, err := Read(strings.NewReader(set), "set.json")
	if err != nil {
		t.Fatal(err)
	}
	opt := verify.Options{Bench: bench.Bench{Machine: machine.DefaultConfig(), ZPlusAway: true, DecimalsMM: 3, DecimalsInch: 5}, Surface: plane(t, 0.01), Depth: focus.Depth{Near: 0.3, Far: 0.3}}
	if change != nil {
		change(&opt)
	}
	res, err := Run(s, func(name string) (io.ReadCloser, error) {
		text, ok := programs[name]
		if !ok {
			return nil, fmt.Errorf("no program %s", name)
		}
		return io.NopCloser(strings.NewReader(text)), nil
	}, func(string) (Lens, error) { return Lens{Depth: opt.Depth, Head: opt.Head}, nil }, strings.NewReader(original), "job.gcode", opt)
	if err != nil {
		t.Fatal(err)
	}
	return res
}

// bent is a set of two zones and its original, all of which is as in the set that
// holds where it is "".
type bent struct {
	list, low, high, original string
	change                    func(*verify.Options)
}

// says checks the set, and wants it to say so, or to hold where want is "".
func (b bent) says(t *testing.T, want string) *Result {
	t.Helper()
	programs := map[string]string{"low": cmp.Or(b.low, setLow), "high": cmp.Or(b.high, setHigh)}
	res := runSet(t, cmp.Or(b.list, setList), programs, cmp.Or(b.original, setOriginal), b.change)
	if got := failuresOf(res); (want == "") != res.Holds() || !strings.Contains(got, want) {
		t.Errorf("%q and %q: got\n%swant %q", b.low, b.high, got, want)
	}
	return res
}

// cut puts one text in the place of another, which must be there.
func cut(t *testing.T, s, old, new string) string {
	t.Helper()
	if !strings.Contains(s, old) {
		t.Fatalf("no %q to replace", old)
	}
	return strings.Replace(s, old, new, 1)
}

func failuresOf(r *Result) string {
	var b strings.Builder
	for _, f := range r.Whole.Failures {
		fmt.Fprintf(&b, "set: %s\n", f)
	}
	for i, z := range r.Zones {
		for _, f := range z.Failures {
			fmt.Fprintf(&b, "zone %d: %s\n", i+1, f)
		}
	}
	return b.String()
}

const setList = `{"schema": 1, "zones": [
	{"program": "low", "lens": "a", "focus_mm": 0.3, "focus_point_mm": [30, 30]},
	{"program": "high", "lens": "a", "focus_mm": 0.75, "focus_point_mm": [75, 30]}]}`

// Each case bends the set that holds in one place; what is said must name it.
func TestSetHoldsOnlyWhole(t *testing.T) {
	cut := func(s, old, new string) string { return cut(t, s, old, new) }
	// deeper programs the last burn 1 mm lower.
	deeper := func(s string) string {
		s = cut(s, "G0 X80 Y50\n", "G0 X80 Y50\nG0 Z-1\n")
		return cut(s, "M5\nG0 X0 Y0\nM2", "M5\nG0 Z0\nG0 X0 Y0\nM2")
	}
	for _, c := range []struct {
		name      string
		list      string
		low, high string
		original  string
		change    func(*verify.Options)
		want      string // "" where it holds
	}{
		{name: "as it is"},
		{name: "lost", low: cut(setLow, "G1 X55\n", ""), want: "set: original line 14: missing here: no zone has this burn of 5 mm, at X50 Y50"},
		{name: "lost part", high: cut(setHigh, "G0 X50 Y0\n", "G0 X60 Y0\n"), want: "no zone has 10 mm of this burn, at X50 Y0"},
		{name: "lost dwell", low: cut(setLow, "G4 P0.5\n", ""), want: "original line 10: missing"},
		{name: "other dwell", low: cut(setLow, "G4 P0.5\n", "G4 P0.6\n"), want: "original line 10: missing"},
		{name: "lost arc", low: cut(setLow, "G2 X10 Y10 I5 J0\n", ""), want: "original line 9: missing"},
		{name: "arc the other way", low: cut(setLow, "G2 ", "G3 "), want: "original line 9: missing"},
		{name: "twice", high: cut(setHigh, "G1 X90 S300 M4\n", "G1 X90 S300 M4\nG1 X80\nX90\n"), want: "zone 2: line 10: not in the original, and the beam can fire: a burn of 10 mm"},
		{name: "twice by both", high: cut(setHigh, "M5\nG0 X80 Y50\n", "M5\nG0 X50 Y50\nG1 X55 S300 M4\nM5\nG0 X80 Y50\n"), want: "not in the original, and the beam can fire"},
		{name: "overlap", low: cut(setLow, "X50 F1000", "X51 F1000"), want: "1 mm are burned twice"},
		{name: "overlap allowed", list: cut(setList, `1,`, `1, "overlap_mm": 1,`), low: cut(setLow, "X50 F1000", "X51 F1000")},
		{name: "overlap too long", list: cut(setList, `1,`, `1, "overlap_mm": 0.5,`), low: cut(setLow, "X50 F1000", "X51 F1000"), want: "1 mm are burned twice"},
		{name: "beam on in a travel", high: cut(setHigh, "M5\nG0 X80 Y50\nG1 X90 S300 M4", "G1 X80 Y50\nG1 X90 S300"), want: "not in the original, and the beam can fire"},
		{name: "power", low: cut(setLow, "S500", "S400"), want: "zone 1: line 5 (original 5): power differs from the original: 400 instead of 500"},
		{name: "mode", low: cut(setLow, "M4 S500", "M3 S500"), want: "whether it follows the speed"},
		{name: "fast", high: cut(setHigh, "F1000", "F1100"), want: "zone 2: line 6 (original 5): faster over XY than the original by 10 %"},
		{name: "slow", high: cut(setHigh, "F1000", "F900"), want: "slower over XY than allowed"},
		{name: "focus", list: cut(setList, "0.75", "0.85"), want: "zone 2: line 6 (original 5): burn further than the depth allows, by 0.05 mm, at X50 Y0"},
		{name: "other focus", list: cut(setList, "0.3,", "0.24,"), want: "zone 1: line 14 (original 14): burn nearer than the depth allows, by 0.01 mm, at X55 Y50"},
		{name: "Z", high: cut(setHigh, "G0 Z0\n", "G0 Z0.1\n"), want: "zone 2: line 6 (original 5): burn further"},
		{name: "travel", high: cut(setHigh, "G0 X80 Y50\n", "G0 Z-0.5\nG0 X80 Y50\nG0 Z0\n"), want: "zone 2: line 8: travel too close to the stock, by 0.45 mm, at X100 Y0"},
		{name: "way back", list: cut(setList, "0.3,", "0.3,"), low: cut(setLow, "M5\nG0 X0 Y0\nM2", "M5\nG0 X100 Y50\nG0 X0 Y0\nM2"), want: "zone 1: line 16: travel too close to the stock, by 0.4 mm, at X100 Y50"},
		{name: "way there", low: cut(setLow, "G0 X0 Y0\n", "G0 X90 Y0\nG0 X0 Y0\n"), want: "zone 1: line 3: travel too close to the stock, by 0.3 mm, at X90 Y0"},
		{name: "travel before a deeper burn", original: deeper(setOriginal), high: cut(deeper(setHigh), "G0 Z0.1\n", "G0 Z-0.7\n"),
			want: "zone 2: line 3: travel too close to the stock, by 0.4 mm, at X75 Y30"},
		{name: "deeper burn", original: deeper(setOriginal), high: deeper(setHigh)},
		{name: "end", high: cut(setHigh, "G0 X0 Y0\nM2", "G0 X1 Y0\nM2"), want: "zone 2: ends in another state than the original: the head stands 1 mm from where the original leaves it"},
		{name: "units at the end", high: cut(setHigh, "M2", "G20\nM2"), want: "zone 2: ends in another state than the original: units"},
		{name: "nothing", high: "G21 G90\nM5\nG0 X0 Y0\nM2\n", want: "zone 2: nothing burns at all"},
		{name: "range", high: setHigh, change: func(o *verify.Options) { z := 0.05; o.ZMax = &z }, want: "zone 2: line 3: Z above the machine's range, by 0.05 mm"},
		{name: "defocus", change: func(o *verify.Options) { o.DefocusMM = 0.2 }, want: "burn nearer than the depth allows"},
	} {
		t.Run(c.name, func(t *testing.T) {
			bent{c.list, c.low, c.high, c.original, c.change}.says(t, c.want)
		})
	}
}

// With Z written, c comes from it and not from what the list says.
func TestSetWithZ(t *testing.T) {
	list := strings.Replace(setList, `1,`, `1, "set_z": true,`, 1)
	z := func(s, z string) string {
		return strings.Replace(strings.Replace(s, "G0 X0 Y0\n", "G0 Z"+z+"\nG0 X0 Y0\n", 1), "G0 X50 Y0\nG0 Z0\n", "G0 Z"+z+"\nG0 X50 Y0\n", 1)
	}
	bent{list: list, low: z(setLow, "0.3"), high: z(setHigh, "0.75")}.says(t, "")
	bent{list: list, low: z(setLow, "0.3"), high: z(setHigh, "0.9")}.says(t,
		"zone 2: line 6 (original 5): burn further than the depth allows, by 0.1 mm")
	// What is written is what the list has, also where the depth would allow more.
	bent{list: list, low: z(setLow, "0.3"), high: z(setHigh, "0.751")}.says(t, "")
	bent{list: list, low: z(setLow, "0.3"), high: z(setHigh, "0.752")}.says(t,
		"zone 2: line 6 (original 5): the focus that is written into Z is not the list's, by 0.002 mm, at X50 Y0")
	swapped := strings.NewReplacer(`"low"`, `"high"`, `"high"`, `"low"`).Replace(list)
	bent{list: swapped, low: z(setLow, "0.3"), high: z(setHigh, "0.75")}.says(t,
		"zone 1: line 6 (original 5): the focus that is written into Z is not the list's, by 0.45 mm")
}

// inTheMiddle is a set whose zones may both have what is at X50.
func inTheMiddle(low, high, original string) bent {
	const head, tail = "G21 G90\nM5\n", "G0 X0 Y0\nM2\n"
	return bent{
		list: strings.NewReplacer("0.75", "0.5", "0.3,", "0.5,", "[30,", "[50,", "[75,", "[50,").Replace(setList),
		low:  head + low + tail, high: head + high + tail, original: head + original + tail,
		change: func(o *verify.Options) { o.Depth = focus.Depth{Near: 0.6, Far: 0.6} },
	}
}

// One burn twice in the original, once in each zone: whichever zone is asked
// first, the other's is not lost, and a third is too many.
func TestSetSharesLikeBurns(t *testing.T) {
	burn := "G0 X50 Y50\nG1 X55 F1000 S300 M4\nM5\n"
	other := "G0 X50 Y20\nG1 X52 F1000 S300 M4\nM5\n"
	for _, c := range []struct {
		low, high string
		want      string
	}{
		{burn + other, burn, ""},
		{burn, other + burn, ""},
		{other + burn, burn, ""},
		{burn, burn + other, ""},
		{burn, burn + other + burn, "beam can fire"},
		{burn + other + burn, burn, "beam can fire"},
		{other + burn, other + burn, "beam can fire"},
		{other + burn, other, "no zone has this burn of 5 mm"},
	} {
		inTheMiddle(c.low, c.high, burn+other+burn).says(t, c.want)
	}
}

// A short burn that begins as a longer one does, in another zone, is no part of
// that: which of the two comes first in the original must not matter.
func TestSetTellsShortFromLong(t *testing.T) {
	long, short := "G0 X50 Y50\nG1 X55 F1000 S300 M4\nM5\n", "G0 X50 Y50\nG1 X51 F1000 S200 M4\nM5\n"
	for _, original := range []string{long + short, short + long} {
		for _, c := range [][2]string{{long, short}, {short, long}} {
			set := inTheMiddle(c[0], c[1], original)
			set.list = cut(t, set.list, `1,`, `1, "order": "original",`)
			set.says(t, "")
		}
	}
}

func TestReadRefuses(t *testing.T) {
	for text, want := range map[string]string{
		``:                           "set.json: is no list of zones",
		`{"schema": 2, "zones": []}`: "set.json: has schema 2; 1 is read",
		`{"schema": 1, "zones": []}`: "set.json: lists no zones",
		`{"schema": 1, "zones": [{"program": "../x"}]}`:                `set.json: zone 1: program "../x" is not a file of the folder`,
		`{"schema": 1, "zones": [{"program": ""}]}`:                    `zone 1: program "" is not`,
		`{"schema": 1, "overlap_mm": -1, "zones": [{"program": "x"}]}`: "overlap_mm -1 is not 0 or more",
		`{"schema": 1, "zones": [{"program": "x", "focus_mm": 0, "focus_point_mm": [0, 0], "stop_line": 9, "focus_stop_line": 9}, {"program": "x", "focus_mm": 0, "focus_point_mm": [0, 0], "stop_line": 9, "focus_stop_line": 9}]}`: "zone 2: stop_line 9 does not come after",
		`{"schema": 1, "zones": [{"program": "x", "focus_mm": 0, "focus_point_mm": [0, 0], "stop_line": -1}]}`:                                                                                                                       "zone 1: stop_line -1",
		`{"schema": 1, "zones": [{"program": "x", "focus_mm": 0, "focus_point_mm": [0, 0]}, {"program": "y"}]}`:                                                                                                                      "zone 2: has no focus_mm",
		`{"schema": 1, "zones": [{"program": "x", "focus_mm": 0}]}`:                                                                                                                                                                  "zone 1: has no focus_point_mm",
		`{"schema": 1, "zones": [{"program": "x", "focus_mm": 0, "focus_point_mm": [0, 0], "raised_lines": [[3, 5]], "raised_mm": []}]}`:                                                                                             "raised_mm has 0 numbers for 1 times",
		`{"schema": 1, "zones": [{"program": "x", "focus_mm": 0, "focus_point_mm": [0, 0], "stop_line": 3}]}`:                                                                                                                        "zone 1: stop_line 3 and focus_stop_line 0 are not those",
		`{"schema": 1, "zones": [{"program": "x", "focus_mm": 0, "focus_point_mm": [0, 0], "stop_line": 3, "focus_stop_line": 2}]}`:                                                                                                  "zone 1: stop_line 3 and focus_stop_line 2 are not those",
		`{"schema": 1, "paused": true, "zones": [{"program": "x", "focus_mm": 0, "focus_point_mm": [0, 0]}]}`:                                                                                                                        "zone 1: stop_line 0 and focus_stop_line 0 are not those",
		`{"schema": 1, "zones": [{"program": "x", "focus_mm": null}]}`:                                                                                                                                                               "zone 1: has no focus_mm",
		`{"schema": 1, "zones": [{"program": "x", "focus_mm": 0, "focus_point_mm": [0, 0]}, {"program": "x", "focus_mm": 1, "focus_point_mm": [0, 0]}]}`:                                                                             `zone 2: program "x" is that of zone 1 already`,
		`{"schema": 1, "zones": [{"program": "x", "focus_mm": 0, "focus_point_mm": [0, 0], "stop_line": 1, "focus_stop_line": 1}, {"program": "y", "focus_mm": 1, "focus_point_mm": [0, 0]}, {"program": "x", "focus_mm": 1, "focus_point_mm": [0, 0], "stop_line": 2, "focus_stop_line": 2}]}`: `zone 3: program "x" is that of zone 1 already`,
		`{"schema": 1, "zones": [{"program": "x", "focus_mm": 0, "focus_point_mm": [0, 0], "order": 2}, {"program": "y", "focus_mm": 1, "focus_point_mm": [0, 0], "order": 1}]}`:                                                                                                                "zone 1: order 2 is not its place in the list",
		`{"schema": 1, "zones": [{"program": "x", "focus_mm": 0, "focus_point_mm": [0, 0], "order": 1}, {"program": "y", "focus_mm": 1, "focus_point_mm": [0, 0]}]}`:                                                                                                                            "zone 2: has no order",
		`{"schema": 1, "zones": [{"program": "x", "focus_mm": 0, "focus_point_mm": [0, 0], "raised_lines": [[9, 5]]}]}`:                                                                                                                                                                         "zone 1: raised_lines [[9 5]] are not in order",
		`{"schema": 1, "zones": [{"program": "x", "focus_mm": 0, "focus_point_mm": [0, 0], "raised_lines": [[3, 0], [5, 7]]}]}`:                                                                                                                                                                 "zone 1: raised_lines",
		`{"schema": 1, "zones": [{"program": "x", "focus_mm": 0, "focus_point_mm": [0, 0], "raised_lines": [[3, 5]], "raised_mm": [1, 2]}]}`:                                                                                                                                                    "raised_mm has 2 numbers for 1 times",
		`{"schema": 1, "zones": [{"program": "x", "focus_mm": 0, "focus_point_mm": [0, 0], "raised_lines": [[3, 5]], "raised_mm": [-1]}]}`:                                                                                                                                                      "raised_mm [-1] would lower the lens",
		`{"schema": 1, "zones": [` + strings.Repeat(`{"program": "x"},`, 10_000) + `{"program": "x"}]}`:                                                                                                                                                                                         "lists 10001 zones; more than 10000 are refused",
		`{"schema": 1, "zones": [` + strings.Repeat(`{"program": "x"},`, 1_000_000) + `{"program": "x"}]}`:                                                                                                                                                                                      "is longer than a list of zones can be",
	} {
		_, err := Read(strings.NewReader(text), "set.json")
		if err == nil || !strings.Contains(err.Error(), want) || strings.Contains(err.Error(), "\n") {
			t.Errorf("%.60s: %v, want %q", text, err, want)
		}
	}
}

// Between two passes of a stepped job a travel counts from the deeper one, to
// the micrometre, in whatever steps its Z was said.
func TestSetCountsFromTheDeeperPass(t *testing.T) {
	pass := "M4 S500\nG1 X40 F1000\nM5\n%sM4\nG1 X-40\nM5\n"
	again := "M4\nG1 X5\nM5\nG0 X-10\n"
	original := "G21 G91\nM5\nG0 X0 Y0\n" + fmt.Sprintf(pass, "G0 Z-0.333\n") + "G0 X5\nG0 Z0.333\n" + again + "G0 X90\nM4\nG1 X10\nM5\nG0 X-100\n"
	high := "G21 G91\nM5\nG0 X0 Y0\nG0 X90\nM4 S500\nG1 X10 F1000\nM5\nG0 X-100\n"
	// Over X90 the surface is 0.9 high, and the lens may come 0.3 nearer than its
	// setting of 0.3 there, less what the next pass is deeper.
	for z, want := range map[string]string{
		"G0 Z-0.033\nG0 X50\nX-50\nG0 Z-0.3\n":                        "",
		"G0 Z-0.011\nG0 Z-0.022\nG0 X50\nX-50\nG0 Z-0.3\n":            "",
		"G0 Z-0.035\nG0 X50\nX-50\nG0 Z-0.298\n":                      "zone 1: line 8: travel too close to the stock, by 0.002 mm, at X90 Y0",
		"G0 Z-0.011\nG0 Z-0.024\nG0 X50\nX-50\nG0 Z-0.298\n":          "zone 1: line 9: travel too close to the stock, by 0.002 mm, at X90 Y0",
		"G90\nG0 Z-0.0331\nG91\nG0 X50\nX-50\nG90\nG0 Z-0.333\nG91\n": "zone 1: line 10: travel too close to the stock, by 0.0001 mm, at X90 Y0",
	} {
		low := "G21 G91\nM5\nG0 X0 Y0\n" + fmt.Sprintf(pass, z) + "G0 Z0.3\nG0 X90\nX-85\nG0 Z0.033\n" + again
		bent{low: low, high: high, original: original}.says(t, want)
	}
}
