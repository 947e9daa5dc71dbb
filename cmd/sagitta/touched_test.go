package main

import (
	"fmt"
	"math"
	"math/rand"
	"strings"
	"testing"

	"sagitta/internal/surface/surfacetest"
)

// drawTouched draws a job over a surface that was touched in n places, on a lattice or
// about its places, and has the tool make a surface of that.
func drawTouched(r *rand.Rand, dir, kind string, n int, lattice bool, rises, noise float64) *knownJob {
	nx := int(math.Round(math.Sqrt(knownWide / knownDeep * float64(n))))
	ny := n / nx
	dx, dy := knownWide/float64(nx-1), knownDeep/float64(ny-1)
	u := &knownJob{dir: dir, depth: []float64{0.3, 0.6, 1.5}[r.Intn(3)]}
	drawn := surfacetest.Height(r, kind, knownWide, knownDeep, 2*max(dx, dy))
	u.truth = func(x, y float64) float64 { return rises * drawn(x, y) }
	var b strings.Builder
	b.WriteString("x,y,z\n")
	for k := range nx * ny {
		x, y := dx*float64(k%nx), dy*float64(k/nx)
		if !lattice {
			x, y = x+dx*0.25*(2*r.Float64()-1), y+dy*0.25*(2*r.Float64()-1)
		}
		fmt.Fprintf(&b, "%.3f,%.3f,%.3f\n", x, y, u.truth(x, y)+noise*r.NormFloat64())
	}
	u.write("touches.csv", b.String())
	margin := 0.0
	if !lattice {
		margin = max(dx, dy) / 4
	}
	u.drawBurns(r, margin)
	u.run("surface", "touches.csv", "-o", "grid.csv")
	return u
}

// touchedNoises are standard deviations of a touch.
var touchedNoises = []float64{0, 0.01, 0.03}

// countTouched does jobs of a kind, each in some of the ways, and counts what is out.
func countTouched(r *rand.Rand, dir, kind string, n, jobs, ways int) *heldCount {
	var c heldCount
	for k := range jobs {
		u := drawTouched(r, dir, kind, n, k%2 == 0, unsaidRises[k%len(unsaidRises)], touchedNoises[k/3%len(touchedNoises)])
		for _, way := range unsaidWays[:ways] {
			c.count(u, way.flat, way.options...)
		}
	}
	return &c
}

// BenchmarkTouchedError prints how many jobs over touched surfaces hold, and which part of
// their burns is out of focus on the surface as it is.
func BenchmarkTouchedError(b *testing.B) {
	for b.Loop() {
		for _, n := range []int{12, 24} {
			for _, kind := range surfacetest.Known {
				r := rand.New(rand.NewSource(int64(n)))
				fmt.Fprintf(b.Output(), "%2d touches, %-6s %v\n", n, kind, countTouched(r, b.TempDir(), kind, n, 18, 3))
			}
		}
	}
}

// Of jobs over touched surfaces those that hold have hardly anything out of focus on the
// surface as it is, as BenchmarkTouchedError prints.
func TestTouchedErrorCovers(t *testing.T) {
	var all heldCount
	for k, kind := range surfacetest.Known {
		n := []int{12, 24}[k%2]
		c := countTouched(rand.New(rand.NewSource(int64(3+k))), t.TempDir(), kind, n, 4, 3)
		t.Logf("%d touches, %-6s %v", n, kind, c)
		all.add(c)
	}
	if all.over5 > all.jobs/20 || all.sum > 0.01*float64(all.hold) || all.hold < all.jobs/4 {
		t.Errorf("%v", &all)
	}
}
