package placed_test

import (
	"bytes"
	"io"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"sagitta/internal/diag"
	"sagitta/internal/machine"
	"sagitta/internal/machine/drawn"
	"sagitta/internal/program"
	"sagitta/internal/rewrite/placed"
	verify "sagitta/internal/verify/placed"
)

// reader opens a text again and again.
func reader(text string) func() (io.ReadCloser, error) {
	return func() (io.ReadCloser, error) { return io.NopCloser(strings.NewReader(text)), nil }
}

func options(c machine.Config, n int) placed.Options {
	return placed.Options{Name: "part.gcode", Machine: c, ZPlusAway: true, DecimalsMM: 3, DecimalsInch: 5, Comments: true, Of: n}
}

// walk is Compose, and what the walk says of it.
func walk(text string, list []placed.Place, c machine.Config) (made string, parts []placed.Part, err, failed error) {
	var out bytes.Buffer
	parts, err = placed.Compose(reader(text), &out, list, options(c, len(list)))
	if err != nil {
		return "", nil, err, nil
	}
	return out.String(), parts, nil, check(text, out.String(), list, c)
}

func check(text, made string, list []placed.Place, c machine.Config) error {
	var places []verify.Place
	for _, p := range list {
		places = append(places, verify.Place{Number: p.Number, X: p.X, Y: p.Y, RotateDeg: p.RotateDeg})
	}
	return verify.Run(reader(text), strings.NewReader(made), places, verify.Options{Machine: c, Name: "part.gcode", AllName: "all.gcode", LateralMM: 0.001})
}

// Programs as small as can be, placed: what is written is written here by hand.
func TestCompose(t *testing.T) {
	const square = "%\nO12\nG21 G90\nM4 S0\nG0 X0.5 Y0\nG1 X10 S500 F3000 (side)\nY10\nX0.5 Y0\nS0\nM5\nM2\n%\n"
	for _, c := range []struct {
		name, text string
		places     []placed.Place
		want       string
	}{
		{"once, where it is", square, []placed.Place{{Number: 1, Says: "X0 Y0"}},
			"%\nO12\n(part 1 of 1, place X0 Y0)\nG21 G90\nM4 S0\nG0 X0.5 Y0\nG1 X10 S500 F3000 (side)\nY10\nX0.5 Y0\nS0\nM5\nM2\n%\n"},
		{"shifted, then turned by a quarter", square, []placed.Place{{Number: 1, X: 100, Y: 20.25, Says: "a"}, {Number: 3, X: 0, Y: 50, RotateDeg: 90, Says: "b"}},
			"%\nO12\n(part 1 of 2, place a)\nG21 G90\nM4 S0\nG0 X100.5 Y20.25\nG1 X110 S500 F3000 (side)\nY30.25\nX100.5 Y20.25\nS0\nM5\n" +
				"(part 3 of 2, place b)\nG21 G90\nM4 S0\nG0 X0 Y50.5\nG1 Y60 S500 F3000 (side)\nX-10\nX0 Y50.5\nS0\nM5\nM2\n%\n"},
		{"in G91, in inches, without an end, left lit", "G20 G91\nG0 X1\nG1 Y1 M3 S9 F10\nX-1\n", []placed.Place{{Number: 1}, {Number: 2, X: 25.4, RotateDeg: 180}},
			"(part 1 of 2, place )\nG20 G91\nG0 X1\nG1 Y1 M3 S9 F10\nX-1\nM5\n(part 2 of 2, place )\nG21 G90\nG0 X25.4 Y0\nG20 G91\nG0 X-1\nG1 Y-1 M3 S9 F10\nX1\n"},
		{"arcs and heights", "G90\nG0 Z5\nG0 X10 Y0 M3 S0\nG1 Z0 F100\nG2 X0 Y-10 I-10 S5\nG3 I3 J-4\nM5\nG0 Z5\n", []placed.Place{{Number: 1, RotateDeg: 270}, {Number: 2, Y: 5}},
			"(part 1 of 2, place )\nG90\nG0 Z5\nG0 X0 Y-10 M3 S0\nG1 Z0 F100\nG2 X-10 Y0 J10 S5\nG3 I-4 J-3\nM5\nG0 Z5\n" +
				"(part 2 of 2, place )\nG90\nG0 Z5\nG0 X10 Y5 M3 S0\nG1 Z0 F100\nG2 X0 Y-5 I-10 S5\nG3 I3 J-4\nM5\nG0 Z5\n"},
		{"comes back to the height it begins at", "G0 X1 Y1\nM3 S5\nG1 X2 Z3 F10\nM5\n", []placed.Place{{Number: 1}, {Number: 2, X: 10}},
			"(part 1 of 2, place )\nG0 X1 Y1\nM3 S5\nG1 X2 Z3 F10\nM5\n(part 2 of 2, place )\nG0 X11 Y1\nG0 Z0\nG0 X11 Y1\nM3 S5\nG1 X12 Z3 F10\nM5\n"},
	} {
		made, _, err, failed := walk(c.text, c.places, machine.DefaultConfig())
		if err != nil || failed != nil || made != c.want {
			t.Errorf("%s: %v, %v\n%s\nwanted\n%s", c.name, err, failed, made, c.want)
		}
	}
}

