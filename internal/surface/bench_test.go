package surface

import (
	"math"
	"math/rand/v2"
	"testing"
)

func benchMethods(b *testing.B, run func(b *testing.B, p *Placed)) {
	for _, method := range []string{"bilinear", "bicubic"} {
		p := mustPlace(b, bumpy(b, 300), Placement{Method: method, RotateDeg: 10})
		b.Run(method, func(b *testing.B) {
			b.ReportAllocs()
			run(b, p)
		})
	}
}

// 1000 places all over a grid of 300 x 300.
func BenchmarkAt(b *testing.B) {
	benchMethods(b, func(b *testing.B, p *Placed) {
		var xy [1024][2]float64
		r := rand.New(rand.NewPCG(1, 2))
		for k := range xy {
			xy[k][0], xy[k][1] = p.Program(299*r.Float64(), 299*r.Float64())
		}
		sum, k := 0.0, 0
		for b.Loop() {
			h, _ := p.At(xy[k&1023][0], xy[k&1023][1])
			sum += h
			k++
		}
		sink = sum
	})
}

var sink float64

// A move across the whole grid, cut at its lines.
func BenchmarkAppendLineLong(b *testing.B) {
	benchMethods(b, func(b *testing.B, p *Placed) {
		dst := make([]Piece, 0, 10000)
		x0, y0 := p.Program(0.3, 0.2)
		x1, y1 := p.Program(298.7, 201.1)
		n := 0
		for b.Loop() {
			n += len(p.AppendLine(dst, x0, y0, x1, y1, 0.01, 0))
		}
		b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(n), "ns/piece")
	})
}

// A dot of a raster: 0.1 mm.
func BenchmarkAppendLineShort(b *testing.B) {
	benchMethods(b, func(b *testing.B, p *Placed) {
		dst := make([]Piece, 0, 10)
		for b.Loop() {
			dst = p.AppendLine(dst[:0], 100.1, 150.2, 100.2, 150.2, 0.01, 0)
		}
		if len(dst) != 1 {
			b.Fatalf("%d pieces", len(dst))
		}
	})
}

func BenchmarkAppendLineShortLateral(b *testing.B) {
	benchMethods(b, func(b *testing.B, p *Placed) {
		dst := make([]Piece, 0, 10)
		for b.Loop() {
			dst = p.AppendLine(dst[:0], 100.1, 150.2, 100.2, 150.2, 0.01, 0.0005)
		}
	})
}

// A whole circle of 50 mm radius.
func BenchmarkAppendArc(b *testing.B) {
	benchMethods(b, func(b *testing.B, p *Placed) {
		dst := make([]Piece, 0, 10000)
		cx, cy := p.Program(150, 150)
		n := 0
		for b.Loop() {
			n += len(p.AppendArc(dst, cx, cy, 50, 50, 0.3, 2*math.Pi, 0.01, 0))
		}
		b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(n), "ns/piece")
	})
}

func BenchmarkPlace(b *testing.B) {
	s := bumpy(b, 1000)
	for _, method := range []string{"bilinear", "bicubic"} {
		b.Run(method, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := Place(s, Placement{Method: method}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
