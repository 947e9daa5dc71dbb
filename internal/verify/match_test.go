package verify

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"sagitta/internal/surface"
	"sagitta/internal/surface/surfacetest"
	"sagitta/internal/verify/extremes"
)

// original and followed are a program and the same one written by hand over a
// slope of one in ten along X: a straight burn cut in two, an arc cut in two,
// travels, dwells, a retract.
const original = `G21 G90 G94
M5
G0 X0 Y0
M4 S300 F1200
G1 X20
G1 X20 Y10
G3 X10 Y20 I-10 J0
M5
G4 P0.5
G0 X0 Y0
M3 S150
G4 P0.2
M5
G0 Z5
G0 X5 Y5
G0 Z0
M8
M3 F600
G1 X9
G1 X7
M5
M9
G0 X0 Y0
M30
`

const followed = `(changed)
G21 G90 G94
M5
G0 X0 Y0
M4 S300 F1206
G1 X10 Z1
G1 X20 Z2
G1 X20 Y10 F1200
G3 X17.071 Y17.071 Z1.707 I-10 J0
G3 X10 Y20 Z1 I-7.071 J-7.071
M5
G4 P0.5
G0 X0 Y0 Z0
M3 S150
G4 P0.2
M5
G0 Z5
G0 X5 Y5 Z5.5
G0 Z0.5
M8
M3 F603
G1 X9 Z0.9
G1 X7 Z0.7
F600
M5
M9
G0 X0 Y0
G0 Z0
M30
`

func slope(t testing.TB) *surface.Placed {
	return surfacetest.Of(t, "bilinear", nodes(-10, 30, 10), nodes(-10, 30, 10), func(x, _ float64) float64 { return x / 10 })
}

// pair runs a changed followed program against a changed original.
func pair(t testing.TB, change, changeOriginal func(string) string, opt Options) (*Result, error) {
	t.Helper()
	a, b := followed, original
	if change != nil {
		if a = change(a); a == followed {
			t.Fatal("the change changes nothing")
		}
	}
	if changeOriginal != nil {
		if b = changeOriginal(b); b == original {
			t.Fatal("the change of the original changes nothing")
		}
	}
	return Run(strings.NewReader(a), "checked.nc", strings.NewReader(b), "original.nc", opt)
}

// swap replaces the first occurrence.
func swap(old, new string) func(string) string {
	return func(s string) string { return strings.Replace(s, old, new, 1) }
}

// last replaces the last occurrence.
func last(old, new string) func(string) string {
	return func(s string) string {
		if i := strings.LastIndex(s, old); i >= 0 {
			return s[:i] + new + s[i+len(old):]
		}
		return s
	}
}

func pairOptions(t testing.TB) Options { return options(slope(t), 0.3, 0.3) }

func TestGoodPairHolds(t *testing.T) {
	r, err := pair(t, nil, nil, pairOptions(t))
	if err != nil {
		t.Fatal(err)
	}
	holds(t, r)
	if r.Burns != 8 || r.Travels != 7 || r.Blocks != 29 {
		t.Errorf("%d burns, %d travels, %d blocks", r.Burns, r.Travels, r.Blocks)
	}
	if want := 20 + 10 + 5*math.Pi + 4 + 2; math.Abs(r.BurnLengthMM-want) > 0.002 {
		t.Errorf("burns of %v mm, want %v", r.BurnLengthMM, want)
	}
	if r.Lowest.MM != 0 || math.Abs(r.Highest.MM-2) > extremes.CertainMM {
		t.Errorf("heights from %v to %v", r.Lowest.MM, r.Highest.MM)
	}
	// Up 2 and down to 0; to 5, 5.5, 0.5, 0.9, 0.7, 0.
	if want := 2 + 2 + 5 + 0.5 + 5 + 0.4 + 0.2 + 0.7; math.Abs(r.ZTravelMM-want) > 1e-9 || r.ZMinMM != 0 || r.ZMaxMM != 5.5 {
		t.Errorf("Z travel %v, want %v; from %v to %v", r.ZTravelMM, want, r.ZMinMM, r.ZMaxMM)
	}
	// One in ten at 1206 mm/min along the slope is the steepest.
	if want := 1206 / math.Sqrt(101); math.Abs(r.PeakZRate-want) > 1e-6 {
		t.Errorf("peak Z rate %v, want %v", r.PeakZRate, want)
	}
	// From rise to fall between the last two burns, at 603 mm/min.
	if want := 2 * 603 / math.Sqrt(101); math.Abs(r.ZSpeedStep-want) > 1e-6 {
		t.Errorf("step of the Z speed %v, want %v", r.ZSpeedStep, want)
	}
	// The followed one alone is in focus too, without the retract: its offset
	// counts as 0.
	alone := run(t, followed, "", pairOptions(t))
	holds(t, alone)
	if len(alone.Notes) == 0 || !strings.Contains(alone.Notes[0], "no original") {
		t.Errorf("notes %q", alone.Notes)
	}
	// And the original is not.
	if r := run(t, original, original, pairOptions(t)); r.Holds() {
		t.Error("the flat original passes over a slope")
	}
}

