package follow

import (
	"bytes"
	"fmt"
	"io"
	"math"
	"strings"
	"testing"

	"sagitta/internal/focus"
	"sagitta/internal/machine"
	"sagitta/internal/verify"
	"sagitta/scripts/speed/jobs"
)

// Where heights are only bounded, burns must stay within the part of the depth
// that is to be spent, not just within the depth.
func TestBoundsHold(t *testing.T) {
	p := wavySheet(t)
	for _, job := range jobs.All[2:] {
		text := jobText(t, job, 1<<19)
		for _, use := range []float64{0.3, 0.6} {
			const depth = 1.5
			opt := testOptions(p, depth, depth, use)
			opt.Defocus = use - 0.3
			var out bytes.Buffer
			sum, err := Run(bytes.NewReader(text), &out, opt)
			if err != nil {
				t.Fatal(err)
			}
			within := use*depth + opt.Decimal(false)
			res, err := verify.Run(&out, "followed", bytes.NewReader(text), "original", verify.Options{
				Machine: machine.DefaultConfig(), Surface: p, Depth: focus.Depth{Near: within - opt.Defocus, Far: within + opt.Defocus}, ZPlusAway: true,
				DecimalsMM: 3, DecimalsInch: 5})
			if err != nil {
				t.Fatal(err)
			}
			if !res.Holds() {
				t.Errorf("%s, using %g: %+v", job.Name, use, res.Failures[0])
			}
			if sum.Part > use+outOfBounds {
				t.Errorf("%s, using %g: said to use %g", job.Name, use, sum.Part)
			}
		}
	}
}

// The highest and the lowest burn are told as they are, though they lie within
// a chunk of arcs that nothing else asks to know better.
func TestExtremesUnderArcs(t *testing.T) {
	p := grid(t, 100, 40, 2, "", func(x, y float64) float64 {
		return 0.05*math.Exp(-((x-40)*(x-40)+(y-21)*(y-21))/200) - 0.05*math.Exp(-((x-75)*(x-75)+(y-19)*(y-19))/200)
	})
	var b strings.Builder
	b.WriteString("G21 G90 G0 X10 Y20\nM3 S9\nG1 F900 X12\nG2\n")
	for x := 15.0; x < 90; x += 3 {
		fmt.Fprintf(&b, "X%g I1.5\n", x)
	}
	b.WriteString("M5\nG0 X0 Y0\n")
	opt := testOptions(p, 1.5, 1.5, 0.5)
	sum, err := Run(strings.NewReader(b.String()), io.Discard, opt)
	if err != nil {
		t.Fatal(err)
	}
	opt.exact = true
	want, err := Run(strings.NewReader(b.String()), io.Discard, opt)
	if err != nil {
		t.Fatal(err)
	}
	if want.High < 0.02 || want.Low > -0.02 {
		t.Fatalf("from %g to %g: it passes neither", want.Low, want.High)
	}
	if sum.High != want.High || sum.Low != want.Low || sum.HighLine != want.HighLine || sum.HighX != want.HighX {
		t.Errorf("from %g to %g at X%g, line %d; want %g to %g at X%g, line %d", sum.Low, sum.High, sum.HighX, sum.HighLine,
			want.Low, want.High, want.HighX, want.HighLine)
	}
}
