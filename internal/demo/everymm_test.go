package demo

import (
	"bytes"
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"sagitta/internal/machine"
	"sagitta/internal/program"
)

// cup is the height of a sheet that has cupped.
func cup(x, y float64) float64 { return (y-100)*(y-100)/2500 + x/200 - 0.7 }

// moves collects what moves the head along X, Y or Z.
func moves(t *testing.T, src []byte) []machine.Move {
	var all []machine.Move
	walk(t, src, func(_ *program.Block, m *machine.Move, _ machine.State) {
		if m.Kind == machine.Line || m.Kind == machine.Arc {
			all = append(all, *m)
		}
	})
	return all
}

// Of a program in mm, cut points are off by half the third decimal in X and in
// Y. Z is so too, and by what the surface rises over that.
const (
	cutOffMM = 0.0008
	zOffMM   = 0.0006
)

// piecesOf tells how many of the moves make up m: those that go as far as it
// does and end where it ends. It is 0 where none do.
func piecesOf(m *machine.Move, cut []machine.Move) int {
	along := 0.0
	for k := range cut {
		to := cut[k].To
		along += cut[k].Length
		if along >= m.Length/2 && math.Hypot(to.X-m.To.X, to.Y-m.To.Y) < 1e-9 {
			return k + 1
		}
	}
	return 0
}

// checkCut fails the test where cut is not src with its burns cut every step
// mm and Z at the surface.
func checkCut(t *testing.T, src, cut []byte, height func(x, y float64) float64, step float64, points int) {
	t.Helper()
	was, is := moves(t, src), moves(t, cut)
	if len(is)-len(was) != points {
		t.Fatalf("%d moves became %d, with %d points added", len(was), len(is), points)
	}
	j := 0
	for i := range was {
		m, n := &was[i], piecesOf(&was[i], is[j:])
		if n == 0 || n > 1 && !m.Burn {
			t.Fatalf("move %d is not there, or is a travel that is cut: %+v", i, *m)
		}
		for k := range n {
			c := &is[j+k]
			if c.Burn != m.Burn || c.Power != m.Power || c.PowerFollows != m.PowerFollows || c.Feed != m.Feed || c.Rapid != m.Rapid || c.Kind != m.Kind {
				t.Fatalf("move %d: %+v became %+v", i, *m, *c)
			}
			if c.Burn && c.Length > step+2*cutOffMM {
				t.Fatalf("move %d: a piece of %g mm", i, c.Length)
			}
			z := height(c.To.X, c.To.Y) + m.From.Z + (m.To.Z-m.From.Z)*float64(k+1)/float64(n)
			if math.Abs(c.To.Z-z) > zOffMM {
				t.Fatalf("move %d, piece %d: Z%.4f, the surface asks for %.4f", i, k, c.To.Z, z)
			}
			for _, s := range []float64{0, 0.5, 1} {
				at, want := c.XY(s), m.XY((float64(k)+s)/float64(n))
				if math.Hypot(at[0]-want[0], at[1]-want[1]) > cutOffMM {
					t.Fatalf("move %d, piece %d at %g: %.4f, want %.4f", i, k, s, at, want)
				}
			}
		}
		j += n
	}
	if j != len(is) {
		t.Fatalf("%d moves are left over", len(is)-j)
	}
}

func TestEveryMMFollowsTheJob(t *testing.T) {
	src := Program()
	for _, step := range []float64{0.3, 1, 7} {
		var cut bytes.Buffer
		points, err := EveryMM(&cut, src, cup, step)
		if err != nil {
			t.Fatal(err)
		}
		checkCut(t, src, cut.Bytes(), cup, step, points)
		t.Logf("every %g mm: %d points more, %d bytes for %d", step, points, cut.Len(), len(src))
	}
}

// Programs in the ways that others write them, down to steps where every piece
// is near the last decimal and up to steps that cut nothing.
func TestEveryMMKeepsXY(t *testing.T) {
	const head = "G21 G90 G94 F1500 M3 S500\nG0 X10 Y10\n"
	for name, src := range map[string]string{
		"one axis":          head + "G1 X30.5\nY22.25 (up)\nX10\n",
		"no end of line":    head + "G1 X30",
		"line ends of CRLF": "G21 F1500 M3 S5\r\nG0 X1 Y1\r\nG1 X5 Y3\r\n",
		"relative":          head + "G91\nG1 X7.1 Y3.3\nX-7.1 Y-3.3\nG2 X4 Y0 I2\nG3 X-4 R2\nG90\nG1 X12 Y14\n",
		"full circles":      head + "G2 I5 J0\nG3 X10 Y10 I0 J-3.5\n",
		"arc with one axis": head + "G2 X16 I3 J0\nG3 Y16 R3\n",
		"the long way":      head + "G2 X12 R-4\nG3 Y12 R-5\n",
		"a small circle":    head + "G2 I0.02\nG2 I0.1\nG2 I0.009\n",
		"two halves":        head + "G0 X10.123 Y3.217\nG2 I1.0004 J0.7007\nG3 X10.124 I-0.6 J0.02\n",
		"a ramp":            head + "G1 X30 Y20 Z2\nG91\nG2 X-6 Z-3 I-3\n",
		"a Z of its own":    head + "G0 Z5\nG1 Z-1 F300\nX30 F1500\nG0 Z5\nX0 Y0\nG91\nG1 Z-6 F300\nY3.7\n",
		"letters together":  "g21f1500m3s5\ng0x1y1\ng1x9.125y2.5\nx0y0m5\ng0x5\n",
		"power on the way":  head + "M4 S0\nG1 X20 S0\nX30 S100\nX40 S0 F3000\nX50 S20\nM5\nG1 X60\n",
		"more decimals":     head + "G1 X10.00049 Y17.12345\nX9.99951\n",
	} {
		t.Run(name, func(t *testing.T) {
			for _, step := range []float64{LeastStep, 0.33, 1, 5, 100} {
				var cut bytes.Buffer
				points, err := EveryMM(&cut, []byte(src), cup, step)
				if err != nil {
					t.Fatal(err)
				}
				checkCut(t, []byte(src), cut.Bytes(), cup, step, points)
			}
		})
	}
}

