package fit

import (
	"fmt"
	"math"
	"math/rand"
	"slices"
	"strings"
	"testing"

	"sagitta/internal/surface"
	"sagitta/internal/surface/surfacetest"
)

// assumedSurface draws a grid over a surface that is known, and gives by how much reading
// it by a method is off at places all over.
func assumedSurface(tb testing.TB, r *rand.Rand, kind, method string, least, noise float64) (g *surface.Surface, off []float64) {
	tb.Helper()
	const w, h, places = 300, 200, 30
	nx, ny := int(least)+r.Intn(4), int(least)+r.Intn(4)
	at := func(length float64, n int) (v []float64) {
		for k := range n {
			v = append(v, length*float64(k)/float64(n-1))
		}
		return v
	}
	truth := surfacetest.Height(r, kind, w, h, 2*max(w/float64(nx-1), h/float64(ny-1)))
	x, y := at(w, nx), at(h, ny)
	var z []float64
	for _, b := range y {
		for _, a := range x {
			z = append(z, truth(a, b)+noise*r.NormFloat64())
		}
	}
	g, err := surface.New(x, y, z)
	if err != nil {
		tb.Fatal(err)
	}
	read, err := interpolated(g, method)
	if err != nil {
		tb.Fatal(err)
	}
	for k := range places * places {
		a, b := w*(float64(k%places)+0.5)/places, h*(float64(k/places)+0.5)/places
		off = append(off, math.Abs(read.At(a, b)-truth(a, b)))
	}
	return g, off
}

// assumedCase is what is found of many grids alike.
type assumedCase struct {
	beyond, places int       // more than twice what is assumed, of all
	ratios         []float64 // what is assumed, over the root mean square of what it is off by
}

func (c *assumedCase) draw(tb testing.TB, r *rand.Rand, kind, method string, least, noise float64) {
	tb.Helper()
	g, off := assumedSurface(tb, r, kind, method, least, noise)
	mm, err := Assume(g, method)
	if err != nil {
		tb.Fatal(err)
	}
	sum := 0.0
	for _, d := range off {
		sum += d * d
		if d > 2*mm {
			c.beyond++
		}
	}
	c.places += len(off)
	c.ratios = append(c.ratios, mm/math.Sqrt(sum/float64(len(off))))
}

func (c *assumedCase) part() float64 { return float64(c.beyond) / float64(c.places) }

// Twice what is assumed holds for nearly all places, and is not much more than that takes.
func TestAssumeCovers(t *testing.T) {
	r := rand.New(rand.NewSource(1))
	for _, method := range []string{"bilinear", "bicubic"} {
		for _, noise := range []float64{0, 0.03} {
			for _, kind := range surfacetest.Known {
				var c assumedCase
				for range 20 {
					c.draw(t, r, kind, method, 4, noise)
				}
				slices.Sort(c.ratios)
				if c.part() > 0.03 || method == "bilinear" && c.ratios[10] > 3 {
					t.Errorf("%s of a %s with noise of %v: %.1f %% of places are off by more than twice what is assumed, which is %.2f times what they are off by", method, kind, noise, 100*c.part(), c.ratios[10])
				}
			}
		}
	}
}

// BenchmarkAssume prints how well twice what is assumed covers, and how much it is.
func BenchmarkAssume(b *testing.B) {
	for _, method := range []string{"bilinear", "bicubic"} {
		for _, least := range []float64{4, 8, 14} {
			for _, noise := range []float64{0, 0.03} {
				b.Run(fmt.Sprintf("%s of %g to %g nodes, noise %g", method, least, least+3, noise), func(b *testing.B) {
					for b.Loop() {
						assumeTable(b, method, least, noise)
					}
				})
			}
		}
	}
}

func assumeTable(b *testing.B, method string, least, noise float64) {
	r := rand.New(rand.NewSource(1))
	fmt.Fprintln(b.Output(), "surface  beyond twice it  over what reading is off by: 5 %, median, 95 %")
	for _, kind := range surfacetest.Known {
		var c assumedCase
		const draws = 100
		for range draws {
			c.draw(b, r, kind, method, least, noise)
		}
		slices.Sort(c.ratios)
		fmt.Fprintf(b.Output(), "%-7s  %13.2f %%  %9.2f %9.2f %9.2f\n", kind, 100*c.part(), c.ratios[draws/20], c.ratios[draws/2], c.ratios[draws-1-draws/20])
	}
}

