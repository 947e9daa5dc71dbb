package zone

import (
	"bytes"
	"fmt"
	"io"
	"math"
	"testing"

	"sagitta/internal/bench"
	"sagitta/internal/focus"
	"sagitta/internal/follow"
	"sagitta/internal/rewrite"
)

// raster is a program of n pixels of 0.1 mm with a power each.
func raster(n int) []byte {
	var b bytes.Buffer
	b.WriteString("G21 G90\nG0 X10 Y10\nM4 S0\nG1 F3000\n")
	x, y, d := 100, 100, 1
	for i := range n {
		if x += d; x < 100 || x > 2900 {
			d = -d
			y++
			fmt.Fprintf(&b, "G1 Y%d.%d S0\n", y/10%290, y%10)
			continue
		}
		fmt.Fprintf(&b, "X%d.%d S%d\n", x/10, x%10, i*7919%1000)
	}
	b.WriteString("M5\nG0 X0 Y0\nM2\n")
	return b.Bytes()
}

// BenchmarkRaster prints the time of splitting a raster job over that of
// following it on the same processors (at most 2.5).
func BenchmarkRaster(b *testing.B) {
	const pixels = 1_000_000
	text := raster(pixels)
	p := stock(b, 300, 5, "", func(x, y float64) float64 { d := x - 150; return math.Sqrt(4000*4000-d*d) - 4000 + 2.8 })
	opt := options(p, 0.5)
	fopt := follow.Options{Options: rewrite.Options{Name: "job.gcode", Bench: bench.Bench{Machine: opt.Machine, Slowest: 0.5, ZPlusAway: true, DecimalsMM: 3, DecimalsInch: 5}, Comments: true, Marker: "sagitta x follow y"},
		Surface: p, Depth: focus.Depth{Near: 0.5, Far: 0.5}, Use: 0.5}
	b.SetBytes(int64(len(text)))
	following := 0.0
	b.Run("follow", func(b *testing.B) {
		for b.Loop() {
			if _, err := follow.Run(bytes.NewReader(text), io.Discard, fopt); err != nil {
				b.Fatal(err)
			}
		}
		following = b.Elapsed().Seconds() / float64(b.N)
		b.ReportMetric(following/pixels*1e9, "ns/line")
	})
	b.Run("split", func(b *testing.B) {
		for b.Loop() {
			splitOnce(b, text, opt)
		}
		splitting := b.Elapsed().Seconds() / float64(b.N)
		b.ReportMetric(splitting/pixels*1e9, "ns/line")
		if following > 0 {
			b.ReportMetric(splitting/following, "split/follow")
		}
	})
}

func splitOnce(b testing.TB, text []byte, opt Options) *Plan {
	b.Helper()
	plan, err := Survey(bytes.NewReader(text), opt)
	if err != nil {
		b.Fatal(err)
	}
	if err := plan.Split(bytes.NewReader(text), b.TempDir()); err != nil {
		b.Fatal(err)
	}
	return plan
}

// strokes is a program of n short strokes that wander over a sheet and cross
// between zones about once in a hundred.
func strokes(n int) []byte {
	var b bytes.Buffer
	b.WriteString("G21 G90\nM5\nG0 X0 Y0\nF3000\n")
	for i := range n {
		x := 150 + 149*math.Sin(float64(i)/300)
		y := 150 + 149*math.Cos(float64(i)/37777)
		if i%10 == 0 {
			fmt.Fprintf(&b, "M5\nG0 X%.3f Y%.3f\nM4 S500\n", x, y)
			continue
		}
		fmt.Fprintf(&b, "G1 X%.3f Y%.3f\n", x, y)
	}
	b.WriteString("M5\nM2\n")
	return b.Bytes()
}

// BenchmarkPieces prints the time for each move of jobs in ever more pieces:
// it is to stay the same.
func BenchmarkPieces(b *testing.B) {
	p := stock(b, 300, 5, "", func(x, y float64) float64 { return 0.02 * x })
	for _, n := range []int{100_000, 1_000_000} {
		text := strokes(n)
		b.Run(fmt.Sprintf("moves=%d", n), func(b *testing.B) {
			var plan *Plan
			for b.Loop() {
				plan = splitOnce(b, text, options(p, 0.4))
			}
			pieces := 0
			for _, z := range plan.Zones {
				pieces += z.Pieces
			}
			b.ReportMetric(float64(pieces), "pieces")
			b.ReportMetric(b.Elapsed().Seconds()/float64(b.N)/float64(n)*1e9, "ns/move")
		})
	}
}
