package zone

import (
	"errors"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"sagitta/internal/bench"
	"sagitta/internal/diag"
)

// splitText splits a program over a surface and gives the programs by order.
func splitText(t *testing.T, text string, opt Options) ([]string, *Plan) {
	t.Helper()
	dir := t.TempDir()
	plan, err := Survey(strings.NewReader(text), opt)
	if err != nil {
		t.Fatal(err)
	}
	if err := plan.Split(strings.NewReader(text), dir); err != nil {
		t.Fatal(err)
	}
	var out []string
	for _, z := range plan.Zones {
		b, err := os.ReadFile(filepath.Join(dir, z.Program))
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, string(b))
	}
	return out, plan
}

// What a piece needs is in force where it is entered: units, distance mode,
// feed, power, air; comments and words that are harmless go with the burn behind
// them, once.
func TestWordsAndModesAreRestored(t *testing.T) {
	p := stock(t, 100, 50, "", func(x, y float64) float64 { return 0.02 * x })
	text := `%
(head)
G21 G90 M7
G0 X0 Y10 Z5
Z0
M3 S100
M106
G1 X10 F600
(right side)
M5
G0 Z5
G0 X80 Y10
M812
Z0
G91 M9
M8
M3 S200
G1 X5 F700
X5
M5
G4 P1.5
G0 X-85
M3
G1 X2 Y0.5
Y1
M5
G90 Z5
G0 X0 Y0
M30
`
	opt := options(p, 0.6)
	opt.Harmless = []int{812}
	got, plan := splitText(t, text, opt)
	want := []string{`%
(head)
G21 G90 M7
G0 X0 Y10 Z5
Z0
(sagitta x split y)
M106
(right side)
M812
M5
M9
M8
G0 Z5
G0 X80 Y10
G0 Z0
G91
G1 X5 F700 S200 M3
X5
M5
G90 Z5
G0 X0 Y0
M30
`, `%
(head)
G21 G90 M7
G0 X0 Y10 Z5
Z0
M3 S100
M106
G1 X10 F600
(sagitta x split y)
M5
G4 P1.5
M9
M8
G0 Z5
G0 X5 Y10
G0 Z0
G91
G1 X2 Y0.5 F700 S200 M3
Y1
M5
G90 Z5
G0 X0 Y0
M30
`}
	for i := range want {
		if got[i] != want[i] {
			t.Errorf("zone %d is\n%s\ninstead of\n%s", plan.Zones[i].Order, got[i], want[i])
		}
	}
	if len(got) != len(want) {
		t.Errorf("%d programs", len(got))
	}
}

// Without comments in the profile none is added.
func TestNoCommentsAreAdded(t *testing.T) {
	p := stock(t, 100, 50, "", func(x, y float64) float64 { return 0.02 * x })
	opt := options(p, 0.6)
	opt.Comments, opt.Pause, opt.ZMoves = false, true, bench.ByHand
	got, _ := splitText(t, "G21 G90\nM5\nG0 X0 Y0\nM4 S1\nG1 X99 F100\nM5\n", opt)
	if strings.ContainsAny(got[0], "(;") || !strings.Contains(got[0], "M0") {
		t.Error(got[0])
	}
}