// What cannot be placed is refused where it stands.
func TestRefusals(t *testing.T) {
	turned := []placed.Place{{Number: 1}, {Number: 2, X: 100, RotateDeg: 30}}
	for text, want := range map[string]string{
		"G0 X0 Y0\nG92 X5\n":               "part.gcode:2:1: G92 sets an offset",
		"G0 X0 Y0\nG28 X0\n":               "part.gcode:2:1: G28 goes to a place of the machine",
		"G0 X0 Y0\nG53 G0 X5\n":            "part.gcode:2:1: G53 goes",
		"G0 X0 Y0\nG90.1\n":                "part.gcode:2:1: G90.1, centres as places",
		"G0 X0 Y0\nM2\nG0 X1\n":            "part.gcode:3:1: behind the end",
		"N1 G0 X0 Y0*41\n":                 "part.gcode:1:12: a line with a checksum",
		"G0 X0 Y0\nM123 X5\n":              "part.gcode:2:1: an unknown M word with X",
		"G0 X5\nG0 Y5\nM3 S5\nG1 X2 F10\n": "part.gcode:1:1: a motion to a place of which X or Y is not known",
		"G0 X0 Y0\n\"\n":                   "part.gcode:2:",
		"G1 X1 Y0 F5\n":                    "part.gcode:1:",
		"G0 X0 Y0\nG1 X5 S5 F10\nS0\nM3\nG1 X6\nM5 S7\nM3\n": "part.gcode:",
	} {
		_, _, err, failed := walk(text, turned, machine.DefaultConfig())
		if err == nil {
			err = failed
		}
		if e := diag.As(err); err == nil || !strings.HasPrefix(err.Error(), want) || e == nil || e.Line == 0 {
			t.Errorf("%q: %v, not %s", text, err, want)
		}
	}
}

// What a program counts on before it says it is not there for its second part, which the
// walk finds.
func TestCountsOn(t *testing.T) {
	both := []placed.Place{{Number: 1}, {Number: 2, X: 100}}
	for text, want := range map[string]string{
		"G0 X1 Y1\nG1 X2 F5\nM3 S9\nG1 X3\nM5\n":          "part.gcode:2:1: at place 2 this does something else than by itself: it does not burn",
		"G90 G0 X1 Y1\nM3 S9\nG1 X2 F5\nG64\nG1 X3\nM5\n": "part.gcode:1:1: at place 2 this does something else than by itself: under another path mode",
		"G0 X1 Y1\nM3\nG1 X2 F5\nS9\nG1 X3\nM5\n":         "part.gcode:3:1: at place 2 this does something else than by itself: power 9 instead of 0",
	} {
		if _, _, err, failed := walk(text, both, machine.DefaultConfig()); err != nil || failed == nil || failed.Error() != want {
			t.Errorf("%q: %v, %v", text, err, failed)
		}
	}
}

// drawPlaces draws where parts lie.
func drawPlaces(t *rapid.T) (list []placed.Place) {
	for k := range rapid.IntRange(1, 4).Draw(t, "places") {
		p := placed.Place{Number: k + 1, X: float64(rapid.IntRange(-300000, 300000).Draw(t, "x")) / 1000, Y: float64(rapid.IntRange(-300000, 300000).Draw(t, "y")) / 1000}
		p.RotateDeg = rapid.OneOf(rapid.SampledFrom([]float64{0, 90, 180, 270, -90, 360}), rapid.Float64Range(-360, 360)).Draw(t, "turn")
		list = append(list, p)
	}
	return list
}

