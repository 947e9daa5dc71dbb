package follow_test

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"math"
	"runtime"
	"strings"
	"testing"
	"testing/iotest"

	"pgregory.net/rapid"

	"sagitta/internal/bench"
	"sagitta/internal/focus"
	"sagitta/internal/follow"
	"sagitta/internal/machine"
	"sagitta/internal/machine/drawn"
	"sagitta/internal/program"
	"sagitta/internal/rewrite"
	"sagitta/internal/verify"
)

// Runs of plain lines: what is written holds, is what writing block by
// block gives, whatever sizes the reads have and however many processors
// there are.
func TestRunsOfPlainLines(t *testing.T) {
	changed := 0
	rapid.Check(t, func(t *rapid.T) {
		text := drawn.Dense(t, size)
		near, far := pick(t, "near", 0.1, 0.4, 1.5), pick(t, "far", 0.1, 0.4, 1.5)
		opt := follow.Options{Options: rewrite.Options{Name: "drawn", Bench: bench.Bench{Machine: machine.DefaultConfig(), Slow: bench.SlowScaled, Slowest: 0.5, ZPlusAway: rapid.Bool().Draw(t, "away"), DecimalsMM: pick(t, "decimals", 2, 3, 3, 4), DecimalsInch: 5, ZRate: pick(t, "rate", 0, 0, 5.0, 30), ZMoves: pick(t, "moves", bench.Always, bench.Always, bench.BeamOff)}, Comments: true, Marker: "sagitta 0 follow --use"},
			Surface: drawSurface(t, size), Depth: focus.Depth{Near: near, Far: far}, Use: pick(t, "use", 0.2, 0.5, 1), Window: pick(t, "window", 0, 16, 100)}
		opt.Head = drawHead(t, size)
		half := max(opt.Decimal(false), opt.Decimal(true)) / 2
		opt.Depth.Near, opt.Depth.Far = near-half, far-half
		if pick(t, "plain axis", true, true, false) {
			opt.Machine.FeedCountsZ = false
		}
		follows := func(opt follow.Options, procs int, small bool) (string, *follow.Summary, error) {
			defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(procs))
			var out bytes.Buffer
			in := strings.NewReader(text)
			if small {
				sum, err := follow.Run(iotest.HalfReader(iotest.OneByteReader(in)), &out, opt)
				return out.String(), sum, err
			}
			sum, err := follow.Run(in, &out, opt)
			return out.String(), sum, err
		}
		got, sum, err := follows(opt, 2, false)
		blocks := opt
		follow.ByBlock(&blocks)
		want, sumBlocks, errBlocks := follows(blocks, 1, true)
		if fmt.Sprint(err) != fmt.Sprint(errBlocks) {
			t.Fatalf("error %v, by block %v", err, errBlocks)
		}
		if got != want {
			t.Fatalf("runs and blocks differ:\n%s\n-- by block:\n%s", got, want)
		}
		if sum.Changed != sumBlocks.Changed || math.Abs(sum.SecondsOut-sumBlocks.SecondsOut) > 1e-4*(1+sum.SecondsOut) ||
			math.Abs(sum.PeakRate-sumBlocks.PeakRate) > 1e-6*(1+sum.PeakRate) || sum.BytesIn != sumBlocks.BytesIn ||
			sum.BytesOut != sumBlocks.BytesOut || math.Abs(sum.ZTravel-sumBlocks.ZTravel) > 1e-6*(1+sum.ZTravel) ||
			math.Abs(sum.LinesPerS-sumBlocks.LinesPerS) > 8+0.3*sum.LinesPerS || // a burst may fall on the edge of a second
			sum.ZLow != sumBlocks.ZLow || sum.ZHigh != sumBlocks.ZHigh {
			t.Fatalf("figures %+v, by block %+v", *sum, *sumBlocks)
		}
		if err != nil {
			var unmet *follow.UnmetError
			if !errors.As(err, &unmet) {
				t.Fatalf("%v\n%s", err, text)
			}
			return
		}
		if sum.Changed > 0 {
			changed++
		}
		if int(sum.BytesOut) != len(got) || int(sum.BytesIn) != len(text) {
			t.Fatalf("%d and %d bytes, not %d and %d", sum.BytesIn, sum.BytesOut, len(text), len(got))
		}
		res, err := verify.Run(strings.NewReader(got), "followed", strings.NewReader(text), "original", verify.Options{
			Bench:   bench.Bench{Machine: opt.Machine, ZPlusAway: opt.ZPlusAway, Slow: bench.SlowScaled, Slowest: 0.5, DecimalsMM: opt.DecimalsMM, DecimalsInch: 5, ZMoves: opt.ZMoves, ZRate: opt.ZRate},
			Surface: opt.Surface, Depth: focus.Depth{Near: near, Far: far}, Head: opt.Head})
		if err != nil {
			t.Fatalf("%v\n%s", err, got)
		}
		if !res.Holds() {
			t.Fatalf("%+v\noptions %+v\n%s\n-- from\n%s", res.Failures[0], opt, got, text)
		}
		if burns, length := burnsOf(t, text, opt.Machine); burns != sum.Burns || math.Abs(length-sum.BurnLength) > 1e-6*(1+length) {
			t.Fatalf("%d burns of %g mm, want %d of %g\n%s", sum.Burns, sum.BurnLength, burns, length, text)
		}
	})
	if changed == 0 {
		t.Error("nothing was changed in any drawn program")
	}
}

// burnsOf counts the burns of a program, and their length in mm.
func burnsOf(t *rapid.T, text string, cfg machine.Config) (n int, length float64) {
	r, ip := program.NewReader(strings.NewReader(text), "drawn"), machine.New(cfg)
	for {
		b, err := r.Next()
		if errors.Is(err, io.EOF) {
			return n, length
		}
		if err != nil {
			t.Fatal(err)
		}
		var m machine.Move
		if err := ip.Step(b, &m); err != nil {
			t.Fatal(err)
		}
		if m.Burn {
			n++
			length += m.Length
		}
	}
}
