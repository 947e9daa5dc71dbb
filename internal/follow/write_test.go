package follow

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"

	"sagitta/internal/bench"
	"sagitta/internal/corridor"
	"sagitta/internal/diag"
	"sagitta/internal/machine"
	"sagitta/internal/program"
	"sagitta/internal/surface"
)

// ridge is a roof over 100 × 20 mm, 2 mm high at x = 50, gable along y.
func ridge(t testing.TB) *surface.Placed {
	return grid(t, 100, 20, 5, "", func(x, y float64) float64 { return 2 - math.Abs(x-50)/25 })
}

// TestWritten pins how blocks are spelled. Depth 0.5 on the ridge: one cut at
// the top suffices for a move across.
func TestWritten(t *testing.T) {
	for _, c := range []struct{ name, in, want string }{
		{"a move is cut where it must bend; words before motion go first, M0 stays last",
			"G21 G90\nG0 X0 Y5\nM3 S9\nN7 G1 X100 F1500 M8 M0 (across)\nM5\nM2\n",
			"G21 G90\n(mark follow )\nG0 Z0.225\nG0 X0 Y5\nM3 S9\nG1 X50 Z1.775 F1500 M8\nN7 G1 X100 Z0.225 F1500 M0 (across)\nM5\nG0 Z0\nM2\n"},
		{"lower case, no blanks, CRLF, relative",
			"g21g91\r\ng1x0y5f900\r\nm3s9\r\nx100\r\nm5\r\n",
			"g21g91\r\n(mark follow )\r\ng0z0.225\r\ng1x0y5f900\r\nm3s9\r\nx50z1.55\r\nx50z-1.55\r\nm5\r\ng0z-0.225\r\ng1\r\n"},
		{"fixed decimals, a comment in the way",
			"G90\nG0 X0.000 Y5.000\nM3 S9\nG1 X100.000 (c) Y5.000 F1500.0\nM5\nM2",
			"G90\n(mark follow )\nG0 Z0.225\nG0 X0.000 Y5.000\nM3 S9\nG1 X50.000 Y5.000 Z1.775 F1500.0\nG1 X100.000 (c) Y5.000 Z0.225 F1500.0\nM5\nG0 Z0\nM2"},
	} {
		opt := testOptions(ridge(t), 0.5, 0.5, 0.5)
		opt.Marker = "mark follow "
		out, _ := mustRun(t, c.in, opt)
		if out != c.want {
			t.Errorf("%s:\ngot\n%s\nwant\n%s", c.name, out, c.want)
		}
	}
}

// TestEndState: the program ends in the mode, with the F and the Z that the
// original ends with.
func TestEndState(t *testing.T) {
	end := func(text string) machine.State {
		in := machine.New(machine.DefaultConfig())
		r := program.NewReader(strings.NewReader(text), "")
		var m machine.Move
		for {
			b, err := r.Next()
			if err != nil {
				return in.State()
			}
			if err := in.Step(b, &m); err != nil {
				t.Fatal(err)
			}
		}
	}
	for _, text := range []string{
		"G90\nG0 X0 Y5\nM3 S9\nG1 X100 F1500\nM5\n",
		"G91\nM3 S9\nG1 X100 Y3 F1500\nM5",
		"G20 G90\nG0 X0 Y0.2\nM4 S9\nG1 X3.9 F60\nG93\nX1 F30\nG94\nM5\nG0 X0 Y0 Z0.1\n",
		"G90\nG0 X0 Y5\nM4 S9\nG1 X100 F1500\nM5\nG0 Z5\nX0\n",
		"G90\nG0 X0 Y5\nM4 S9\nG1 X97 F1500\nM5\nM2\n",
	} {
		p := grid(t, 100, 20, 5, "", func(x, y float64) float64 { return 4 - math.Abs(x-50)/12.5 })
		opt := testOptions(p, 0.5, 0.5, 0.5)
		opt.ZRate, opt.Slowest = 1.6, 0.3
		out, sum := mustRun(t, text, opt)
		got, want := end(out), end(text)
		got.At.Z = math.Round(got.At.Z*1e9) / 1e9
		want.At.Z = math.Round(want.At.Z*1e9) / 1e9
		if sum.EndAbove == 0 && got != want || got.Feed != want.Feed || got.Motion != want.Motion {
			t.Errorf("ends\n%+v, wanted\n%+v\n%s", got, want, out)
		}
		if strings.HasSuffix(text, "M2\n") && !strings.HasSuffix(out, "M2\n") {
			t.Errorf("something comes after the end:\n%s", out)
		}
		if strings.HasSuffix(text, "\n") != strings.HasSuffix(out, "\n") {
			t.Errorf("the end of the file changed: %q", out)
		}
	}
}