// mutations are ways to spoil the pair, with what is to be found.
var mutations = []struct {
	name   string
	change func(string) string
	kinds  []Kind // one of them
	line   int    // of the checked program, 0 = any
}{
	{"dropped line", swap("G1 X9 Z0.9\n", ""), []Kind{Missing}, 0},
	{"dropped last line of a run", swap("G1 X7 Z0.7\n", ""), []Kind{Missing}, 0},
	{"dropped first piece", swap("G1 X10 Z1\nG1 X20 Z2\n", "G1 X20 Z2.4\n"), []Kind{TooFar}, 6},
	{"dropped last piece", swap("G3 X10 Y20 Z1 I-7.071 J-7.071\n", ""), []Kind{Missing}, 0},
	{"dropped travel", swap("G0 X0 Y0 Z0\n", "G0 Z0\n"), []Kind{Missing, OffPath}, 0},
	{"dropped retract", swap("G0 Z5\n", ""), []Kind{Missing}, 0},
	{"swapped power", swap("S300", "S301"), []Kind{PowerDiffers}, 6},
	{"swapped beam word", swap("M4", "M3"), []Kind{WordDiffers}, 5},
	{"power that does not follow", func(s string) string { return swap("M4", "M3")(s) }, []Kind{PowerDiffers}, 6},
	{"point moved along", swap("X20 Y10", "X20 Y10.002"), []Kind{OffPath}, 8},
	{"point moved across", swap("G1 X10 Z1", "G1 X10 Y0.002 Z1"), []Kind{OffPath}, 6},
	{"point short of its place", swap("G1 X9 Z0.9", "G1 X8.998 Z0.9"), []Kind{Missing, OffPath}, 0},
	{"arc's point moved", swap("X17.071 Y17.071 Z1.707 I-10 J0\nG3 X10 Y20 Z1 I-7.071 J-7.071", "X17.0725 Y17.0725 Z1.707 R10\nG3 X10 Y20 Z1 R10"), []Kind{OffPath}, 9},
	{"arc the other way", swap("G3 X17.071", "G2 X17.071"), []Kind{OffPath, AddedBurn}, 9},
	{"arc the other way at its end", swap("G3 X10 Y20 Z1", "G2 X10 Y20 Z1"), []Kind{OffPath, AddedBurn, Missing}, 0},
	{"arc made straight", swap("G3 X17.071 Y17.071 Z1.707 I-10 J0", "G1 X17.071 Y17.071 Z1.707"), []Kind{OffPath, AddedBurn}, 9},
	{"feed 1 % up", swap("F1206", "F1218"), []Kind{TooFast}, 6},
	{"feed 1 % down", swap("F603", "F597"), []Kind{TooSlow}, 22},
	{"slow below the slowest", swap("F1206", "F597"), []Kind{TooSlow}, 6},
	{"feed at the end", swap("F600\n", ""), []Kind{EndDiffers}, 0},
	{"mode at the end", swap("M30", "G91"), []Kind{EndDiffers, Missing}, 0},
	{"added burn", swap("G1 X20 Y10 F1200\n", "G1 X20 Y10 F1200\nG1 X25 Z2.5\nG1 X20 Z2\n"), []Kind{AddedBurn}, 9},
	{"added burn over the path", swap("G1 X20 Y10 F1200\n", "G1 X20 Y10 F1200\nG1 Y0\nG1 Y10\n"), []Kind{AddedBurn}, 9},
	{"added travel", swap("M8\n", "G0 X7 Z5\nG0 X5 Z0.5\nM8\n"), []Kind{Added}, 20},
	{"added dwell", swap("M8\n", "G4 P1\nM8\n"), []Kind{Added}, 20},
	{"added burning dwell", swap("G1 X7 Z0.7\n", "G4 P1\nG1 X7 Z0.7\n"), []Kind{AddedBurn}, 23},
	{"focus moved alone in the beam", swap("G1 X20 Z2\n", "G1 X20 Z2\nG1 Z2.1\nG1 Z2\n"), []Kind{AddedBurn}, 8},
	{"mark without length", swap("G1 X20 Z2\n", "G1 X20 Z2\nG1 X20\n"), []Kind{AddedBurn}, 8},
	{"missing M5", swap("Z1 I-7.071 J-7.071\nM5\n", "Z1 I-7.071 J-7.071\n"), []Kind{Missing}, 0},
	{"missing M5, seen at the dwell", swap("Z1 I-7.071 J-7.071\nM5\n", "Z1 I-7.071 J-7.071\n"), []Kind{BeamDiffers}, 11},
	{"missing M8", swap("M8\n", ""), []Kind{Missing}, 0},
	{"added M8", swap("M5\n", "M5\nM8\n"), []Kind{WordDiffers}, 4},
	{"added tool", swap("M5\n", "M5\nT2\n"), []Kind{WordDiffers}, 4},
	{"added line for the controller", swap("M8\n", "$H\nM8\n"), []Kind{WordDiffers}, 20},
	{"added work offset", swap("M5\n", "G55\nM5\n"), []Kind{WordDiffers}, 0},
	{"added stored offset", swap("M5\n", "G10 L2 P1 X5\nM5\n"), []Kind{WordDiffers}, 3},
	{"added path control", swap("M8\n", "G64 P1\nM8\n"), []Kind{WordDiffers}, 0},
	{"added pause", swap("M8\n", "M0\nM8\n"), []Kind{WordDiffers}, 20},
	{"moved M9", swap("M5\nM9\nG0 X0 Y0\n", "M5\nG0 X0 Y0\nM9\n"), []Kind{Missing}, 0},
	{"dwell changed", swap("G4 P0.2", "G4 P0.25"), []Kind{DwellDiffers}, 15},
	{"dwell at another place", swap("G4 P0.5\nG0 X0 Y0 Z0\n", "G0 X0 Y0 Z0\nG4 P0.5\n"), []Kind{Missing}, 0},
	{"rapid made a feed move", swap("G0 X5 Y5", "G1 X5 Y5"), []Kind{Mode}, 18},
	{"feed move made a rapid", swap("G1 X9 Z0.9", "G0 X9 Z0.9"), []Kind{Mode}, 22},
	{"burn out of focus", swap("G1 X20 Z2", "G1 X20 Z2.301"), []Kind{TooFar}, 7},
	{"travel not clear", swap("G0 X0 Y0 Z0\n", "G0 X0 Y0 Z-0.31\nG0 Z0\n"), []Kind{NotClear}, 13},
	{"truncated", last("G0 X0 Y0\nG0 Z0\nM30\n", ""), []Kind{Missing}, 0},
	{"more at the end", last("M30\n", "M3\nG1 X1\nM5\nM30\n"), []Kind{AddedBurn}, 0},
}