// The scatter that is found is that of the heights, whatever lies under it that is bent
// along either axis or twisted; and is known as well as its degrees of freedom say: the
// variance of a mean square is 2/free of its own square.
func TestScatterOf(t *testing.T) {
	r := rand.New(rand.NewSource(2))
	x, y := []float64{0, 10, 30, 45, 80}, []float64{0, 7, 30, 31, 60, 90, 100}
	const sigma, draws = 0.04, 4000
	var sum, squares, free float64
	for range draws {
		var z []float64
		for _, b := range y {
			for _, a := range x {
				z = append(z, 1e-3*a*a+math.Sin(b/9)+0.02*a*b+sigma*r.NormFloat64())
			}
		}
		g, err := surface.New(x, y, z)
		if err != nil {
			t.Fatal(err)
		}
		var sd float64
		sd, free = scatterOf(g)
		v := sd * sd / (sigma * sigma)
		sum, squares = sum+v, squares+v*v
	}
	mean := sum / draws
	if seen := 2 / (squares/draws - mean*mean); math.Abs(mean-1) > 0.03 || math.Abs(seen/free-1) > 0.1 {
		t.Errorf("%.3f of the variance, known as by %.2f degrees of freedom, not %.2f", mean, seen, free)
	}
}

// What too few heights leave open is not made up, and flat ones are as sure as their last
// decimal.
func TestAssumeEdges(t *testing.T) {
	nan := math.NaN()
	grid := func(nx, ny int, wraps float64, height func(i, j int) float64) *surface.Surface {
		var x, y, z []float64
		for i := range nx {
			x = append(x, 10*float64(i))
		}
		for j := range ny {
			y = append(y, 10*float64(j))
			for i := range nx {
				z = append(z, height(i, j))
			}
		}
		g, err := surface.New(x, y, z)
		if err == nil {
			g, err = g.WithHeader(surface.Header{WrapsYMM: wraps})
		}
		if err != nil {
			t.Fatal(err)
		}
		return g
	}
	flat := func(int, int) float64 { return 0 }
	holed := func(i, j int) float64 {
		if i == 1 && j == 1 {
			return nan
		}
		return 0
	}
	for _, c := range []struct {
		name string
		g    *surface.Surface
		want float64
		err  string
	}{
		{"2 x 2", grid(2, 2, 0, flat), 0, "2 nodes along x are too few"},
		{"3 x 9", grid(3, 9, 0, flat), 0, "3 nodes along x"},
		{"9 x 2", grid(9, 2, 0, flat), 0, "2 nodes along y"},
		{"a hole in the middle", grid(4, 4, 0, holed), 0, "too many heights are missing"},
		{"a hole among more", grid(6, 6, 0, holed), 0.0289, ""},
		{"flat", grid(4, 4, 0, flat), 0.0289, ""},
		{"tilted, to hundredths", grid(5, 5, 0, func(i, j int) float64 { return 0.13*float64(i) - 0.25*float64(j) }), 0.00289, ""},
		{"round", grid(4, 4, 40, func(_, j int) float64 { return []float64{0, 1, 0, -1}[j] }), math.Sqrt(1./3/8 + 0.01/12), ""}, // a third of the nodes left out are missed by 1

		{"the same, flat", grid(4, 4, 0, func(_, j int) float64 { return []float64{0, 1, 0, -1}[j] }), math.Sqrt(0.3/8 + 0.01/12), ""},
	} {
		mm, err := Assume(c.g, "")
		if c.err != "" {
			if err == nil || !strings.Contains(err.Error(), c.err) {
				t.Errorf("%s: %v, %v", c.name, mm, err)
			}
		} else if err != nil || math.Abs(mm-c.want) > 0.01*c.want {
			t.Errorf("%s: %v, %v, want %v", c.name, mm, err, c.want)
		}
	}
}
