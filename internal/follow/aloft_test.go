package follow_test

import (
	"bytes"
	"fmt"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"sagitta/internal/bench"
	"sagitta/internal/focus"
	"sagitta/internal/follow"
	"sagitta/internal/machine"
	"sagitta/internal/rewrite"
	"sagitta/internal/surface"
	"sagitta/internal/surface/surfacetest"
	"sagitta/internal/verify"
)

// hops is a program that goes to a safe height, mm over its burns, between all of them:
// in G90 or G91, with the travel in up to three parts, and at its end.
func hops(t *rapid.T, up float64, relative bool) string {
	var b strings.Builder
	mode := "G90"
	if relative {
		mode = "G91"
	}
	fmt.Fprintf(&b, "G21 G90\nM5\nG0 X1 Y1\n%s\nF1200\n", mode)
	x, y := 1.0, 1.0
	to := func(g string, nx, ny float64) {
		if relative {
			fmt.Fprintf(&b, "%s X%.3f Y%.3f\n", g, nx-x, ny-y)
		} else {
			fmt.Fprintf(&b, "%s X%.3f Y%.3f\n", g, nx, ny)
		}
		x, y = math.Round(nx*1e3)/1e3, math.Round(ny*1e3)/1e3
	}
	place := func(label string) float64 { return math.Round(rapid.Float64Range(1, size-1).Draw(t, label)) }
	down := 0.0
	if relative {
		down = -up
	}
	for range rapid.IntRange(1, 6).Draw(t, "burns") {
		fmt.Fprintf(&b, "G0 Z%.3f\n", up)
		for range rapid.IntRange(1, 3).Draw(t, "travels") {
			to("G0", place("x"), place("y"))
		}
		fmt.Fprintf(&b, "G0 Z%.3f\nM3 S500\n", down)
		for range rapid.IntRange(1, 3).Draw(t, "lines") {
			to("G1", place("x"), place("y"))
		}
		b.WriteString("M5\n")
	}
	if rapid.Bool().Draw(t, "rises") {
		fmt.Fprintf(&b, "G0 Z%.3f\n", up)
		to("G0", 1, 1)
	}
	return b.String() + "M2\n"
}

// aloftLines are the lines of a program that travel at a safe height, or lead to it.
func aloftLines(text string, up float64) (list []string) {
	at := false
	for line := range strings.Lines(text) {
		rise := line == fmt.Sprintf("G0 Z%.3f\n", up)
		if at = rise || at && strings.HasPrefix(line, "G0 X"); at {
			list = append(list, line)
		}
	}
	return list
}

// TestSafeHeightsPass: what leads to a safe height and over the stock there is passed as
// it is, whatever the bench, also where Z may go no higher; nothing is put in there.
func TestSafeHeightsPass(t *testing.T) {
	done := 0
	rapid.Check(t, func(t *rapid.T) {
		p := drawSurface(t, size)
		relative, away := rapid.Bool().Draw(t, "G91"), rapid.Bool().Draw(t, "away")
		defocus := pick(t, "defocus", 0, 0, -0.4, 1)
		_, high, _, _ := p.Range()
		tall := high
		var head *bench.Head
		if rapid.Bool().Draw(t, "head") {
			head = &bench.Head{Radius: pick(t, "radius", 0.3, 12), Standoff: 6, Gap: 1.5,
				Boxes: []surface.Box{{X0: 20, Y0: 20, X1: 30, Y1: 30, Height: high + pick(t, "box", 0.5, 9)}}}
			tall = max(high, head.Boxes[0].Height-4.5)
		}
		up := math.Ceil(max(0, tall+max(0, defocus))*1e3)/1e3 + pick(t, "over", 0.1, 0.5, 4) + 0.1*p.MaxSlope()
		sigma := 1.0
		if !away {
			sigma = -1
		}
		depth := focus.Depth{Near: pick(t, "near", 0.6, 1.5, 4), Far: pick(t, "far", 0.6, 2)}
		if relative { // c goes with it, which may be as low as over the lowest stock
			low, _, _, _ := p.Range()
			up += depth.Near + max(0, -low) + max(0, -defocus)
		}
		text := hops(t, sigma*up, relative)
		opt := follow.Options{Options: rewrite.Options{Name: "hops", Bench: bench.Bench{Machine: machine.DefaultConfig(), Slow: bench.SlowBurns, Slowest: 0.5, ZPlusAway: away,
			ZMoves: pick(t, "zmoves", bench.Always, bench.Always, bench.BeamOff), ZRate: pick(t, "rate", 0, 0, 5.0, 50), ZResolution: pick(t, "resolution", 0, 0, 0.05), DecimalsMM: 3, DecimalsInch: 5}, Comments: true, Marker: "sagitta"},
			Surface: p, Depth: focus.Depth{Near: depth.Near - 0.0255, Far: depth.Far - 0.0255}, Use: pick(t, "use", 0.1, 0.5), Defocus: defocus, Head: head}
		if limit := sigma * up; !relative && rapid.Bool().Draw(t, "limited") && (away || !opt.Coarse(false)) {
			if opt.ZMax = &limit; !away {
				opt.ZMax, opt.ZMin = nil, &limit
			}
		}
		var out bytes.Buffer
		if _, err := follow.Run(strings.NewReader(text), &out, opt); err != nil {
			return // burns that cannot be
		}
		done++
		want, got := aloftLines(text, sigma*up), aloftLines(out.String(), sigma*up)
		if strings.Join(want, "") != strings.Join(got, "") {
			t.Fatalf("%+v\nwant %q\ngot %q\n--- original\n%s--- followed\n%s", opt, want, got, text, out.String())
		}
		res, err := verify.Run(&out, "followed", strings.NewReader(text), "hops", verify.Options{Bench: opt.Bench, Surface: p, Depth: depth, DefocusMM: defocus, Head: head})
		if err != nil || !res.Holds() {
			t.Fatalf("%v %v\n%s", err, res.Failures, text)
		}
	})
	if done == 0 {
		t.Error("nothing was followed")
	}
	t.Logf("%d followed", done)
}

// Where the program rises or comes down as it travels, c changes there: burns beside it,
// which one c serves, are left as they are.
func TestRampsToSafeHeightsSpareBurns(t *testing.T) {
	p := surfacetest.Of(t, "bilinear", []float64{0, 100}, []float64{0, 100}, func(_, _ float64) float64 { return 1 })
	for _, rate := range []float64{0, 2} {
		const text = "G21 G90\nM5\nG0 X1 Y1\nM3 S500\nG1 X60 F1200\nM5\nG0 X61 Y10 Z8\nG0 X20\nG0 X5 Y20 Z0\nM3\nG1 X80\nM5\nG0 X81 Y30 Z8\nG0 X1 Y1\nM2\n"
		opt := follow.Options{Options: rewrite.Options{Name: "ramps", Bench: bench.Bench{Machine: machine.DefaultConfig(), Slow: bench.SlowNever, Slowest: 0.5, ZPlusAway: true, ZRate: rate, DecimalsMM: 3, DecimalsInch: 5}},
			Surface: p, Depth: focus.Depth{Near: 0.3, Far: 0.3}, Use: 0.5}
		var out bytes.Buffer
		if _, err := follow.Run(strings.NewReader(text), &out, opt); err != nil {
			t.Fatal(err)
		}
		want := strings.NewReplacer("G0 X1 Y1\nM3", "G0 Z0.865\nG0 X1 Y1\nM3", "Y20 Z0\n", "Y20 Z0.865\n").Replace(text)
		if out.String() != want {
			t.Errorf("rate %g:\n%s", rate, out.String())
		}
	}
}