func TestMutationsAreFound(t *testing.T) {
	for _, m := range mutations {
		t.Run(m.name, func(t *testing.T) {
			r, err := pair(t, m.change, nil, pairOptions(t))
			if err != nil {
				t.Fatal(err)
			}
			for _, f := range r.Failures {
				for _, k := range m.kinds {
					if f.Kind == k && (m.line == 0 || m.line == f.Line) {
						return
					}
				}
			}
			t.Errorf("want one of %v on line %d, got %v", m.kinds, m.line, r.Failures)
		})
	}
}

// A single tampering must not drown the rest: the walk finds its way again.
func TestFindsTheWayAgain(t *testing.T) {
	for _, m := range mutations {
		r, err := pair(t, m.change, nil, pairOptions(t))
		if err != nil {
			t.Fatal(err)
		}
		const most = 12 // a missing travel leaves the words after it without their place
		if r.FailureCount > most {
			t.Errorf("%s: %d failures: %v", m.name, r.FailureCount, r.Failures)
		}
	}
}

// What the reader of programs refuses is refused here too.
func TestUnreadableIsAnError(t *testing.T) {
	for name, change := range map[string]func(string) string{
		"Z in a dwell":        swap("G4 P0.5", "G4 P0.5 Z2"),
		"arc without a piece": swap("G3 X17.071 Y17.071 Z1.707 I-10 J0\n", ""),
		"letter alone":        swap("X20", "X"),
	} {
		if _, err := pair(t, change, nil, pairOptions(t)); err == nil || !strings.HasPrefix(err.Error(), "checked.nc:") {
			t.Errorf("%s: %v", name, err)
		}
	}
	if _, err := pair(t, nil, swap("X20", "X"), pairOptions(t)); err == nil || !strings.HasPrefix(err.Error(), "original.nc:") {
		t.Errorf("original: %v", err)
	}
}

