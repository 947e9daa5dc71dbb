package follow_test

import (
	"bytes"
	"errors"
	"io"
	"math"
	"strings"
	"testing"
	"testing/iotest"

	"sagitta/internal/bench"
	"sagitta/internal/diag"
	"sagitta/internal/focus"
	"sagitta/internal/follow"
	"sagitta/internal/machine"
	"sagitta/internal/rewrite"
	"sagitta/internal/surface"
	"sagitta/internal/surface/surfacetest"
	"sagitta/internal/verify"
)

// fuzzSurface is a bowed sheet of 100 × 100 mm around the origin.
func fuzzSurface(t testing.TB, bow float64) *surface.Placed {
	x := []float64{-50, -20, -3, 0, 7, 31, 50}
	return surfacetest.Of(t, "", x, x, func(x, y float64) float64 { return bow * math.Cos(x/20) * math.Sin(y/17+1) })
}

var fuzzSeeds = []string{
	"G21 G90\nG0 X0 Y0\nM4 S500\nG1 X40 F3000\nY40\nX0 Y0\nM5\nM2\n",
	"g91\r\ng1x10f500\r\nm3\r\nx-20y3\r\ng2x10i5\r\ng4p1\r\nm5\r\n",
	"G90\nG0X1Y1Z5\nG0Z0\nM3S9\nG93\nG1X-30F2\nG94\nG1X9F99(why)\nG3I-9\nM5\nG0Z5\nX0Y0\nM30",
	"%\nN1 G20 G17\n/ (skip)\nG1 X1 F50 S9 M3 ; go\n%",
	"M3 S100\nG1 X2 Y2 F100\n",
	"O1\n$1=2\nG55\nG0X0Y0\nG92X5Z1\nM3S1\nG1X9F99\nG90.1G2I0J0\nM5\nG28Z0\nG0X1Z2\nM3\nG1X-9S5\nM5\nG92.1\nG53G0X0\nM30\n%\nG55G0X3Y3\nM3\nG1X30\nM117 x\nM5",
	"N1 G0 X0 Y0*41\nN2 M3 S5*100\nN3 G1 X40 F99*49\nN4 G92 Z-1*112\nN5 G1 X0*101\nN6 M5*32\n",
	"G0X0Y0Z1\nM3S9\nG0X40\nG91G28Z0\nM812S0\nG90G0X-30\nZ0\nG93G1X30F1\nM110N7\nG30",
}

// FuzzFollow: any bytes give an error or a program that verifies; a depth
// that is deep enough gives back the same bytes, but for what is said to stand
// behind the end; and what was followed with a change is not followed again.
func FuzzFollow(f *testing.F) {
	for _, s := range fuzzSeeds {
		for mode := uint8(0); mode < 32; mode += 5 {
			f.Add([]byte(s), mode)
		}
	}
	steep, gentle := fuzzSurface(f, 3), fuzzSurface(f, 0.2)
	f.Fuzz(func(t *testing.T, text []byte, mode uint8) {
		const half = 0.0005
		opt := follow.Options{Options: rewrite.Options{Name: "fuzzed", Bench: bench.Bench{Machine: machine.DefaultConfig(), Slow: bench.SlowScaled, Slowest: 0.5, ZPlusAway: true, DecimalsMM: 3, DecimalsInch: 5}, Comments: true, Marker: "sagitta 0 follow --use"},
			Surface: steep, Depth: focus.Depth{Near: 1 - half, Far: 1 - half}, Use: 0.5, Window: 16}
		opt.Machine.StartXYKnown = mode&1 != 0
		if mode&2 != 0 {
			opt.ZRate = 10
		}
		if mode&4 != 0 {
			opt.ZMoves = bench.BeamOff
		}
		opt.Numbered, opt.Machine.RapidsFire = mode&8 != 0, mode&16 != 0
		var out bytes.Buffer
		sum, err := follow.Run(bytes.NewReader(text), &out, opt)
		if err != nil {
			named(t, err)
			return
		}
		res, err := verify.Run(bytes.NewReader(out.Bytes()), "followed", bytes.NewReader(text), "original", verify.Options{
			Bench: bench.Bench{Machine: opt.Machine, ZPlusAway: true, Slow: bench.SlowScaled, Slowest: 0.5, DecimalsMM: 3, DecimalsInch: 5, ZMoves: opt.ZMoves, ZRate: opt.ZRate}, Surface: steep, Depth: focus.Depth{Near: 1, Far: 1},
		})
		if err != nil {
			t.Fatalf("what was written cannot be read: %v\n%s", err, out.Bytes())
		}
		if !res.Holds() {
			t.Fatalf("%v\n%q\n%q", res.Failures, text, out.Bytes())
		}
		if sum.Changed+sum.Added > 0 {
			if _, err := follow.Run(bytes.NewReader(out.Bytes()), &bytes.Buffer{}, opt); !diag.Is(err, diag.Unsupported) {
				t.Fatalf("followed twice: %v\n%q", err, out.Bytes())
			}
		}
		opt.Surface = gentle
		out.Reset()
		sum, err = follow.Run(bytes.NewReader(text), &out, opt)
		want := text
		if err == nil && sum.Behind > 0 { // what is said to stand behind the end is left out, and no more
			want = bytes.Join(bytes.SplitAfter(text, []byte("\n"))[:sum.Behind-1], nil)
		}
		if err == nil && !bytes.Equal(out.Bytes(), want) {
			t.Fatalf("changed though the depth is enough:\n%q\n%q", text, out.Bytes())
		}
	})
}

