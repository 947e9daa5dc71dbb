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
	"sagitta/internal/surface/surfacetest"
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
	method := pick(t, "method", "bilinear", "bilinear", "bicubic")
	return surfacetest.Of(t, method, x, y, func(_, _ float64) float64 { return scale * rapid.Float64Range(-1, 1).Draw(t, "z") })
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
	// ox, oy and oz are the offsets of G92 in mm, z is Z as programmed.
	ox, oy, oz, z float64
	absArcs       bool
	axis          string // moves the focus
	on, off       []string
	// Lines carry numbers and checksums.
	number        int
	step          int
	numbers, sums bool
}

func (p *pen) line(format string, args ...any) {
	s := fmt.Sprintf(format, args...)
	if p.lower {
		s = strings.ToLower(s)
	}
	if p.numbers {
		p.number += p.step
		s = fmt.Sprintf("N%d %s", p.number, s)
	}
	if p.sums {
		sum := byte(0)
		for _, c := range []byte(s) {
			sum ^= c
		}
		s += fmt.Sprintf("*%d", sum)
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
	nx, ny := (x-p.ox)/unit, (y-p.oy)/unit
	if p.rel {
		nx, ny = (x-p.x)/unit, (y-p.y)/unit
	}
	q := math.Pow10(p.digits)
	nx, ny = math.Round(nx*q)/q, math.Round(ny*q)/q
	if p.rel {
		p.x, p.y = p.x+nx*unit, p.y+ny*unit
	} else {
		p.x, p.y = nx*unit+p.ox, ny*unit+p.oy
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
		p.line("%s %s%s", dir, p.centre(i), p.feedWord(2*length))
	case "half":
		x0 := p.x
		words := fmt.Sprintf("X%.5f Y%.5f", 2*i+(x0-p.ox)/unit, (p.y-p.oy)/unit)
		centre := p.centre(i)
		if p.rel {
			words = fmt.Sprintf("X%.5f", 2*i)
		}
		p.x = x0 + 2*i*unit
		p.line("%s %s %s%s", dir, words, centre, p.feedWord(length))
	case "R":
		x0 := p.x
		p.line("%s %s R%.4f%s", dir, p.xy(x0+1.2*(cx-x0), p.y), r/unit, p.feedWord(length))
	}
	p.line("G1 F%d", map[bool]int{false: 2000, true: 80}[p.inch])
}

// centre gives I and J of an arc whose centre is i from its start along X.
func (p *pen) centre(i float64) string {
	if !p.absArcs {
		return fmt.Sprintf("I%.5f J0", i)
	}
	unit := 1.0
	if p.inch {
		unit = 25.4
	}
	return fmt.Sprintf("I%.7f J%.7f", i+(p.x-p.ox)/unit, (p.y-p.oy)/unit)
}

// zTo gives the word that takes Z to a height.
func (p *pen) zTo(z float64) string {
	unit := 1.0
	if p.inch {
		unit = 25.4
	}
	n := (z - p.oz) / unit
	if p.rel {
		n = (z - p.z) / unit
	}
	q := math.Pow10(p.digits)
	n = math.Round(n*q) / q
	if p.rel {
		p.z += n * unit
	} else {
		p.z = n*unit + p.oz
	}
	return fmt.Sprintf("%s%.*f", p.axis, p.digits, n)
}

// offset draws a G92 or a word that takes one away or back; to know where
// that leads, it says anew what it may have changed.
func (p *pen) offset() {
	unit := 1.0
	if p.inch {
		unit = 25.4
	}
	v := func(label string) float64 { return math.Round(rapid.Float64Range(-3, 3).Draw(p.t, label)*1000) / 1000 }
	switch pick(p.t, "offset", "X", "XY", "Z", "Z", "none") {
	case "X":
		a := v("a")
		p.line("G92 X%.3f", a)
		p.ox = p.x - a*unit
	case "XY":
		a, b := v("a"), v("b")
		p.line("G92 X%.3f Y%.3f", a, b)
		p.ox, p.oy = p.x-a*unit, p.y-b*unit
	case "Z":
		a := v("a")
		p.line("G92 %s%.3f", p.axis, a)
		p.oz = p.z - a*unit
	case "none":
		p.line("%s", pick(p.t, "none", "G92.1", "G92.2"))
		p.ox, p.oy, p.oz = 0, 0, 0
	}
}

// away draws travels to places that only the machine knows, with the beam
// off, and back.
func (p *pen) away() {
	abs := func() {
		if p.rel {
			p.rel = false
			p.line("G90")
		}
	}
	if pick(p.t, "by", "home", "machine") == "machine" {
		what := pick(p.t, "what", p.axis+"0", "X0 Y0", "X0 Y0 "+p.axis+"0")
		p.line("G53 G0 %s", what)
		if what != p.axis+"0" {
			abs()
		}
		if what != "X0 Y0" {
			abs()
			if rapid.Bool().Draw(p.t, "first") {
				p.line("G0 %s", p.zTo(rapid.Float64Range(0, 1).Draw(p.t, "z")))
				p.line("G0 %s", p.xy(p.to()))
				p.line("G0 %s", p.zTo(0))
				return
			}
			p.line("G0 %s", p.xy(p.to()))
			p.line("G0 %s", p.zTo(0))
			return
		}
		p.line("G0 %s", p.xy(p.to()))
		return
	}
	switch pick(p.t, "named", "all", "Z", "X") {
	case "all":
		p.line("%s", pick(p.t, "g", "G28", "G30"))
	case "Z":
		if p.rel {
			p.line("G28 %s0", p.axis)
		} else {
			p.line("G28 %s5", p.axis)
		}
		abs()
		p.line("G0 %s", p.xy(p.to()))
		p.line("G0 %s", p.zTo(0))
		return
	case "X":
		p.line("G28 X1")
		abs()
		p.line("G0 %s", p.xy(p.to()))
		return
	}
	abs()
	if rapid.Bool().Draw(p.t, "one by one") {
		p.line("G0 X%.3f", -p.ox/map[bool]float64{false: 1, true: 25.4}[p.inch])
		p.x = 0
	}
	p.line("G0 %s %s", p.xy(p.to()), p.zTo(0))
}

// drawProgram draws a job of a few figures.
func drawProgram(t *rapid.T, side float64) *pen {
	p := &pen{t: t, side: side, inch: pick(t, "inch", false, false, true), lower: rapid.Bool().Draw(t, "lower")}
	p.digits = 3
	if p.inch {
		p.digits = 5
	}
	p.axis, p.on, p.off = "Z", []string{"M3", "M4"}, []string{"M5"}
	if pick(t, "bench", false, false, true) {
		p.axis, p.on, p.off = pick(t, "axis", "U", "V", "W", "A"), []string{"M106"}, []string{"M107"}
	}
	p.numbers, p.sums, p.step = rapid.Bool().Draw(t, "numbers"), rapid.Bool().Draw(t, "sums"), pick(t, "step", 1, 10)
	p.b.WriteString(pick(t, "number", "", "", "O100\n", "$32=1\n", ":7 (part)\r\n"))
	p.line("M117 it's 5*3")
	work := pick(t, "work", "G54", "G55")
	p.line("%s", work)
	p.line("G17 G90 G94 %s", map[bool]string{false: "G21", true: "G20"}[p.inch])
	p.line("%s", p.off[0])
	if rapid.Bool().Draw(t, "homing") {
		p.away()
	}
	p.line("G0 %s", p.xy(p.to()))
	p.line("F%d", map[bool]int{false: 2000, true: 80}[p.inch])
	for n := rapid.IntRange(1, 4).Draw(t, "figures"); n > 0; n-- {
		if rapid.Bool().Draw(t, "retract") {
			p.line("G0 %s", p.zTo(p.z+2))
			p.line("G0 %s", p.xy(p.to()))
			p.line("%s", p.zTo(0))
		} else {
			p.line("G0 %s", p.xy(p.to()))
		}
		if rapid.Bool().Draw(t, "more") {
			switch pick(t, "between", "away", "offset", "arcs", "pause", "program", "note") {
			case "away":
				p.away()
			case "offset":
				p.offset()
			case "arcs":
				p.absArcs = !p.absArcs
				p.line("%s", map[bool]string{true: "G90.1", false: "G91.1"}[p.absArcs])
			case "pause":
				p.line("%s", pick(t, "pause", "M0", "M1"))
			case "program":
				p.line("M30")
				p.rel, p.ox, p.oy, p.oz = false, 0, 0, 0
				p.line("G90 G94 %s %s", work, map[bool]string{true: "G90.1", false: "G91.1"}[p.absArcs])
			case "note":
				p.line("%s", pick(t, "note", "M117 X1 Y2", "G61.1", "M8", "G64 P0.01"))
			}
		}
		p.line("%s S%d", pick(t, "on", p.on...), rapid.IntRange(1, 999).Draw(t, "s"))
		p.line("G1")
		for k := rapid.IntRange(1, 6).Draw(t, "burns"); k > 0; k-- {
			switch pick(t, "block", "line", "line", "line", "arc", "dwell", "blank", "mode", "inverse", "power", "offset", "rapid") {
			case "power":
				p.line("G1 %s S%d", p.xy(p.to()), rapid.IntRange(1, 999).Draw(t, "s"))
			case "offset":
				p.offset()
			case "rapid":
				p.line("G0 %s", p.xy(p.to()))
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
		p.line("%s", p.off[0])
	}
	if rapid.Bool().Draw(t, "home") {
		p.line("G90")
		p.rel = false
		p.line("G0 %s", p.xy(0, 0))
	}
	if rapid.IntRange(0, 3).Draw(t, "last") == 0 {
		p.line("%s", pick(t, "gone", "G28", "G53 G0 "+p.axis+"0", "G30 X0 Y0"))
	}
	if rapid.Bool().Draw(t, "end") {
		p.line("M2")
	}
	return p
}

// drawHead draws a head that the stock is near to, and boxes about it, low
// enough for some programs to come by; or none.
func drawHead(t *rapid.T, side float64) (*follow.Head, *verify.Head) {
	if !pick(t, "head", false, false, true) {
		return nil, nil
	}
	h := follow.Head{
		Radius: pick(t, "radius", 0, 0.3, 4, 12), Standoff: pick(t, "standoff", 1.5, 2.5, 6), Gap: pick(t, "gap", 0, 1.5),
	}
	for n := rapid.IntRange(0, 3).Draw(t, "boxes"); n > 0; n-- {
		x, y := rapid.Float64Range(-10, side).Draw(t, "x0"), rapid.Float64Range(-10, side).Draw(t, "y0")
		if rapid.Bool().Draw(t, "round") {
			x, y = math.Round(x), math.Round(y)
		}
		h.Boxes = append(h.Boxes, surface.Box{X0: x, Y0: y,
			X1: x + pick(t, "wide", 0.001, 1, 15), Y1: y + pick(t, "deep", 0.001, 1, 15),
			Height: pick(t, "tall", -1, 0.5, 1, 2, 4, 9)})
	}
	return &h, &verify.Head{RadiusMM: h.Radius, StandoffMM: h.Standoff, GapMM: h.Gap, Boxes: h.Boxes}
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
	p, drawn := drawSurface(t, side), drawProgram(t, side)
	text := drawn.b.String()
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
	opt.Numbered = drawn.numbers && drawn.sums || rapid.Bool().Draw(t, "numbered")
	opt.Machine.RapidsFire = pick(t, "rapids", false, false, true)
	opt.Machine.ZAxis = drawn.axis[0]
	if drawn.on[0] != "M3" {
		opt.Machine.BeamOn, opt.Machine.BeamOff, opt.Machine.PowerFollows = []int{106}, []int{107}, nil
	}
	if z := pick(t, "zmax", 0, 0, 0, 3.0, 4); z > 0 {
		low := -z
		opt.ZMax, opt.ZMin = &z, &low
	}
	if opt.ZMoves == follow.ByHand {
		opt.Defocus = 0
	}
	var head *verify.Head
	opt.Head, head = drawHead(t, side)
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
		ZMinMM: opt.ZMin, ZMaxMM: opt.ZMax, Head: head,
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