// Before a place is known no height is, but Z counts on from where the program
// has put it.
func TestEveryMMCountsZFromTheStart(t *testing.T) {
	for _, src := range []string{
		"G21 G91 F900 M3 S5\nG0 Z5\nG0 Z-2\nG1 X7 Y5\nX3\n",
		"G21 F900 M3 S5\nG0 Z3\nG91\nG1 X7 Y5\nX3\n",
	} {
		var cut bytes.Buffer
		if _, err := EveryMM(&cut, []byte(src), cup, 1); err != nil {
			t.Fatal(err)
		}
		all := moves(t, cut.Bytes())
		if z := all[len(all)-1].To.Z; math.Abs(z-3-cup(10, 5)) > zOffMM {
			t.Errorf("%q ends at Z%.4f, want 3 over the surface's %.4f", src, z, cup(10, 5))
		}
	}
}

func TestEveryMMInInches(t *testing.T) {
	src := []byte("G20 F60 M3 S5\nG0 X1 Y1\nG1 X2.5 Y1.25\nG91\nG2 X0.5 Y0.5 I0.25 J0.25\nG21 F1500\nG1 X10\n")
	var cut bytes.Buffer
	points, err := EveryMM(&cut, src, cup, 1)
	if err != nil {
		t.Fatal(err)
	}
	checkCut(t, src, cut.Bytes(), cup, 1, points)
}

// Relative pieces add up to the words that they stand for, and Z does not
// creep, however many there are.
func TestEveryMMDoesNotDrift(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		var b strings.Builder
		b.WriteString("G21 G91 F2000 M3 S9\nG0 X50 Y50\n")
		word := rapid.IntRange(-20000, 20000)
		for range rapid.IntRange(1, 30).Draw(rt, "moves") {
			fmt.Fprintf(&b, "G%d X%.3f Y%.3f\n", rapid.IntRange(0, 1).Draw(rt, "g"),
				float64(word.Draw(rt, "x"))/1000, float64(word.Draw(rt, "y"))/1000)
		}
		var cut bytes.Buffer
		points, err := EveryMM(&cut, []byte(b.String()), cup, rapid.Float64Range(LeastStep, 9).Draw(rt, "step"))
		if err != nil {
			rt.Fatal(err)
		}
		was, is := moves(t, []byte(b.String())), moves(t, cut.Bytes())
		end, got := was[len(was)-1].To, is[len(is)-1].To
		if math.Hypot(end.X-got.X, end.Y-got.Y) > 1e-9 || math.Abs(got.Z-cup(end.X, end.Y)) > zOffMM {
			rt.Fatalf("ends at %v, want %v at height %g", got, end, cup(end.X, end.Y))
		}
		if len(is) != len(was)+points {
			rt.Fatalf("%d moves, had %d, %d points", len(is), len(was), points)
		}
	})
}

func TestEveryMMLeavesTheRestAlone(t *testing.T) {
	src := "(head)\nG21 G90\n\nG0 X5 ; one axis alone\nM5\nG4 P0.2\nM3 S5 F900 ; on\nM5\nM2\n"
	var cut bytes.Buffer
	if points, err := EveryMM(&cut, []byte(src), cup, 1); err != nil || points != 0 {
		t.Fatal(points, err)
	}
	if cut.String() != src {
		t.Errorf("got %q", cut.String())
	}
}

type full struct{}

var errFull = errors.New("full")

func (full) Write([]byte) (int, error) { return 0, errFull }

func TestEveryMMRefuses(t *testing.T) {
	const head = "G21 G90\nG0 X1 Y1\n"
	nowhere := func(x, y float64) float64 { return math.NaN() }
	for _, c := range []struct {
		src    string
		height func(x, y float64) float64
		step   float64
		want   string
	}{
		{head, cup, 0, "a step of 0 mm"},
		{head, cup, -1, "a step of -1 mm"},
		{head, cup, math.NaN(), "a step of NaN mm"},
		{head, cup, math.Inf(1), "a step of +Inf mm"},
		{head + "M3 G93\nG1 X9 F20\n", cup, 1, "4:1: burns in inverse time"},
		{head + "M3 F900\nG1 X9 M2\n", cup, 1, "4:1: a move on a line that stops"},
		{head, nowhere, 1, "2:1: no height at X1.000 Y1.000"},
		{head + "G1 X9\n", cup, 1, "a feed move without a feed"},
		{head + "G1 Xa\n", cup, 1, "3:"},
		{"", cup, 1, "empty"},
	} {
		if _, err := EveryMM(&bytes.Buffer{}, []byte(c.src), c.height, c.step); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%q: error %v, want %q", c.src, err, c.want)
		}
	}
	if _, err := EveryMM(full{}, []byte(head), cup, 1); !errors.Is(err, errFull) {
		t.Errorf("a writer that is full: %v", err)
	}
}