// TestFeedCountsZ: where Z moves steeply F is raised so that the spot keeps
// its speed over XY, no more than the profile's greatest, and is put back.
func TestFeedCountsZ(t *testing.T) {
	steep := grid(t, 100, 20, 5, "", func(x, y float64) float64 { return math.Max(0, math.Min(x-20, 30)) * 0.4 })
	text := "G90\nG0 X0 Y5\nM3 S9\nG1 X20 F1000\nX50\nX60\nX90\nM5\nM2\n"
	opt := testOptions(steep, 0.3, 0.3, 0.5)
	out, sum := mustRun(t, text, opt)
	if sum.Raised == 0 {
		t.Fatalf("no feed raised:\n%s", out)
	}
	for _, m := range moves(t, out, machine.DefaultConfig()) {
		if speed := m.Length / m.Seconds * 60; m.Burn && m.Length > 0 && math.Abs(speed/1000-1) > 0.0051 {
			t.Errorf("XY speed %.1f instead of 1000\n%s", speed, out)
		}
	}
	opt.FeedMax = 1020
	out, _ = mustRun(t, text, opt)
	for _, m := range moves(t, out, machine.DefaultConfig()) {
		if m.Feed > 1020 {
			t.Errorf("F%g over the greatest\n%s", m.Feed, out)
		}
	}
	if !strings.Contains(out, "F1000") {
		t.Errorf("the programmed F is not put back:\n%s", out)
	}
	opt.Machine.FeedCountsZ = false
	if out, sum := mustRun(t, text, opt); sum.Raised+sum.Lowered > 0 {
		t.Errorf("F changed where it does not count Z:\n%s", out)
	}
}

// TestOneMarker: a changed program carries exactly one, an unchanged none,
// and none where comments are not wanted.
func TestOneMarker(t *testing.T) {
	text := "G90\nG0 X0 Y5\nM3 S9\nG1 X100 F1500\nX0\nM5\nM2\n"
	opt := testOptions(ridge(t), 0.5, 0.5, 0.5)
	out, _ := mustRun(t, text, opt)
	if n := strings.Count(out, "sagitta"); n != 1 {
		t.Errorf("%d markers\n%s", n, out)
	}
	// What is to be set up goes with it, in as many lines as the controller wants, and
	// tells where the first burn begins.
	opt.Setting = func(first machine.Point) []string {
		return []string{fmt.Sprintf("set the focus (here) for X%g Y%g", first.X, first.Y), "then let it read Z0"}
	}
	for most, want := range map[int]string{0: "follow --use, set the focus [here] for X0 Y5, then let it read Z0)\n", 40: "follow --use)\n(set the focus [here] for X0 Y5, then)\n(let it read Z0)\n"} {
		opt.LineMax = most
		out, _ = mustRun(t, text, opt)
		if n := strings.Count(out, "sagitta"); n != 1 || !strings.Contains(out, want) {
			t.Errorf("%d markers, lines of %d\n%s", n, most, out)
		}
	}
	opt.LineMax, opt.Comments = 0, false
	if out, _ = mustRun(t, text, opt); strings.Contains(out, "(") {
		t.Errorf("a comment where none is wanted\n%s", out)
	}
	// Without the marker the ramps still tell.
	if _, _, err := run(t, out, opt); !diag.Is(err, diag.Unsupported) {
		t.Errorf("followed twice: %v", err)
	}
}