// named wants an error that a person can use: of a known kind, and with its
// place.
func named(t *testing.T, err error) {
	var m *follow.UnmetError
	switch e := diag.As(err); {
	case e != nil:
		if !strings.HasPrefix(err.Error(), "fuzzed:") || e.Line < 1 || e.Col < 1 {
			t.Fatalf("an error without its place: %v", err)
		}
	case errors.As(err, &m):
	default:
		t.Fatalf("an error of no known kind: %T %v", err, err)
	}
}

// FuzzRuns: after a start that lets plain lines be taken in runs, any bytes are
// written as line by line, however the reads fall, and planned as block by block.
func FuzzRuns(f *testing.F) {
	for mode := uint8(0); mode < 8; mode++ {
		f.Add([]byte("X1.1 S1\nX1.2 S0\nX1.3\nX1.4 S7\nX9\nX9.1Y1\nX9.2 Y1.1 F3000\nX9\nY-3.50\n"), mode)
		f.Add([]byte("X.5\nX1.25S3\r\nX1.5 S3 F20\nG1 X2 Y0.4\nX2\nX2 Z1\nG0 X3\nG1 X3.01\nX3.02\nM5\nX3.1\nM2\nX1"), mode)
		f.Add([]byte("x-1.0\nx-1.10\nx-1.2 (c)\nx-1.3\ny1\ny1.1\ny1.2\ny1.3\ny9\n"), mode)
	}
	surf := fuzzSurface(f, 2)
	f.Fuzz(func(t *testing.T, text []byte, mode uint8) {
		const grows = 60 // characters that a Z, an F and a power take at most
		for line := range bytes.Lines(text) {
			if len(line) > follow.LongestByBlock-grows {
				t.Skip("a line that is refused by block")
			}
		}
		start := "G21 G90\nG0 X0 Y0\nM4 S500\nG1 F3000 X1\n"
		if mode&1 != 0 {
			start += "G91\n"
		}
		if mode&2 != 0 {
			start += "G20\nF100\n"
		}
		text = append([]byte(start), text...)
		opt := follow.Options{Options: rewrite.Options{Name: "fuzzed", Bench: bench.Bench{Machine: machine.DefaultConfig(), Slow: bench.SlowScaled, Slowest: 0.5, ZPlusAway: mode&4 == 0, DecimalsMM: 3, DecimalsInch: 5}, Comments: true, Marker: "sagitta 0 follow --use"},
			Surface: surf, Depth: focus.Depth{Near: 0.4, Far: 0.3}, Use: 0.5}
		if mode&8 != 0 {
			opt.ZRate = 5
		}
		var runs, blocks bytes.Buffer
		sum, err := follow.Run(bytes.NewReader(text), &runs, opt)
		byLine := opt
		follow.ByBlock(&byLine)
		_, errBlocks := follow.Run(iotest.OneByteReader(bytes.NewReader(text)), &blocks, byLine)
		switch {
		case (err == nil) != (errBlocks == nil) || err != nil && err.Error() != errBlocks.Error():
			t.Fatalf("error %v, by block %v", err, errBlocks)
		case err == nil && !bytes.Equal(runs.Bytes(), blocks.Bytes()):
			t.Fatalf("%s\n-- by block:\n%s", runs.Bytes(), blocks.Bytes())
		}
		if err == nil || errors.As(err, new(*follow.UnmetError)) {
			plannedAlike(t, text, opt, runs.Bytes(), sum, err)
		}
	})
}

// plannedAlike holds a program whose plain lines are planned in runs, or the error
// that came of it, to what planning each line as a block gives: it is followed
// where that is, holds, and spends no more of the depth. A run takes twice its
// tolerance off the depth, so it may be refused where blocks just do.
func plannedAlike(t *testing.T, text []byte, opt follow.Options, inRuns []byte, sum *follow.Summary, err error) {
	follow.InBlocks(&opt)
	inBlocks := func(part float64) (*follow.Summary, error) {
		o := opt
		o.Depth.Near, o.Depth.Far = part*o.Depth.Near, part*o.Depth.Far
		return follow.Run(bytes.NewReader(text), io.Discard, o)
	}
	const less = 0.98
	blocks, errBlocks := inBlocks(1)
	switch {
	case err != nil && errBlocks == nil:
		if _, errBlocks = inBlocks(less); errBlocks == nil {
			t.Fatalf("%v; in blocks it is followed within %g of the depth", err, less)
		}
		return
	case err == nil && errBlocks != nil:
		if _, errBlocks = inBlocks(1 / less); errBlocks != nil {
			t.Fatalf("followed in runs only: %v", errBlocks)
		}
		return
	case err != nil:
		return
	}
	if most := max(opt.Use, blocks.Part); sum.Part > most/less {
		t.Fatalf("%g of the depth spent, in blocks %g\n%s", sum.Part, blocks.Part, inRuns)
	}
	half := opt.Decimal(false) / 2
	res, err := verify.Run(bytes.NewReader(inRuns), "followed", bytes.NewReader(text), "original", verify.Options{
		Bench: bench.Bench{Machine: opt.Machine, ZPlusAway: opt.ZPlusAway, Slow: bench.SlowScaled, Slowest: 0.5, DecimalsMM: 3, DecimalsInch: 5, ZRate: opt.ZRate}, Surface: opt.Surface, Depth: focus.Depth{Near: opt.Depth.Near + half, Far: opt.Depth.Far + half},
	})
	if err != nil {
		t.Fatalf("what was written cannot be read: %v\n%s", err, inRuns)
	}
	if !res.Holds() {
		t.Fatalf("%v\n%s", res.Failures, inRuns)
	}
}