// What may differ, may.
func TestHarmlessChangesPass(t *testing.T) {
	for name, change := range map[string]func(string) string{
		"comments and blanks":        swap("M8", "\n(a comment)\nM8 (air)"),
		"M5 restated":                swap("G0 X5 Y5", "M5\nG0 X5 Y5"),
		"a retract that lifts more":  swap("G0 Z5\n", "G0 Z5.5\n"),
		"a plunge that takes c down": swap("G0 X5 Y5 Z5.5\n", "G0 X5 Y5 Z5.8\n"),
		"M8 restated":                swap("M3 F603", "M8\nM3 F603"),
		"a cut":                      swap("G1 X20 Z2\n", "G1 X15 Z1.5\nG1 X20 Z2\n"),
		"a cut off by one decimal":   swap("G1 X10 Z1\n", "G1 X10 Y0.001 Z1\n"),
		"an arc off by one decimal":  swap("X17.071 Y17.071 Z1.707", "X17.0717 Y17.0717 Z1.707"),
		"a focus move in a travel":   swap("G0 X0 Y0 Z0\n", "G0 Z1.5\nG0 X0 Y0 Z1.5\nG0 Z0\n"),
		"a travel cut":               swap("G0 X0 Y0 Z0\n", "G0 X5 Y10 Z0.5\nG0 X0 Y0 Z0\n"),
		"slower, and its power":      swap("M4 S300 F1206\nG1 X10 Z1\nG1 X20 Z2\nG1 X20 Y10 ", "M4 S154.24 F620\nG1 X10 Z1\nG1 X20 Z2\nG1 X20 Y10 S300 "),
		"the last bit of a move":     swap("G1 X20 Z2\n", "G1 X19.9995 Z2\nG1 X20 Z2\n"),
		"relative":                   swap("G0 X5 Y5 Z5.5\nG0 Z0.5\n", "G91\nG0 X5 Y5 Z0.5\nG0 Z-5\nG90\n"),
		"inches":                     swap("G0 X5 Y5 Z5.5\nG0 Z0.5\n", "G20\nG0 X0.1968503937 Y0.1968503937 Z0.2165354331\nG0 Z0.0196850394\nG21\n"),
		"arc in one piece": swap("G3 X17.071 Y17.071 Z1.707 I-10 J0\nG3 X10 Y20 Z1 I-7.071 J-7.071\n",
			"G3 X10 Y20 Z1 I-10 J0\n"),
		"arc with R":                  swap("G3 X10 Y20 Z1 I-7.071 J-7.071\n", "G3 X10 Y20 Z1 R10\n"),
		"a bit of an arc as a line":   swap("G3 X10 Y20 Z1 I-7.071 J-7.071\n", "G1 X16.965 Y17.175 Z1.7\nG3 X10 Y20 Z1 I-6.965 J-7.175\n"),
		"a move that does not move":   swap("G0 X5 Y5 Z5.5\n", "G0 X0 Y0\nG0 X5 Y5 Z5.5\n"),
		"two words of the same line":  swap("M5\nM9\n", "M5 M9\n"),
		"beam word on the motion":     swap("M4 S300 F1206\nG1 X10 Z1\n", "G1 X10 Z1 M4 S300 F1206\n"),
		"stop word on the motion":     swap("G0 Z0\nM30\n", "G0 Z0 M30\n"),
		"focus before the first move": swap("G0 X0 Y0\n", "G0 Z0.1\nG0 X0 Y0\n"),
	} {
		t.Run(name, func(t *testing.T) {
			r, err := pair(t, change, nil, pairOptions(t))
			if err != nil {
				t.Fatal(err)
			}
			holds(t, r)
		})
	}
}

