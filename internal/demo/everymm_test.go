package demo

import (
	"bytes"
	"math"
	"strings"
	"testing"

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

// From steps that cut near the last decimal up to one that cuts little.
func TestEveryMMFollowsTheChart(t *testing.T) {
	for _, step := range []float64{0.05, 0.33, 1, 7} {
		cut, f, err := EveryMM(cup, step)
		if err != nil {
			t.Fatal(err)
		}
		checkCut(t, Program(), cut, cup, step, f.Points)
	}
}

func TestEveryMMLeavesTheRestAlone(t *testing.T) {
	cut, f, err := EveryMM(cup, 1000)
	if err != nil {
		t.Fatal(err)
	}
	if f.Points != 0 {
		t.Errorf("%d points for steps of a metre", f.Points)
	}
	kept := map[string]bool{}
	for line := range bytes.Lines(cut) {
		kept[string(line)] = true
	}
	walk(t, Program(), func(b *program.Block, m *machine.Move, _ machine.State) {
		if m.Kind != machine.Line && m.Kind != machine.Arc && !kept[string(b.Raw)] {
			t.Errorf("line %d is gone: %s", b.Line, b.Raw)
		}
	})
}

func TestEveryMMSaysWhereThereIsNoHeight(t *testing.T) {
	hole := func(x, y float64) float64 {
		if x > 290 && y > 192 {
			return math.NaN()
		}
		return 0
	}
	_, _, err := EveryMM(hole, 1)
	if err == nil || !strings.Contains(err.Error(), "14:1: no height at X293.000 Y193.000") {
		t.Errorf("error %v", err)
	}
}