// burnLines are the lines of a program that burn.
func burnLines(t *rapid.T, text string, c machine.Config) map[int]bool {
	lines := map[int]bool{}
	r, ip := program.NewReader(strings.NewReader(text), "program"), machine.New(c)
	var m machine.Move
	for {
		b, err := r.Next()
		if err == io.EOF {
			return lines
		}
		if err == nil {
			err = ip.Step(b, &m)
		}
		if err != nil {
			t.Fatal(err)
		}
		if m.Burn {
			lines[b.Line] = true
		}
	}
}

// Programs in every spelling do at each place what they do by themselves, or are refused
// where that cannot be; and the walk finds a place that is written wrong.
func TestDrawnArePlaced(t *testing.T) {
	did, refused := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		o := drawn.Options{Side: 60}
		if !rapid.Bool().Draw(t, "all") {
			o.Without = []drawn.Construct{drawn.Offsets, drawn.LastOffsets, drawn.CentrePlaces, drawn.MachinePlaces, drawn.StoredPlaces, drawn.Ends, drawn.Sums, drawn.Silence}
		}
		p := drawn.Draw(t, o)
		list := drawPlaces(t)
		made, parts, err, failed := walk(p.Text, list, p.Config())
		if err != nil || failed != nil {
			e := diag.As(err)
			if err == nil {
				e = diag.As(failed)
			}
			if e == nil || e.Kind != diag.Unsupported || e.File != "part.gcode" || e.Line == 0 {
				t.Fatalf("%v, %v\n%s\n%s", err, failed, p.Text, made)
			}
			if refused++; failed != nil && !strings.Contains(e.What, "power") && !strings.Contains(e.What, "burn") && !strings.Contains(e.What, "path mode") && !strings.Contains(e.What, "feed") && !strings.Contains(e.What, "beam") {
				t.Fatalf("%v\n%s\n-----\n%s", failed, p.Text, made)
			}
			return
		}
		did++
		for k := range parts {
			if line := strings.Split(made, "\n")[parts[k].Line-1]; !strings.Contains(line, "part ") {
				t.Fatalf("line %d is %q", parts[k].Line, line)
			}
		}
		own, all := burnLines(t, p.Text, p.Config()), burnLines(t, made, p.Config())
		for k := range parts {
			for line := parts[k].First; line <= parts[k].Last; line++ {
				if at := parts[k].Body + line - parts[k].First; own[line] != all[at] {
					t.Fatalf("line %d is said to be line %d of part %d, and only one of them burns\n%s\n-----\n%s", line, at, k+1, p.Text, made)
				}
			}
		}
		wrong := append([]placed.Place(nil), list...)
		k := rapid.IntRange(0, len(list)-1).Draw(t, "wrong")
		wrong[k].X += 0.01
		if err := check(p.Text, made, wrong, p.Config()); err == nil {
			t.Fatalf("a shift by 0.01 is not found\n%s", made)
		}
	})
	t.Logf("%d placed, %d refused", did, refused)
	if did == 0 {
		t.Error("all are refused")
	}
}

// A turn by quarters is exact, and by other angles within half a step.
func TestQuartersAreExact(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x, y := float64(rapid.IntRange(-1e6, 1e6).Draw(t, "x"))/1000, float64(rapid.IntRange(-1e6, 1e6).Draw(t, "y"))/1000
		text := "G0 X" + number(x) + " Y" + number(y) + "\n"
		for deg, want := range map[float64][2]float64{90: {-y, x}, 180: {-x, -y}, -90: {y, -x}} {
			var out bytes.Buffer
			if _, err := placed.Compose(reader(text), &out, []placed.Place{{Number: 1, X: 1.5, Y: -2, RotateDeg: deg}}, placed.Options{Name: "part.gcode", Machine: machine.DefaultConfig(), DecimalsMM: 3}); err != nil {
				t.Fatal(err)
			}
			if is := "G0 X" + number(want[0]+1.5) + " Y" + number(want[1]-2) + "\n"; out.String() != is {
				t.Fatalf("%s by %g is %s, not %s", text, deg, &out, is)
			}
		}
	})
}

func number(v float64) string {
	return strings.TrimSuffix(strings.TrimRight(strings.TrimRight(fixed(math.Round(v*1000)), "0"), "."), "-")
}
