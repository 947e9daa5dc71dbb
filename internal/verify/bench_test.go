package verify

import (
	"bytes"
	"fmt"
	"math"
	"testing"

	"sagitta/internal/surface"
	"sagitta/internal/surface/surfacetest"
)

// bow is a bowed sheet of 300 x 200 mm, probed every 10 mm.
func bow(t testing.TB, method string) *surface.Placed {
	return surfacetest.Of(t, method, nodes(0, 300, 10), nodes(0, 200, 10), func(x, y float64) float64 {
		return 1.2*(1-math.Pow((x-150)/150, 2)) + 0.3*math.Sin(y/40)
	})
}

// raster gives a program of n short burns in lines across the sheet, at the
// height that follow gives it, or at zero.
func raster(p *surface.Placed, n int, follow bool) []byte {
	var b bytes.Buffer
	x, y, step := 1.0, 1.0, 0.1
	b.WriteString("G21 G90\nM5\nG0 X1 Y1\n")
	if h, _ := p.At(x, y); follow {
		fmt.Fprintf(&b, "G0 Z%.3f\n", h)
	}
	b.WriteString("M4 S100 F3000\n")
	for i := range n {
		if x+step > 299 || x+step < 1 {
			step = -step
			y += 0.1
		}
		x += step
		z := ""
		if h, _ := p.At(x, y); follow {
			z = fmt.Sprintf(" Z%.3f", h)
		}
		fmt.Fprintf(&b, "G1 X%.3f Y%.3f%s S%d\n", x, y, z, 100+i%900)
	}
	return b.Bytes()
}

func benchmark(b *testing.B, method string, against bool) {
	p := bow(b, method)
	const n = 100_000
	checked, original := raster(p, n, true), raster(p, n, false)
	opt := options(p, 0.3, 0.3)
	opt.ZRate = 100
	b.ReportAllocs()
	b.ResetTimer()
	for b.Loop() {
		var r *Result
		var err error
		if against {
			r, err = Run(bytes.NewReader(checked), "", bytes.NewReader(original), "", opt)
		} else {
			r, err = Run(bytes.NewReader(checked), "", nil, "", opt)
		}
		if err != nil || r.Burns != n {
			b.Fatal(r, err)
		}
		for _, f := range r.Failures {
			b.Fatal(f)
		}
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/n, "ns/move")
}

func BenchmarkShortMoves(b *testing.B) {
	for _, method := range []string{"bilinear", "bicubic"} {
		b.Run(method, func(b *testing.B) { benchmark(b, method, false) })
		b.Run(method+"/against", func(b *testing.B) { benchmark(b, method, true) })
	}
}

func BenchmarkArcs(b *testing.B) {
	for _, method := range []string{"bilinear", "bicubic"} {
		b.Run(method, func(b *testing.B) {
			p := bow(b, method)
			var text bytes.Buffer
			text.WriteString("G21 G90\nM5\nG0 X10 Y10\nM4 S100 F3000\n")
			const n = 10_000
			for i := range n {
				x, y := 10+float64(i%280), 10+float64(i/280)
				fmt.Fprintf(&text, "G0 X%.3f Y%.3f\nG2 I%.3f\n", x, y, 1+float64(i%7))
			}
			opt := options(p, 3, 3)
			b.ReportAllocs()
			for b.Loop() {
				if _, err := Run(bytes.NewReader(text.Bytes()), "", nil, "", opt); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/n, "ns/arc")
		})
	}
}

// Memory must not grow with the program: no allocation per move.
func TestNoAllocationPerMove(t *testing.T) {
	for _, method := range []string{"bilinear", "bicubic"} {
		p := bow(t, method)
		opt := options(p, 0.3, 0.3)
		count := func(n int) float64 {
			checked, original := raster(p, n, true), raster(p, n, false)
			return testing.AllocsPerRun(3, func() {
				if _, err := Run(bytes.NewReader(checked), "", bytes.NewReader(original), "", opt); err != nil {
					t.Fatal(err)
				}
			})
		}
		// More failures are not kept, so nothing else may grow either.
		if few, many := count(1000), count(5000); many > few+50 {
			t.Errorf("%s: %v allocations for 1000 moves, %v for 5000", method, few, many)
		}
	}
}
