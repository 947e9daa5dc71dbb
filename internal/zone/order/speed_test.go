package order

import (
	"fmt"
	"math"
	"testing"
)

// raster is rows over a cylinder whose crown lies along y: each zone is a strip on
// both sides of it. Around it goes a circle, again in pieces.
func raster(rows, zones int, serpentine bool) *Job {
	const width = 200.0
	o := Options{Side: func(zone int, x, _ float64) int {
		if zone > 0 && x > 0 {
			return 1
		}
		return 0
	}}
	for z := range zones {
		o.Rank = append(o.Rank, z)
		o.Lens = append(o.Lens, 0)
	}
	j := New(o)
	strip := width / float64(2*zones-1)
	for r := range rows {
		y := 0.1 * float64(r)
		for k := range 2*zones - 1 {
			x := -width/2 + strip*float64(k)
			z := zones - 1 - k
			if z < 0 {
				z = -z
			}
			j.Piece(z, r, false)
			if serpentine && r%2 == 1 {
				j.Line(-x, y, -x-strip, y)
			} else {
				j.Line(x, y, x+strip, y)
			}
		}
	}
	high := 0.1 * float64(rows)
	for k := range 2 * zones {
		j.Piece((k+zones/2)%zones, rows, false)
		a := 2 * math.Pi * float64(k) / float64(2*zones)
		j.Arc(0, high/2, high+width, high+width, a, math.Pi/float64(zones))
	}
	return j
}

func BenchmarkRaster(b *testing.B) {
	for _, n := range []int{1000, 25_000} {
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				j := raster(n, 20, n == 1000)
				r := j.Order()
				b.ReportMetric(float64(j.Len()), "pieces")
				b.ReportMetric(float64(len(r.Visits)), "visits")
				if r.Original != "" {
					b.Fatal(r.Original)
				}
			}
		})
	}
}

// Squares of hatch, one across the other, in many zones.
func BenchmarkHatch(b *testing.B) {
	for b.Loop() {
		const n, zones = 600, 10
		o := Options{}
		for z := range zones {
			o.Rank, o.Lens = append(o.Rank, z), append(o.Lens, 0)
		}
		j := New(o)
		for f := range 2 * n {
			for z := range zones {
				c, x := 0.1*float64(f%n), 6*float64(z)
				j.Piece(z, f, false)
				if f < n {
					j.Line(x, c, x+6, c)
				} else {
					j.Line(c, x, c, x+6)
				}
			}
		}
		r := j.Order()
		b.ReportMetric(float64(len(r.Visits)), "visits")
		if r.Original != "" {
			b.Fatal(r.Original)
		}
	}
}