// Each word that only one of several programs could have is refused between burns of
// several zones, or where the program waits for each, on a line of its own or of a
// burn or travel, by its place; not before the first burn, nor behind the last, nor
// where one program has all.
func TestWhatOnlyOneProgramCouldHaveIsRefused(t *testing.T) {
	p := stock(t, 100, 50, "", func(x, y float64) float64 { return 0.02 * x })
	for _, w := range []string{"T2", "M6", "T2 M6", "M64 P1", "M48", "M117 hello", "$32=0", "M0", "M1", "M60", "M66 P1", "M30", "M2", "/T2", "(a note) T2"} {
		for place, lines := range map[string][]string{
			"":       {"G21 G90", "M5", "G0 X5 Y5", "M4 S1", "G1 X9 F100", "M5", "?", "G0 X95 Y9", "M4", "G1 X99", "M5"},
			"burn":   {"G21 G90", "M5", "G0 X5 Y5", "M4 S1", "G1 X9 F100 ?", "M5", "G0 X95 Y9", "M4 S1", "G1 X99 F100", "M5"},
			"travel": {"G21 G90", "M5", "G0 X5 Y5", "M4 S1", "G1 X9 F100", "M5", "G0 X95 Y9 ?", "M4", "G1 X99", "M5"},
			"before": {"?", "G21 G90", "M5", "G0 X5 Y5", "M4 S1", "G1 X9 F100", "M5", "G0 X95 Y9", "M4", "G1 X99", "M5"},
			"behind": {"G21 G90", "M5", "G0 X5 Y5", "M4 S1", "G1 X9 F100", "M5", "G0 X95 Y9", "M4", "G1 X99", "M5", "?"},
		} {
			apart := strings.ContainsAny(w, "$/(") || strings.HasPrefix(w, "M117")
			if apart && (place == "burn" || place == "travel") || strings.Contains("M64 P1 M66 P1", w) && place != "" && place != "behind" {
				continue
			}
			text := strings.ReplaceAll(strings.Join(lines, "\n")+"\n", "?", w)
			if place == "before" && (w == "M30" || w == "M2") || place == "behind" && w == "M30" {
				continue
			}
			for _, pause := range []bool{false, true} {
				for _, deep := range []bool{false, true} {
					opt := options(p, 0.6)
					if deep {
						opt = options(p, 6)
					}
					opt.Pause = pause
					plan, err := Survey(strings.NewReader(text), opt)
					if pause && place == "burn" && w[0] == 'M' && (w == "M30" || w == "M2") {
						continue // refused as a burn that ends the program
					}
					want := (place == "" || place == "burn" || place == "travel") && (pause || !deep)
					var between *BetweenError
					switch is := errors.As(err, &between); {
					case is != want:
						t.Errorf("%q %s, pause %v, deep %v: %v", w, place, pause, deep, err)
					case !is && (err != nil || len(plan.Zones) > 1 == deep):
						t.Errorf("%q %s, pause %v, deep %v: %v", w, place, pause, deep, err)
					case is && (!diag.Is(err, diag.Unsupported) || diag.As(err).Place.Line != 1+slices.IndexFunc(lines, func(l string) bool { return strings.Contains(l, "?") })):
						t.Errorf("%q %s: refused at %v: %v", w, place, diag.As(err).Place, err)
					}
				}
			}
		}
	}
}

// A word that the bench has as harmless goes with the burn behind it, once, as do
// comments; one before the first burn goes to all programs, with what it says, whatever
// else its line does.
func TestHarmlessWordsPass(t *testing.T) {
	p := stock(t, 100, 50, "", func(x, y float64) float64 { return 0.02 * x })
	opt := options(p, 0.6)
	opt.Harmless = []int{117, 812}
	text := "G21 G90\nM5\nG0 X5 Y5\nM4 S1\nG0 X6 T3 M6\nM64 P2 F50\nG1 X9 F100\nM5\nM812 P5\nM117 hello\n(note)\nG17 G40\nG0 X95 Y9\nM4\nG1 X99\nM5\n"
	got, _ := splitText(t, text, opt)
	if len(got) != 2 {
		t.Fatalf("%d programs", len(got))
	}
	for _, once := range []string{"M812 P5", "M117 hello", "(note)"} {
		if n := strings.Count(strings.Join(got, ""), once); n != 1 {
			t.Errorf("%q stands %d times in\n%s", once, n, strings.Join(got, "\n"))
		}
	}
	for _, program := range got {
		if t3, m64 := strings.Index(program, "T3 M6"), strings.Index(program, "M64 P2"); t3 < 0 || m64 < t3 {
			t.Errorf("not with what stands before the first burn:\n%s", program)
		}
	}
}
