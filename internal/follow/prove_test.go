package follow_test

import (
	"bytes"
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"sagitta/internal/focus"
	"sagitta/internal/follow"
	"sagitta/internal/machine"
	"sagitta/internal/surface"
	"sagitta/internal/verify"
)

// size is the side of the square that drawn programs stay in, in mm; far makes
// it so many times larger, so that a move can be 10 m long.
const (
	size = 60.0
	far  = 170
)

// pick is rapid.SampledFrom for short.
func pick[T any](t *rapid.T, label string, from ...T) T {
	return rapid.SampledFrom(from).Draw(t, label)
}

// drawSurface draws a sheet that covers the square, gentle or steep, even or
// uneven, with nodes where programs like to go.
func drawSurface(t *rapid.T, side float64) *surface.Placed {
	axis := func(label string) (v []float64) {
		v = append(v, -1)
		for v[len(v)-1] < side {
			v = append(v, v[len(v)-1]+side/size*pick(t, label, 0.5, 5, 11, 20, 33))
		}
		return v
	}
	x, y := axis("dx"), axis("dy")
	scale := pick(t, "scale", 0, 0.2, 1, 3)
	z := make([]float64, 0, len(x)*len(y))
	for range y {
		for range x {
			z = append(z, scale*rapid.Float64Range(-1, 1).Draw(t, "z"))
		}
	}
	s, err := surface.New(x, y, z)
	if err != nil {
		t.Fatal(err)
	}
	p, err := surface.Place(s, surface.Placement{Method: pick(t, "method", "bilinear", "bilinear", "bicubic")})
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// pen draws a program block by block.
type pen struct {
	t                *rapid.T
	side             float64
	b                strings.Builder
	x, y             float64 // mm, as the controller has them
	rel, inch, lower bool
	inverse          bool
	digits           int
}

func (p *pen) line(format string, args ...any) {
	s := fmt.Sprintf(format, args...)
	if p.lower {
		s = strings.ToLower(s)
	}
	p.b.WriteString(s + pick(p.t, "eol", "\n", "\n", "\r\n", " ; why\n", "(what)\n"))
}

// xy gives the words to go to a place, and goes there.
func (p *pen) xy(x, y float64) string {
	unit := 1.0
	if p.inch {
		unit = 25.4
	}
	x, y = math.Max(0, math.Min(p.side, x)), math.Max(0, math.Min(p.side, y))
	nx, ny := x/unit, y/unit
	if p.rel {
		nx, ny = (x-p.x)/unit, (y-p.y)/unit
	}
	q := math.Pow10(p.digits)
	nx, ny = math.Round(nx*q)/q, math.Round(ny*q)/q
	if p.rel {
		p.x, p.y = p.x+nx*unit, p.y+ny*unit
	} else {
		p.x, p.y = nx*unit, ny*unit
	}
	return fmt.Sprintf("X%.*f Y%.*f", p.digits, nx, p.digits, ny)
}

func (p *pen) feedWord(length float64) string {
	if p.inverse {
		return fmt.Sprintf(" F%.4f", pick(p.t, "speed", 900.0, 3000)/math.Max(length, 0.01))
	}
	f := pick(p.t, "f", 0, 0, 300.0, 1500, 6000)
	if f == 0 {
		return ""
	}
	if p.inch {
		return fmt.Sprintf(" F%.1f", f/25.4)
	}
	return fmt.Sprintf(" F%g", f)
}

// to draws a place to go: near, far, along a grid line, or a hair away.
func (p *pen) to() (x, y float64) {
	switch pick(p.t, "reach", "far", "far", "near", "hair", "along") {
	case "near":
		return p.x + rapid.Float64Range(-2, 2).Draw(p.t, "x"), p.y + rapid.Float64Range(-2, 2).Draw(p.t, "y")
	case "hair":
		return p.x + pick(p.t, "hx", 0.001, -0.001, 0.05, 0.1), p.y
	case "along":
		return rapid.Float64Range(0, p.side).Draw(p.t, "x"), p.y
	}
	return rapid.Float64Range(0, p.side).Draw(p.t, "x"), rapid.Float64Range(0, p.side).Draw(p.t, "y")
}

func (p *pen) arc() {
	unit := 1.0
	if p.inch {
		unit = 25.4
	}
	r := pick(p.t, "r", 0.2, 3, 10.0)
	cx := math.Max(r, math.Min(p.side-r, p.x+r))
	if math.Abs(cx-p.x) < 0.05 {
		return
	}
	dir := pick(p.t, "dir", "G2", "G3")
	// A half circle about a centre beside the start, or a full one.
	r = math.Abs(cx - p.x)
	if p.y < r || p.y > p.side-r {
		return
	}
	i := math.Round((cx-p.x)/unit*1e5) / 1e5
	length := math.Pi * r
	switch pick(p.t, "arc", "full", "half", "R") {
	case "full":
		p.line("%s I%.5f J0%s", dir, i, p.feedWord(2*length))
	case "half":
		x0 := p.x
		words := fmt.Sprintf("X%.5f Y%.5f", 2*i+x0/unit, p.y/unit)
		if p.rel {
			words = fmt.Sprintf("X%.5f", 2*i)
		}
		p.x = x0 + 2*i*unit
		p.line("%s %s I%.5f%s", dir, words, i, p.feedWord(length))
	case "R":
		x0 := p.x
		p.line("%s %s R%.4f%s", dir, p.xy(x0+1.2*(cx-x0), p.y), r/unit, p.feedWord(length))
	}
	p.line("G1 F%d", map[bool]int{false: 2000, true: 80}[p.inch])
}

// drawProgram draws a job of a few figures.
func drawProgram(t *rapid.T, side float64) string {
	p := &pen{t: t, side: side, inch: pick(t, "inch", false, false, true), lower: rapid.Bool().Draw(t, "lower")}
	p.digits = 3
	if p.inch {
		p.digits = 5
	}
	p.line("G17 G90 G94 %s", map[bool]string{false: "G21", true: "G20"}[p.inch])
	p.line("M5")
	p.line("G0 %s", p.xy(p.to()))
	p.line("F%d", map[bool]int{false: 2000, true: 80}[p.inch])
	for n := rapid.IntRange(1, 4).Draw(t, "figures"); n > 0; n-- {
		if rapid.Bool().Draw(t, "retract") {
			if p.rel {
				p.line("G0 Z2")
				p.line("G0 %s", p.xy(p.to()))
				p.line("Z-2")
			} else {
				p.line("G0 Z2")
				p.line("G0 %s", p.xy(p.to()))
				p.line("Z0")
			}
		} else {
			p.line("G0 %s", p.xy(p.to()))
		}
		p.line("%s S%d", pick(t, "on", "M3", "M4"), rapid.IntRange(1, 999).Draw(t, "s"))
		p.line("G1")
		for k := rapid.IntRange(1, 6).Draw(t, "burns"); k > 0; k-- {
			switch pick(t, "block", "line", "line", "line", "arc", "dwell", "blank", "mode", "inverse") {
			case "line":
				p.line("G1 %s%s", p.xy(p.to()), p.feedWord(10))
			case "arc":
				p.arc()
			case "dwell":
				p.line("G4 P0.2")
			case "blank":
				p.line("S0")
				p.line("G1 %s", p.xy(p.to()))
				p.line("S%d", rapid.IntRange(1, 999).Draw(t, "s"))
			case "mode":
				p.rel = !p.rel
				p.line("%s", map[bool]string{true: "G91", false: "G90"}[p.rel])
			case "inverse":
				p.line("G93")
				p.inverse = true
				p.line("G1 %s%s", p.xy(p.to()), p.feedWord(10))
				p.inverse = false
				p.line("G94 F%d", map[bool]int{false: 2000, true: 80}[p.inch])
			}
		}
		p.line("M5")
	}
	if rapid.Bool().Draw(t, "home") {
		p.line("G90")
		p.rel = false
		p.line("G0 X0 Y0")
	}
	if rapid.Bool().Draw(t, "end") {
		p.line("M2")
	}
	return p.b.String()
}

// TestFollowedProgramsVerify: whatever is followed, the independent check
// proves, against its original.
func TestFollowedProgramsVerify(t *testing.T) {
	done, refused := 0, 0
	// A run of the checker draws from small programs to large; several runs
	// reach the rare ones.
	const runs = 12
	for range runs {
		rapid.Check(t, func(t *rapid.T) { proveDrawn(t, &done, &refused) })
	}
	t.Logf("%d followed, %d refused", done, refused)
	if done < refused/4 {
		t.Errorf("too many refused to prove anything: %d of %d", refused, done+refused)
	}
}

// proveDrawn draws a surface, a program and options, follows and proves.
func proveDrawn(t *rapid.T, done, refused *int) {
	side := size * pick(t, "side", 1.0, 1, 1, 1, 1, far)
	p, text := drawSurface(t, side), drawProgram(t, side)
	depth := focus.Depth{Near: pick(t, "near", 0.2, 0.6, 1.5, 4), Far: pick(t, "far", 0.3, 0.6, 2, 4)}
	const half = 0.0005
	opt := follow.Options{
		Name: "drawn", Machine: machine.DefaultConfig(), Surface: p,
		Depth: focus.Depth{Near: depth.Near - half, Far: depth.Far - half},
		Use:   pick(t, "use", 0.1, 0.5, 1), Defocus: pick(t, "defocus", 0, 0, 0, -0.4, 1),
		Slow: pick(t, "slow", follow.SlowNever, follow.SlowScaled, follow.SlowBurns), Slowest: 0.5,
		ZPlusAway: rapid.Bool().Draw(t, "away"), ZMoves: pick(t, "zmoves", follow.Always, follow.Always, follow.BeamOff, follow.ByHand),
		ZRate: pick(t, "rate", 0, 0, 0.5, 5, 50), DecimalsMM: 3, DecimalsInch: 5, Comments: true,
		Marker: "sagitta 0 follow --use", Window: pick(t, "window", 0, 0, 8, 40),
		Rehearsal: pick(t, "rehearsal", false, false, false, true),
	}
	if z := pick(t, "zmax", 0, 0, 0, 3.0, 4); z > 0 {
		low := -z
		opt.ZMax, opt.ZMin = &z, &low
	}
	if opt.ZMoves == follow.ByHand {
		opt.Defocus = 0
	}
	var out bytes.Buffer
	sum, err := follow.Run(strings.NewReader(text), &out, opt)
	var unmet *follow.UnmetError
	if errors.As(err, &unmet) {
		*refused++
		return
	}
	if err != nil {
		t.Fatalf("%v\n%s", err, text)
	}
	*done++
	res, err := verify.Run(&out, "followed", strings.NewReader(text), "original", verify.Options{
		Machine: opt.Machine, Surface: p, Depth: depth, DefocusMM: opt.Defocus, ZPlusAway: opt.ZPlusAway,
		Slow: verify.Slow(opt.Slow), Slowest: 0.5, DecimalsMM: 3, DecimalsInch: 5,
		ZMoves: verify.ZMoves(opt.ZMoves), ZRateMMMin: opt.ZRate * 60, Rehearsal: opt.Rehearsal,
		ZMinMM: opt.ZMin, ZMaxMM: opt.ZMax,
	})
	if err != nil {
		t.Fatalf("%v\n%s", err, text)
	}
	if !res.Holds() {
		again := bytes.Buffer{}
		_, _ = follow.Run(strings.NewReader(text), &again, opt)
		t.Fatalf("%v\noptions %+v\n--- original\n%s--- followed\n%s", res.Failures, opt, text, again.String())
	}
	if opt.ZMoves != follow.ByHand && !opt.Rehearsal {
		checkSpent(t, sum, res, opt, text)
	}
}

// checkSpent holds the depth that the summary says is spent against what the
// independent check finds: the worst side is bounded, and closely. (What the
// heights beside a move take off a cut one is all that lies between.)
func checkSpent(t *rapid.T, sum *follow.Summary, res *verify.Result, opt follow.Options, text string) {
	const (
		written = 0.0005 + 1e-6 // half the last decimal
		beside  = 0.003         // how far beside a cut move its bounds hold, both ways
	)
	found := res.Defocus.MM
	said, part := sum.Far, found/opt.Depth.Far
	if found < 0 {
		found, said, part = -found, sum.Near, -found/opt.Depth.Near
	}
	if found > said+written {
		t.Fatalf("a defocus of %.5f mm, said to be %.5f at most", res.Defocus.MM, said)
	}
	if most := max(sum.Near, sum.Far); found < most-0.02*(opt.Depth.Near+opt.Depth.Far)-written-beside*opt.Surface.MaxSlope() {
		t.Fatalf("a defocus of %.5f mm, said to be -%.5f to %.5f\n%s", res.Defocus.MM, sum.Near, sum.Far, text)
	}
	if part > sum.Part+written/min(opt.Depth.Near, opt.Depth.Far) || sum.Part > 1+1e-4 {
		t.Fatalf("%.4f of the depth spent, said to be %.4f", part, sum.Part)
	}
}