// Travels of Z alone of the original may take a change of c with them, even
// one that turns them round.
func TestStandingTravelsCarryCorrections(t *testing.T) {
	step := func(z, checked string) *Result {
		r, err := pair(t, swap("M9\nG0 X0 Y0\nG0 Z0\n", "M9\n"+checked+"G0 X0 Y0\n"+z+"\n"), swap("M9\n", "M9\n"+z+"\n"), pairOptions(t))
		if err != nil {
			t.Fatal(err)
		}
		return r
	}
	// At X7 c may fall from 0.7 to 0.4.
	holds(t, step("G0 Z0.1", "G0 Z0.8\n"))
	holds(t, step("G0 Z0.1", "G0 Z0.5\n"))
	holds(t, step("G1 Z0.1 F600", "G1 Z0.5 F600\n"))
	// Below that its own lift of 0.1 counts as well.
	holds(t, step("G0 Z0.1", "G0 Z0.4\n"))
	has(t, step("G0 Z0.1", "G0 Z0.399\n"), NotClear)
	has(t, step("G0 Z0.1", ""), Missing)
	has(t, step("G1 Z0.1 F600", "G0 Z0.5\n"), Missing)
	has(t, step("G1 Z0.1 F600", "G1 Z0.8 F606\nF600\n"), TooFast)
}

func TestRehearsal(t *testing.T) {
	dark := func(s string) string {
		return strings.NewReplacer("M4 ", "", "M3 ", "", "M3\n", "\n").Replace(s)
	}
	opt := pairOptions(t)
	opt.Rehearsal = true
	r, err := pair(t, dark, nil, opt)
	if err != nil {
		t.Fatal(err)
	}
	holds(t, r)
	if r.Burns != 8 {
		t.Errorf("%d burns, want the original's 8", r.Burns)
	}
	for name, c := range map[string]struct {
		change func(string) string
		kind   Kind
	}{
		"beam on":      {swap("S150", "M3 S150"), BeamDiffers},
		"out of focus": {swap("G1 X20 Z2", "G1 X20 Z2.301"), TooFar},
		"off the path": {swap("G1 X20 Z2", "G1 X20 Y0.002 Z2"), OffPath},
	} {
		r, err := pair(t, func(s string) string { return c.change(dark(s)) }, nil, opt)
		if err != nil {
			t.Fatal(err)
		}
		if f := has(t, r, c.kind); t.Failed() {
			t.Log(name, f)
		}
	}
	r = run(t, dark(followed), "", opt)
	if f := has(t, r, NoBurn); !strings.Contains(f.Detail, "original") {
		t.Errorf("%q", f)
	}
}

