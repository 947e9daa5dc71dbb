package follow

import (
	"io"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"sagitta/internal/machine"
	"sagitta/internal/rewrite"
	"sagitta/internal/stream"
	"sagitta/internal/surface"
	"sagitta/internal/surface/surfacetest"
	"sagitta/internal/timing"
)

// Divided pieces are the same heights, in order and without a gap, each as far as a bend
// takes at least.
func TestDivideKeepsHeights(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		opt := Options{Options: rewrite.Options{}}
		opt.Inertia = heavy(rapid.Bool().Draw(t, "steps"))
		length := rapid.SampledFrom([]float64{0.01, 0.3, 5, 80, 1e4}).Draw(t, "length")
		m := machine.Move{Kind: machine.Line, Length: length, Seconds: length / rapid.SampledFrom([]float64{1, 50, 200}).Draw(t, "speed")}
		tb := tubeBuilder{account: &account{opt: &opt}}
		s, h := 0.0, 1.0
		var was []surface.Piece
		for s < 1 {
			pc := surface.Piece{S0: s, S1: min(1, s+rapid.SampledFrom([]float64{1e-6, 0.1, 0.4, 1}).Draw(t, "part")), H0: h, H1: h + rapid.Float64Range(-1, 1).Draw(t, "rise"), Up: 0.1, Down: 0.2}
			s, h = pc.S1, pc.H1
			was = append(was, pc)
		}
		tb.pieces = append(tb.pieces, was...)
		tb.divide(&m)
		at, q := 0.0, 0
		for _, pc := range tb.pieces {
			if pc.S0 != at || pc.S1 <= pc.S0 {
				t.Fatalf("from %g to %g behind %g: %+v", pc.S0, pc.S1, at, tb.pieces)
			}
			for was[q].S1 < pc.S1 {
				q++
			}
			w := was[q]
			on := func(s float64) float64 { return w.H0 + (w.H1-w.H0)*(s-w.S0)/(w.S1-w.S0) }
			if pc.S0 < w.S0 || math.Abs(pc.H0-on(pc.S0)) > 1e-9 || math.Abs(pc.H1-on(pc.S1)) > 1e-9 || pc.Up != w.Up || pc.Down != w.Down {
				t.Fatalf("%+v of %+v", pc, w)
			}
			if took := (pc.S1 - pc.S0) * m.Seconds; pc != w && took < opt.bendTime()/2*(1-1e-9) {
				t.Fatalf("%g s is shorter than a bend", took)
			}
			at = pc.S1
		}
		if at != 1 {
			t.Fatalf("the pieces end at %g", at)
		}
	})
}

// Where the head turns round it stands between; straight on it goes.
func TestTurnAtGates(t *testing.T) {
	on := grid(t, 300, 100, 2.5, "", waves[2].h)
	opt := testOptions(on, 0.5, 0.5, 0.5)
	opt.Inertia = heavy(false)
	for text, want := range map[string]float64{"X120": math.Inf(1), "X80": 0, "G3 X120 Y40 R20": math.Inf(1), "G4 P1\nX120": 0, "M0\nX120": 0, "M3\nX120": math.Inf(1), "G0 Z5\nG1 Z0\nX120": 0} {
		corner := cornerAt(t, "G21 G90\nG0 X50 Y20\nM4 S100\nG1 X100 F3000\n"+text+"\n", opt)
		if corner != want && !(want == 0 && corner < 1e-3) && !(corner > 1e4 && want > 1e4) {
			t.Errorf("%q is begun at %g mm/s, want %g", text, corner, want)
		}
	}
	if corner := cornerAt(t, "G21 G90\nG0 X50 Y20\nM4 S100\nG1 X100 F3000\nX120 Y40\n", opt); corner < 3 || corner > 100 {
		t.Errorf("a corner of 45 degrees is passed at %g mm/s", corner)
	}
	if corner := cornerAt(t, "G21 G90\nG0 X50 Y20\nM4 S100\nG1 X100 F3000 M0\nX120\n", opt); corner != 0 {
		t.Errorf("the end of a burn with a stop on its line is passed at %g mm/s", corner)
	}
	opt.StopsAtBeam = true
	if corner := cornerAt(t, "G21 G90\nG0 X50 Y20\nM4 S100\nG1 X100 F3000\nM3\nX120\n", opt); corner != 0 {
		t.Errorf("a beam word that is stopped at is passed at %g mm/s", corner)
	}
}

// cornerAt is the speed at which the head passes the end of the first burn.
func cornerAt(t *testing.T, text string, opt Options) float64 {
	t.Helper()
	f := newRunner(io.Discard, &opt)
	f.source = stream.New(strings.NewReader(text), f.reading())
	if err := f.source.Each(f.take); err != nil {
		t.Fatal(err)
	}
	for _, h := range f.horizon.blocks {
		if h.Move.Burn {
			return f.horizon.tube.gates[h.g1].Corner
		}
	}
	t.Fatalf("%q does not burn", text)
	return 0
}

// Over a bend of the heights a long move spends what Z must be off it, turning from one speed to
// another by its acceleration: v²/(16·a), half of it on either side. So it does where that is
// little, or Z turns long.
func TestLongMovesBend(t *testing.T) {
	const feed, accel = 100.0, 50.0 // mm/s, mm/s²
	for _, v := range []float64{4, 8, 16} {
		slope, least := v/feed, v*v/(16*accel)
		on := surfacetest.Of(t, "bilinear", []float64{0, 100, 200, 300}, []float64{0, 100}, func(x, y float64) float64 {
			return slope * min(100, max(0, x-100))
		})
		for _, steps := range []bool{false, true} {
			opt := testOptions(on, 1.25*least, 1.25*least, 0.5)
			opt.Inertia, opt.DecimalsMaxMM = heavy(steps), 5
			text := header + "M4 S0\nG0 X5 Y50\nG1 X35 F6000\nX280 S500\nX299 S0\n" + end
			out, sum := mustRun(t, text, opt)
			if spent := max(sum.Near, sum.Far); spent > 1.1*least {
				t.Errorf("%g mm/s, steps %t: %g mm are spent, where %g would do", v, steps, spent, least)
			}
			made, _, err := timing.Beside(strings.NewReader(out), strings.NewReader(text), "made", "original", timing.Bench{Machine: machine.DefaultConfig(), Limits: *opt.Inertia})
			if err != nil || made.SlowMM > 0 {
				t.Errorf("%g mm/s, steps %t: %g mm go slower, %v", v, steps, made.SlowMM, err)
			}
		}
	}
}
