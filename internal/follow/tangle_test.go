package follow

import (
	"bytes"
	"fmt"
	"io"
	"math"
	"math/rand"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"sagitta/internal/focus"
	"sagitta/internal/machine"
	"sagitta/internal/surface"
	"sagitta/internal/verify"
)

// tangle is a program of some hundred arcs and short lines that stays within
// 60 mm of 0, 0.
type tangle struct {
	r        *rand.Rand
	b        strings.Builder
	x, y     float64
	relative bool
	perMM    float64 // units
	decimals int
}

func (w *tangle) number(v float64) string {
	return fmt.Sprintf("%.*f", w.decimals, v*w.perMM)
}

// round is what a number says, in mm.
func (w *tangle) round(v float64) float64 {
	unit := w.perMM * math.Pow10(w.decimals)
	return math.Round(v*unit) / unit
}

// line appends a line or an arc of about a size in mm, and reports whether it
// did.
func (w *tangle) line(size float64) bool {
	r := w.r
	radius, a := size*(0.2+r.Float64()), 2*math.Pi*r.Float64()
	i, j := w.round(radius*math.Cos(a)), w.round(radius*math.Sin(a))
	turned := a + math.Pi + 6*r.Float64()
	dx, dy := w.round(i+radius*math.Cos(turned)), w.round(j+radius*math.Sin(turned))
	if math.Hypot(w.x+dx, w.y+dy) > 60-2*size || dx == 0 && dy == 0 {
		return false
	}
	x, y := w.x+dx, w.y+dy
	words := "X" + w.number(x) + " Y" + w.number(y)
	if w.relative {
		words = "X" + w.number(dx) + " Y" + w.number(dy)
	}
	switch kind := r.Intn(12); {
	case kind < 7:
		if math.Abs(math.Hypot(i, j)-math.Hypot(dx-i, dy-j)) > 0.0015 {
			return false
		}
		words = "G3 " + words + " I" + w.number(i) + " J" + w.number(j)
	case kind == 7: // a full turn
		words = "G2 X" + w.number(w.x) + " I" + w.number(i) + " J" + w.number(j)
		if w.relative {
			words = "G2 X0 I" + w.number(i) + " J" + w.number(j)
		}
		x, y = w.x, w.y
	case kind < 11:
		words = "G1 " + words
	default:
		words = "G1 " + words + [...]string{" S0", " S0", " S500"}[r.Intn(3)]
	}
	w.b.WriteString(words + "\n")
	w.x, w.y = w.round(x), w.round(y)
	return true
}

// Where heights are only bounded, verify must find no burn further from best
// focus than the run says that burns are, and not much nearer to it, and it must tell of the burns what it
// tells where all heights are known.
func TestTanglesStayWithin(t *testing.T) {
	bounded := 0
	rapid.Check(t, func(t *rapid.T) {
		r := rand.New(rand.NewSource(rapid.Int64().Draw(t, "seed")))
		bow, wave, long := 4*r.Float64(), 0.4*r.Float64(), 4+20*r.Float64()
		var node [2][]float64
		for axis := range node {
			for v := -70.0; v <= 70; v += 1 + 9*r.Float64() {
				node[axis] = append(node[axis], v)
			}
			node[axis] = append(node[axis], 71)
		}
		var z []float64
		for _, y := range node[1] {
			for _, x := range node[0] {
				z = append(z, bow*(1-(x*x+y*y)/5000)+wave*math.Sin(x/long)*math.Cos(y/long+1))
			}
		}
		s, err := surface.New(node[0], node[1], z)
		if err != nil {
			t.Fatal(err)
		}
		p, err := surface.Place(s, surface.Placement{RotateDeg: 360 * r.Float64(), Raw: true,
			Method: rapid.SampledFrom([]string{"bilinear", "bilinear", "bicubic"}).Draw(t, "method")})
		if err != nil {
			t.Fatal(err)
		}
		w := &tangle{r: r, relative: rapid.Bool().Draw(t, "relative"), perMM: 1, decimals: 4}
		units, feed := "G21", "F1200"
		if rapid.IntRange(0, 3).Draw(t, "inches") == 0 {
			w.perMM, w.decimals, units, feed = 1/25.4, 6, "G20", "F60"
		}
		size := rapid.SampledFrom([]float64{0.3, 1, 3, 9}).Draw(t, "size")
		w.b.WriteString(units + " G90\nG0 X0 Y0\nM4 S300\nG1 " + feed + "\n")
		if w.relative {
			w.b.WriteString("G91\n")
		}
		for n := rapid.IntRange(1, 700).Draw(t, "lines"); n > 0; n-- {
			w.line(size)
		}
		w.b.WriteString("M5\nG90\nG0 X0 Y0\n")
		opt := testOptions(p, 0.3+2*r.Float64(), 0.3+2*r.Float64(), rapid.SampledFrom([]float64{0.3, 0.5, 0.9}).Draw(t, "use"))
		opt.DecimalsMM, opt.DecimalsInch = 4, 6
		if rapid.Bool().Draw(t, "defocus") {
			opt.Defocus = 0.3 * opt.Use * min(opt.Depth.Near, opt.Depth.Far) * (2*r.Float64() - 1)
		}
		opt.Window = rapid.SampledFrom([]int{0, 0, 64, 500}).Draw(t, "window")
		var out bytes.Buffer
		sum, err := Run(strings.NewReader(w.b.String()), &out, opt)
		if err != nil {
			return // more than the depth, at one place
		}
		bounded++
		opt.exact = true
		if want, err := Run(strings.NewReader(w.b.String()), io.Discard, opt); err != nil || sum.Burns != want.Burns ||
			math.Abs(sum.BurnLength-want.BurnLength) > 1e-9*want.BurnLength || math.Abs(sum.Low-want.Low) > 1e-9 || math.Abs(sum.High-want.High) > 1e-9 {
			t.Fatalf("%d burns, %g mm, from %g to %g; with all heights %d, %g mm, from %g to %g, %v", sum.Burns, sum.BurnLength, sum.Low, sum.High,
				want.Burns, want.BurnLength, want.Low, want.High, err)
		}
		within := max(sum.Part, opt.Use/2) + 1e-6 // verify takes no window without best focus
		half := opt.Decimal(false)
		res, err := verify.Run(&out, "followed", strings.NewReader(w.b.String()), "original", verify.Options{
			Machine: machine.DefaultConfig(), Surface: p, ZPlusAway: true, DecimalsMM: 4, DecimalsInch: 6,
			Depth: focus.Depth{Near: within*opt.Depth.Near + half - opt.Defocus, Far: within*opt.Depth.Far + half + opt.Defocus}})
		if err != nil {
			t.Fatal(err)
		}
		if found, said := math.Abs(res.Defocus.MM), max(sum.Near, sum.Far); opt.Defocus == 0 &&
			found < said-0.02*(opt.Depth.Near+opt.Depth.Far)-half-0.003*p.MaxSlope() {
			t.Fatalf("a defocus of %g mm, said to be from -%g to %g, with depth %+v", res.Defocus.MM, sum.Near, sum.Far, opt.Depth)
		}
		for _, fail := range res.Failures {
			if fail.Kind != verify.NotClear { // which may take the whole depth
				t.Fatalf("said to use %g, of %g: %+v\n%s", sum.Part, opt.Use, fail, w.b.String())
			}
		}
	})
	if bounded < 20 {
		t.Errorf("only %d programs are followed", bounded)
	}
}