func TestMessagesAreOneLine(t *testing.T) {
	for _, m := range mutations {
		r, err := pair(t, m.change, nil, pairOptions(t))
		if err != nil {
			t.Fatal(err)
		}
		for _, f := range r.Failures {
			s := f.String()
			if strings.ContainsAny(s, "\n") || strings.Contains(s, "%!") || strings.Contains(s, "NaN") {
				t.Errorf("%q", s)
			}
			if testing.Verbose() {
				fmt.Println(m.name+":", s)
			}
		}
	}
	f := Violation{Kind: TooNear, Line: 12, OriginalLine: 9, X: 10.5, Y: 3, Amount: 0.312}
	if got, want := f.String(), "line 12 (original 9): burn nearer than the depth allows, by 0.312 mm, at X10.5 Y3"; got != want {
		t.Errorf("%q, want %q", got, want)
	}
}

// The beam is off in a wait, a travel and at the end where the original's is,
// whichever word has put it off.
func TestBeamIsOffWhereItsOriginalIs(t *testing.T) {
	base := "G21 G90\nM3 S0\nG0 X0 Y0\nS300\nG1 X20 F1200\nS0\nM0\nG0 Z5\nG0 X0\nG0 Z0\nS300\nG1 Y10\nS0\nM2\n"
	run := func(checked, original string, rehearsal bool) *Result {
		opt := pairOptions(t)
		opt.Surface = surfacetest.Of(t, "", nodes(-10, 30, 10), nodes(-10, 30, 10), func(_, _ float64) float64 { return 0 })
		opt.Rehearsal = rehearsal
		r, err := Run(strings.NewReader(checked), "checked.nc", strings.NewReader(original), "original.nc", opt)
		if err != nil {
			t.Fatal(err)
		}
		return r
	}
	for _, c := range []struct {
		name, old, new string
		line           int
		detail         string
	}{
		{"wait", "S0\nM0\n", "M0\nS0\n", 6, "on at M0"},
		{"travel", "S0\nM0\nG0 Z5\nG0 X0\n", "S0\nM0\nG0 Z5\nS300\nG0 X0\nS0\n", 10, "on instead of off"},
		{"retract", "M0\nG0 Z5\n", "M0\nG0 Z5 S300\n", 8, "on instead of off"},
		{"added retract", "M0\nG0 Z5\n", "M0\nG0 Z1 S300\nS0\nG0 Z5\n", 8, "on"},
		{"end", "S0\nM2\n", "M2\n", 13, "on at M2"},
	} {
		r := run(swap(c.old, c.new)(base), base, false)
		if f := has(t, r, BeamDiffers); f.Line != c.line || !strings.Contains(f.Detail, c.detail) {
			t.Errorf("%s: %v", c.name, r.Failures)
		}
		dark := strings.ReplaceAll(base, "S300", "S0")
		r = run(swap(c.old, c.new)(dark), base, true)
		if strings.Contains(c.new, "S300") != !r.Holds() {
			t.Errorf("%s, rehearsed: %v", c.name, r.Failures)
		}
	}
	holds(t, run(base, base, false))
	// Where the original leaves it on, it may; or put it off.
	lit := strings.Replace(base, "S0\nM2\n", "", 1)
	holds(t, run(lit, lit, false))
	holds(t, run(lit+"M5\n", lit, false))
	holds(t, run(lit+"M5\nM2\n", lit+"M2\n", false))
	has(t, run(lit+"M5\nG0 X5\nM2\n", lit+"G0 X5\nM2\n", false), WordDiffers)
	has(t, run(lit, lit+"S0\n", false), BeamDiffers)
}
