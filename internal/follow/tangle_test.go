package follow

import (
	"bytes"
	"fmt"
	"math"
	"math/rand"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"sagitta/internal/bench"
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

// Verify must find no burn further from best focus than the run says that burns
// are, and not much nearer to it. The burns that the run tells of are those of
// the program, and so are the heights under them.
func TestTanglesStayWithin(t *testing.T) {
	drawn, followed, outer := 0, 0, t
	rapid.Check(t, func(t *rapid.T) {
		drawn++
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
		followed++
		if differs := burnsDiffer(outer, sum, w.b.String(), p); differs != "" {
			t.Fatal(differs)
		}
		within := max(sum.Part, opt.Use/2) + 1e-6 // verify takes no window without best focus
		half := opt.Decimal(false)
		res, err := verify.Run(&out, "followed", strings.NewReader(w.b.String()), "original", verify.Options{
			Bench: bench.Bench{Machine: machine.DefaultConfig(), ZPlusAway: true, DecimalsMM: 4, DecimalsInch: 6}, Surface: p,
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
	if followed < drawn/5 {
		t.Errorf("only %d programs of %d are followed", followed, drawn)
	}
}

// burnsDiffer holds what a run tells of the burns to their moves, and to heights
// that lie so close on them that none between is missed by much. It says what
// differs.
func burnsDiffer(t testing.TB, sum *Summary, text string, p *surface.Placed) string {
	t.Helper()
	const dl = 0.05
	burns, length := 0, 0.0
	ms := moves(t, text, machine.DefaultConfig())
	for i := range ms {
		if ms[i].Burn {
			burns++
			length += ms[i].Length
		}
	}
	low, high := math.Inf(1), math.Inf(-1)
	for _, s := range walk(ms, p, dl) {
		if s.burn {
			low, high = min(low, s.h), max(high, s.h)
		}
	}
	between := dl / 2 * p.MaxSlope()
	if sum.Burns != burns || math.Abs(sum.BurnLength-length) > 1e-6*(1+length) ||
		sum.Low.MM > low+told || sum.Low.MM < low-between-told || sum.High.MM < high-told || sum.High.MM > high+between+told {
		return fmt.Sprintf("%d burns, %g mm, from %g to %g; sampled %d, %g mm, from %g to %g",
			sum.Burns, sum.BurnLength, sum.Low.MM, sum.High.MM, burns, length, low, high)
	}
	return ""
}

// told in mm is within what the extremes under burns are told: between two gates
// the height may leave its chord by what certifies them.
const told = 0.01

// The highest and the lowest burn are told as they are, and where, though they
// lie within a run of arcs.
func TestExtremesUnderArcs(t *testing.T) {
	p := grid(t, 100, 40, 2, "", func(x, y float64) float64 {
		return 0.05*math.Exp(-((x-40)*(x-40)+(y-21)*(y-21))/200) - 0.05*math.Exp(-((x-75)*(x-75)+(y-19)*(y-19))/200)
	})
	var b strings.Builder
	b.WriteString("G21 G90 G0 X10 Y20\nM3 S9\nG1 F900 X12\nG2\n")
	for x := 15.0; x < 90; x += 3 {
		fmt.Fprintf(&b, "X%g I1.5\n", x)
	}
	b.WriteString("M5\nG0 X0 Y0\n")
	_, sum := mustRun(t, b.String(), testOptions(p, 1.5, 1.5, 0.5))
	if differs := burnsDiffer(t, sum, b.String(), p); differs != "" {
		t.Error(differs)
	}
	at, _ := p.At(sum.High.X, sum.High.Y)
	if sum.High.MM < 0.02 || sum.Low.MM > -0.02 || math.Abs(at-sum.High.MM) > told || math.Abs(sum.High.X-40) > 3 || sum.High.Line != 14 {
		t.Errorf("from %g to %g, the highest at X%g Y%g, line %d", sum.Low.MM, sum.High.MM, sum.High.X, sum.High.Y, sum.High.Line)
	}
}

// Burns stay within the part of the depth that is to be spent, not just within
// the depth.
func TestSpendsWhatIsAsked(t *testing.T) {
	p := wavySheet(t)
	for _, job := range timedJobs {
		text := jobText(t, job, 1<<19)
		for _, use := range []float64{0.3, 0.6} {
			const depth = 1.5
			opt := testOptions(p, depth, depth, use)
			opt.Defocus = use - 0.3
			out, sum := mustRun(t, string(text), opt)
			within := use*depth + opt.Decimal(false)
			res, err := verify.Run(strings.NewReader(out), "followed", bytes.NewReader(text), "original", verify.Options{
				Bench:   bench.Bench{Machine: machine.DefaultConfig(), ZPlusAway: true, DecimalsMM: 3, DecimalsInch: 5},
				Surface: p, Depth: focus.Depth{Near: within - opt.Defocus, Far: within + opt.Defocus}})
			if err != nil {
				t.Fatal(err)
			}
			if !res.Holds() {
				t.Errorf("%s, using %g: %+v", job.name, use, res.Failures[0])
			}
			if sum.Part > use+1e-6 {
				t.Errorf("%s, using %g: said to use %g", job.name, use, sum.Part)
			}
		}
	}
}
