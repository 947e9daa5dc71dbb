package follow

import (
	"bytes"
	"fmt"
	"io"
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
