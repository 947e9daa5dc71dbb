package main

import (
	"fmt"
	"math/rand"
	"strings"
	"testing"

	"sagitta/internal/surface/surfacetest"
)

// drawUnsaid draws a job in a folder whose grid of few nodes does not say how sure its
// heights are, on a surface that rises so many times more than drawn.
func drawUnsaid(r *rand.Rand, dir, kind string, rises, noise float64) *knownJob {
	nx, ny := 4+r.Intn(4), 4+r.Intn(4)
	u := &knownJob{dir: dir, depth: 1.5}
	drawn := surfacetest.Height(r, kind, knownWide, knownDeep, 2*max(knownWide/float64(nx-1), knownDeep/float64(ny-1)))
	u.truth = func(x, y float64) float64 { return rises * drawn(x, y) }
	var b strings.Builder
	b.WriteString("y\\x")
	for i := range nx {
		fmt.Fprintf(&b, ",%.3f", knownWide*float64(i)/float64(nx-1))
	}
	for j := range ny {
		y := knownDeep * float64(j) / float64(ny-1)
		fmt.Fprintf(&b, "\n%.3f", y)
		for i := range nx {
			fmt.Fprintf(&b, ",%.3f", u.truth(knownWide*float64(i)/float64(nx-1), y)+noise*r.NormFloat64())
		}
	}
	u.write("grid.csv", b.String()+"\n")
	u.drawBurns(r, 0)
	return u
}

// unsaidRises are by how much surfaces rise more than drawn: little, as drawn, and much.
var unsaidRises = []float64{0.4, 1, 3}

// unsaidWays are runs of each such job, by what follows the surface.
var unsaidWays = []struct {
	name    string
	flat    bool
	options []string
}{
	{"flat", true, nil}, {"followed", false, nil}, {"followed, the whole depth used", false, []string{"--use", "1"}},
	{"followed by bicubic reading, the whole depth used", false, []string{"--use", "1", "--method", "bicubic"}},
	{"followed by a slow axis", false, []string{"--z-rate", "120"}},
}

// Of jobs over measured grids of 4 to 7 nodes across that do not say how sure their heights
// are, those that hold have less than a hundredth of the burned length out of focus on the
// surface as it is. Were the heights taken to be exact, some had much more.
func TestUnsaidErrorCovers(t *testing.T) {
	r := rand.New(rand.NewSource(1))
	var assumed, exact heldCount
	for k := range 12 {
		u := drawUnsaid(r, t.TempDir(), surfacetest.Known[k%len(surfacetest.Known)], unsaidRises[k%len(unsaidRises)], 0.03*float64(k%2))
		for _, way := range unsaidWays[:3] {
			assumed.count(u, way.flat, way.options...)
		}
		exact.count(u, false, "--use", "1", "--surface-error", "0")
	}
	if assumed.over1 > 0 || assumed.hold < assumed.jobs/3 {
		t.Errorf("assumed: %v", &assumed)
	}
	if exact.over1 == 0 {
		t.Errorf("taken as exact: %v: these jobs tell nothing", &exact)
	}
}

// BenchmarkUnsaidError prints how many jobs hold, and which part of their burns is out of
// focus on the surface as it is, with heights taken as exact and with what is assumed of
// them.
func BenchmarkUnsaidError(b *testing.B) {
	for _, way := range unsaidWays {
		for _, error := range [][]string{{"--surface-error", "0"}, nil} {
			b.Run(way.name+map[bool]string{true: ", assumed", false: ", exact"}[error == nil], func(b *testing.B) {
				for b.Loop() {
					r, dir := rand.New(rand.NewSource(1)), b.TempDir()
					for _, kind := range surfacetest.Known {
						var c heldCount
						for k := range 30 {
							u := drawUnsaid(r, dir, kind, unsaidRises[k%len(unsaidRises)], 0.03*float64(k%2))
							c.count(u, way.flat, append(error, way.options...)...)
						}
						fmt.Fprintf(b.Output(), "%-6s %v\n", kind, &c)
					}
				}
			})
		}
	}
}
