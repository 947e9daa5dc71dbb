// Package fittest draws touches for tests, and reads those of their files.
package fittest

import (
	"math"
	"math/rand/v2"
	"os"
	"strconv"
	"strings"
	"testing"

	"sagitta/internal/surface"
)

// Height gives heights in mm.
type Height func(x, y float64) float64

// Sag is how far an arc of curvature k has fallen at distance w from its top.
func Sag(k, w float64) float64 { return k * w * w / (1 + math.Sqrt(1-k*k*w*w)) }

// Cone is one about the x axis, of radius r at x = 0, growing by taper, and leaning.
func Cone(r, taper, lean float64) Height {
	return func(x, y float64) float64 {
		a := r + taper*x
		return math.Sqrt(a*a-y*y) + lean*x
	}
}

// Lattice touches a surface at nx by ny places of 300 by 200 mm, with noise.
func Lattice(nx, ny int, z Height, noise float64, r *rand.Rand) []surface.Point {
	var p []surface.Point
	for j := range ny {
		for i := range nx {
			x, y := 300*float64(i)/float64(nx-1), 200*float64(j)/float64(ny-1)
			p = append(p, surface.Point{X: x, Y: y, Z: z(x, y) + noise*r.NormFloat64(), Line: len(p) + 1})
		}
	}
	return p
}

// Round touches a round at places of w by h mm about its top, which lies at 200, 50, with
// noise.
func Round(shape Height, w, h float64, nx, ny int, noise float64, r *rand.Rand) []surface.Point {
	var p []surface.Point
	for j := range ny {
		for i := range nx {
			x, y := w*(float64(i)/float64(nx-1)-0.5), h*(float64(j)/float64(ny-1)-0.5)
			if z := shape(x, y); z == z {
				p = append(p, surface.Point{X: x + 200, Y: y + 50, Z: z + noise*r.NormFloat64(), Line: len(p)})
			}
		}
	}
	return p
}

// Rows reads the rows of a file of testdata below its comments and its head, as texts.
func Rows(t testing.TB, name string) (rows [][]string) {
	t.Helper()
	text, err := os.ReadFile("testdata/" + name)
	if err != nil {
		t.Fatal(err)
	}
	for line := range strings.Lines(string(text)) {
		if line = strings.TrimSpace(line); line != "" && line[0] != '#' {
			rows = append(rows, strings.Split(line, ","))
		}
	}
	return rows[1:]
}

// Numbers are the fields of a row from the k-th on.
func Numbers(t testing.TB, row []string, k int) (v []float64) {
	t.Helper()
	for _, s := range row[k:] {
		f, err := strconv.ParseFloat(s, 64)
		if err != nil {
			t.Fatal(err)
		}
		v = append(v, f)
	}
	return v
}
