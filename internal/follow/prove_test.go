package follow_test

import (
	"bytes"
	"errors"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"sagitta/internal/bench"
	"sagitta/internal/focus"
	"sagitta/internal/follow"
	"sagitta/internal/machine/drawn"
	"sagitta/internal/motion"
	"sagitta/internal/rewrite"
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
	if pick(t, "round", false, false, false, false, true) {
		return surfacetest.Round(t, side)
	}
	sheet := surfacetest.Draw(t, side, []float64{0.5, 5, 11, 20, 33}, []float64{0, 0.2, 1, 3})
	if pick(t, "doubt", false, false, false, true) {
		sheet.Doubt(t, 0, 0, 0, 0, 0.1, 0.4, 0.8)
	}
	return sheet.Placed(t)
}

// drawHead draws a head that the stock is near to, and boxes about it, low
// enough for some programs to come by; or none.
func drawHead(t *rapid.T, side float64) *bench.Head {
	if !pick(t, "head", false, false, true) {
		return nil
	}
	h := bench.Head{
		Radius: pick(t, "radius", 0, 0.3, 4, 12), Standoff: pick(t, "standoff", 1.5, 2.5, 6), Gap: pick(t, "gap", 0, 1.5),
	}
	if rapid.Bool().Draw(t, "wider above") {
		h.Above = []bench.Disk{{Radius: h.Radius + 3, Up: 0.5}, {Radius: h.Radius + 20, Up: pick(t, "up", 1, 2.5, 8)}}
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
	if up := pick(t, "freed", 0.0, 0, 0.3, 1, 4); up > 0 {
		h.FreedMM = &up
	}
	return &h
}

// drawInertia draws what the axes can do, or that it is not known.
func drawInertia(t *rapid.T) *motion.Limits {
	if pick(t, "inertia", false, false, true) {
		return nil
	}
	xy, z := pick(t, "accel", 100.0, 500, 3000), pick(t, "z accel", 0.0, 5, 50, 1000)
	l := motion.Limits{Accel: motion.Vector{xy, xy, z}, CornerMM: pick(t, "corner", 0.002, 0.01, 0.2)}
	if step := pick(t, "z step", 0, 0, 0.05, 0.4, 5); step > 0 {
		l.Step = motion.Vector{10, 10, step}
	}
	return &l
}

// TestFollowedProgramsVerify: whatever is followed, the independent check
// proves, against its original.
func TestFollowedProgramsVerify(t *testing.T) {
	var n proven
	// A run of the checker draws from small programs to large; several runs
	// reach the rare ones.
	const runs = 12
	for run := range runs {
		rapid.Check(t, func(t *rapid.T) {
			for range run { // also from a given seed each run draws its own
				rapid.Uint64().Draw(t, "run")
			}
			// In the last two, Z is slow and burns may be slowed for it.
			proveDrawn(t, run >= runs-2, &n)
		})
	}
	t.Logf("%d followed, %d refused, %d burns slowed, %d by rules, of which %d do not hold by others", n.done, n.refused, n.dosed, n.ruled, n.caught)
	if n.dosed == 0 || n.caught == 0 {
		t.Error("no burn was slowed, or no rule told anything")
	}
	if n.done < n.refused/4 {
		t.Errorf("too many refused to prove anything: %d of %d", n.refused, n.done+n.refused)
	}
}

// proven counts what was proved.
type proven struct {
	done, refused, dosed int
	// ruled are followed by rules, caught those of them that fail where other rules are
	// given to the check.
	ruled, caught int
}

// gaps are the constructs that programs are drawn without because following does
// not keep to all of them yet. It is the only such list.
var gaps = []drawn.Construct{}

// proveDrawn draws a surface, a program and options, follows and proves.
func proveDrawn(t *rapid.T, slowed bool, n *proven) {
	side := size * pick(t, "side", 1.0, 1, 1, 1, 1, far)
	p, job := drawSurface(t, side), drawn.Draw(t, drawn.Options{Side: side, Without: gaps})
	text := job.Text
	depth := focus.Depth{Near: pick(t, "near", 0.2, 0.6, 1.5, 4), Far: pick(t, "far", 0.3, 0.6, 2, 4)}
	step := pick(t, "resolution", 0, 0, 0, 0.01, 0.05)
	half := (0.001 + step) / 2
	less := func(part float64) float64 { return part * min(depth.Near, depth.Far) } // of drawn errors
	opt := follow.Options{Options: rewrite.Options{Name: "drawn", Bench: bench.Bench{Machine: job.Config(), Slow: pick(t, "slow", bench.SlowNever, bench.SlowScaled, bench.SlowBurns), Slowest: 0.5, ZPlusAway: rapid.Bool().Draw(t, "away"), ZMoves: pick(t, "zmoves", bench.Always, bench.Always, bench.BeamOff, bench.ByHand), ZRate: pick(t, "rate", 0, 0, 0.5, 5, 50), ZResolution: step, DecimalsMM: 3, DecimalsInch: 5}, Comments: true, Marker: "sagitta 0 follow --use", Rehearsal: pick(t, "rehearsal", false, false, false, true)},
		Surface: p.Narrowed(less), Depth: focus.Depth{Near: depth.Near - half, Far: depth.Far - half}, Use: pick(t, "use", 0.1, 0.5, 1), Defocus: pick(t, "defocus", 0, 0, 0, -0.4, 1), Window: pick(t, "window", 0, 0, 8, 40)}
	opt.Numbered = job.Numbered || rapid.Bool().Draw(t, "numbered")
	opt.PowerBySpeed, opt.PowerLeast = pick(t, "by speed", false, false, true), pick(t, "least power", 0.0, 0, 0, 5, 200)
	opt.FeedMax = pick(t, "feed max", 0.0, 0, 0, 1500, 9000)
	opt.Machine.RapidsFire = pick(t, "rapids", false, false, true)
	opt.Machine.RapidsStraight = opt.Machine.RapidsFire || pick(t, "straight", true, true, false)
	lit := pick(t, "left lit", false, false, true)
	if lit {
		text = drawn.LeaveLit(t, text, opt.Machine)
	}
	if z := pick(t, "zmax", 0, 0, 0, 3.0, 4); z > 0 {
		low := -z
		opt.ZMax, opt.ZMin = &z, &low
	}
	if slowed {
		opt.ZMoves, opt.Slow, opt.ZRate = bench.Always, bench.SlowBurns, pick(t, "slow rate", 5.0, 20)
	}
	if opt.ZMoves == bench.ByHand {
		opt.Defocus = 0
	}
	opt.Inertia = drawInertia(t)
	opt.DecimalsMaxMM, opt.DecimalsMaxInch = pick(t, "finest", 0, 3, 4, 6), pick(t, "finest of an inch", 0, 5, 7)
	opt.Head = drawHead(t, side)
	var rules []verify.Rule
	if pick(t, "ruled", false, false, true) {
		rules = drawRules(t, &opt, half)
	}
	if pick(t, "bed", false, false, false, true) { // which some arcs leave
		opt.Reach.X, opt.Reach.Y = &[2]float64{0, side}, &[2]float64{-1, side}
	}
	var out bytes.Buffer
	sum, err := follow.Run(strings.NewReader(text), &out, opt)
	var unmet *follow.UnmetError
	if errors.As(err, &unmet) || err != nil && lit { // where rapids fire, or the way is not known
		n.refused++
		return
	}
	if err != nil {
		t.Fatalf("%v\n%s", err, text)
	}
	n.done++
	followed := out.String()
	check := verify.Options{
		Bench: opt.Bench, Surface: p, Depth: depth, Less: less, DefocusMM: opt.Defocus, Rehearsal: opt.Rehearsal, Head: opt.Head, Rules: rules,
	}
	res, err := verify.Run(&out, "followed", strings.NewReader(text), "original", check)
	if err != nil {
		t.Fatalf("%v\n%s", err, text)
	}
	if rules != nil {
		n.ruled++
		otherRules(t, res, check, followed, text, n)
	}
	if !res.Holds() {
		t.Fatalf("%v\noptions %+v\n--- original\n%s--- followed\n%s", res.Failures, opt, text, followed)
	}
	if last := max(0.001, step); opt.ZRate > 0 {
		if over := follow.WorstStretch(t, followed, text, opt.Machine, opt.ZRate); over > 2*last+1e-6 {
			t.Fatalf("Z changes by %.5f mm more than its rate allows\noptions %+v\n--- original\n%s--- followed\n%s", over, opt, text, followed)
		}
	}
	if !opt.Rehearsal {
		holdDose(t, text, followed, &opt, &n.dosed)
	}
	if opt.ZMoves != bench.ByHand && !opt.Rehearsal {
		checkSpent(t, sum, res, opt, text)
	}
}

// otherRules has the check judge by rules that no correction serves together with those
// that were followed: where they matched anything, it must not hold.
func otherRules(t *rapid.T, res *verify.Result, opt verify.Options, followed, text string, n *proven) {
	matched := false
	opt.Rules = append([]verify.Rule{}, opt.Rules...)
	for k := range opt.Rules {
		r := &opt.Rules[k]
		r.DefocusMM += 2*(r.Depth.Near+r.Depth.Far) + 0.1
		matched = matched || res.Rules[k+1].Burns > 0
	}
	other, err := verify.Run(strings.NewReader(followed), "followed", strings.NewReader(text), "original", opt)
	if err != nil || matched && other.Holds() {
		t.Fatalf("by other rules: %v, %v, burns by rule %+v", err, other.Failures, other.Rules)
	}
	if matched {
		n.caught++
	}
}

// checkSpent holds the depth that the summary says is spent against what the
// independent check finds: the worst side is bounded, and closely. (What the
// heights beside a move take off a cut one is all that lies between.)
func checkSpent(t *rapid.T, sum *follow.Summary, res *verify.Result, opt follow.Options, text string) {
	const beside = 0.003                        // how far beside a cut move its bounds hold, both ways
	written := (0.001+opt.ZResolution)/2 + 1e-6 // half the last decimal, and half a step
	found := res.Defocus.MM
	said := sum.Far
	if found < 0 {
		found, said = -found, sum.Near
	}
	found += res.Less
	least, part := math.Inf(1), 0.0
	for k := range res.Rules {
		d := opt.Depth
		if k > 0 {
			d = opt.Kinds[k-1].Depth
		}
		least, part = min(least, d.Near, d.Far), max(part, res.Rules[k].Part(d))
	}
	if found > said+written {
		t.Fatalf("a defocus of %.5f mm in line %d, said to be %.5f at most\n%+v\n%s", res.Defocus.MM, res.Defocus.Line, said, opt, text)
	}
	// Heights that are less sure a hair beside the path are kept to, and not met by it.
	if most := max(sum.Near, sum.Far); opt.Kinds == nil && opt.Surface.MostLess() == 0 && found < most-0.02*(opt.Depth.Near+opt.Depth.Far)-written-beside*opt.Surface.MaxSlope() {
		t.Fatalf("a defocus of %.5f mm, said to be -%.5f to %.5f\n%s", res.Defocus.MM, sum.Near, sum.Far, text)
	}
	if part > sum.Part+written/least || sum.Part > 1+1e-4 {
		t.Fatalf("%.4f of the depth spent, said to be %.4f", part, sum.Part)
	}
}
