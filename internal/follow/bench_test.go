package follow

import (
	"bytes"
	"fmt"
	"io"
	"math/rand"
	"testing"
)

// raster is a program of n pixels of 0.1 mm with a power each.
func raster(n int) []byte {
	var b bytes.Buffer
	b.WriteString("G21 G90\nM5\nG0 X10 Y10\nM4 S0\nG1 F3000\n")
	x, y, d := 100, 100, 1
	for i := 0; i < n; i++ {
		if x += d; x < 100 || x > 2900 {
			d = -d
			y++
			fmt.Fprintf(&b, "G1 Y%d.%d S0\n", y/10%190, y%10)
			continue
		}
		fmt.Fprintf(&b, "X%d.%d S%d\n", x/10, x%10, i*7919%1000)
	}
	b.WriteString("M5\nG0 X0 Y0\nM2\n")
	return b.Bytes()
}

func BenchmarkRaster(b *testing.B) {
	text := raster(300000)
	p := grid(b, 300, 200, 5, "", circular(4000))
	opt := testOptions(p, 0.5, 0.5, 0.5)
	b.SetBytes(int64(len(text)))
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Run(bytes.NewReader(text), io.Discard, opt); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/300000, "ns/line")
}

// BenchmarkFigures prints, for each job, the figures against the best
// possible ones: peak Z rate over the optimum in the tube narrowed by a tenth
// (at most 1.02), points over the fewest links of the whole tube (at most 2).
func BenchmarkFigures(b *testing.B) {
	for _, c := range jobCases(b) {
		b.Run(c.name, func(b *testing.B) {
			f := measure(b, c, c.links)
			opt := testOptions(c.surface, c.depth, c.depth, 1)
			for b.Loop() {
				mustRun(b, c.text, opt)
			}
			if f.leastPeak > 0 {
				b.ReportMetric(f.peak/f.leastPeak, "peak/least")
			}
			if c.links {
				b.ReportMetric(float64(f.points)/float64(f.links), "points/links")
			}
		})
	}
}

// BenchmarkForcedDefocus prints the greatest defocus under a Z rate over the
// least possible (at most 1.1).
func BenchmarkForcedDefocus(b *testing.B) {
	for _, v := range []float64{0.1, 0.3, 0.8} {
		b.Run(fmt.Sprintf("rate %g mm/s", v), func(b *testing.B) {
			r := rand.New(rand.NewSource(3))
			c := jobCase{surface: grid(b, 300, 100, 7.3, "", bumpy(r)), text: wander(r, 20, 60), depth: 2}
			opt := testOptions(c.surface, c.depth, c.depth, 0.05)
			opt.ZRate, opt.Slow = v, SlowNever
			var out string
			for b.Loop() {
				out, _ = mustRun(b, c.text, opt)
			}
			b.ReportMetric(worstDefocus(b, out, c)/leastDefocus(burnSpan(b, c, 0.5), v), "defocus/least")
		})
	}
}