// TestBeamOff: c is constant through each unbroken run of burns, and a run
// that needs more than the depth is named with its last line.
func TestBeamOff(t *testing.T) {
	text := "G90\nG0 X10 Y5\nM3 S9\nG1 X20 F1500\nX15\nM5\nG0 X45\nM3\nG1 X55\nM5\nM2\n"
	opt := testOptions(ridge(t), 0.5, 0.5, 0.5)
	opt.ZMoves = bench.BeamOff
	out, _ := mustRun(t, text, opt)
	inFocus(t, out, opt)
	for _, m := range moves(t, out, machine.DefaultConfig()) {
		if m.Burn && m.From.Z != m.To.Z {
			t.Errorf("Z moves in a burn\n%s", out)
		}
	}
	// Where one run of burns is all there is, it is still where the lens comes
	// nearest.
	_, sum := mustRun(t, "G90\nG0 X40 Y5\nM3 S9\nG1 X50 F1500\nM5\nM2\n", opt)
	if sum.Near < 0.1 || sum.Nearest.MM != -sum.Near {
		t.Errorf("%g nearer than wanted, said to come within %g", sum.Near, sum.Nearest.MM)
	}
	_, _, err := run(t, strings.Replace(text, "X15", "X60", 1), opt)
	var u *UnmetError
	if !errors.As(err, &u) || u.Failures[0].Kind != TooDeep || u.Failures[0].Line != 4 || u.Failures[0].Last != 5 {
		t.Errorf("a run too deep for one Z: %+v", u)
	}
}

// TestByHand: no Z word, flat or not at all.
func TestByHand(t *testing.T) {
	text := "G90\nG0 X10 Y5\nM3 S9\nG1 X20 F1500\nM5\nG0 X45\nM3\nG1 X55\nM5\nM2\n"
	opt := testOptions(ridge(t), 2.5, 2.5, 0.1)
	opt.ZMoves = bench.ByHand
	if out, _ := mustRun(t, text, opt); out != text {
		t.Errorf("changed:\n%s", out)
	}
	opt.Depth.Near = 1.5
	_, _, err := run(t, text, opt)
	var u *UnmetError
	if !errors.As(err, &u) || u.Failures[0].Kind != NotFlat {
		t.Fatalf("ran flat beyond the depth: %v", err)
	}
	if f := u.Failures[len(u.Failures)-1]; f.Line != 8 || math.Abs(f.Amount-0.5) > 1e-6 || math.Abs(f.X-50) > 1e-9 {
		t.Errorf("%+v, want line 8, 0.5 mm", f)
	}
}

// TestCloseCuts: no cut nearer than 0.05 mm to another point.
func TestCloseCuts(t *testing.T) {
	p := grid(t, 20, 20, 0.04, "", func(x, y float64) float64 { return 0.4 * math.Sin(9*x) * math.Cos(7*y) })
	opt := testOptions(p, 0.25, 0.25, 1)
	out, sum := mustRun(t, "G90\nG0 X0.3 Y0.3\nM3 S9\nG1 X19 Y13 F900\nX19.09 Y13\nG2 X1 Y13 R40\nM5\nM2\n", opt)
	inFocus(t, out, opt)
	if sum.Points < 10 {
		t.Fatalf("only %d cuts", sum.Points)
	}
	for _, m := range moves(t, out, machine.DefaultConfig()) {
		if m.Burn && m.Length < corridor.ClosestCut-0.002 {
			t.Errorf("a piece of %.4f mm", m.Length)
		}
	}
}
