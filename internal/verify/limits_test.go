package verify

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"testing"

	"sagitta/internal/bench"
	"sagitta/internal/surface/surfacetest"
)

func ptr(v float64) *float64 { return &v }

func TestMachineLimits(t *testing.T) {
	cases := []struct {
		name   string
		set    func(*Options)
		change func(string) string
		kind   Kind
		line   int
		amount float64
	}{
		{"Z below", func(o *Options) { o.ZMin = ptr(-0.1) }, swap("G0 X0 Y0 Z0\n", "G0 X0 Y0 Z-0.101\nG0 Z0\n"), ZBelow, 13, 0.001},
		{"Z above", func(o *Options) { o.ZMax = ptr(5.499) }, nil, ZAbove, 18, 0.001},
		{"feed", func(o *Options) { o.FeedMax = 1205 }, nil, FeedTooHigh, 6, 1206},
		// One in ten at F1206 is 120.0 mm/min over 10 mm, where two last
		// decimals are 0.24 mm/min.
		{"Z rate", func(o *Options) { o.ZRate = 119.7 / 60 }, nil, ZTooFast, 6, 120},
		{"focus by hand", func(o *Options) { o.ZMoves = bench.ByHand }, nil, ZMoved, 6, 1},
		{"focus with the beam off", func(o *Options) { o.ZMoves = bench.BeamOff }, nil, ZMoved, 6, 1},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			opt := pairOptions(t)
			c.set(&opt)
			r, err := pair(t, c.change, nil, opt)
			if err != nil {
				t.Fatal(err)
			}
			f := has(t, r, c.kind)
			if f.Line != c.line || math.Abs(f.Amount-c.amount) > 0.002 {
				t.Errorf("%v, want line %d, amount %v", f, c.line, c.amount)
			}
		})
	}
	opt := pairOptions(t)
	opt.ZMin, opt.ZMax, opt.ZRate, opt.FeedMax = ptr(0), ptr(5.5), 119.9/60, 1206
	r, err := pair(t, nil, nil, opt)
	if err != nil {
		t.Fatal(err)
	}
	holds(t, r)
	for _, n := range r.Notes {
		if strings.Contains(n, "is known") {
			t.Errorf("%q", n)
		}
	}
}

// A rapid takes what Z needs: there the limit is no failure but time.
func TestRapidsWaitForZ(t *testing.T) {
	opt := pairOptions(t)
	fast := run(t, "M5\nG0 X0 Y0\nG0 Z5\nG0 X10 Z6\nG0 X20", "", opt).Seconds
	opt.ZRate = 1
	slow := run(t, "M5\nG0 X0 Y0\nG0 Z5\nG0 X10 Z6\nG0 X20", "", opt).Seconds
	if want := 5.0 + 1 + 0.1; math.Abs(slow-want) > 1e-9 || fast > 0.3 {
		t.Errorf("%v s, want %v; %v s without a limit", slow, want, fast)
	}
}

// With the beam off the focus may move between runs of burns, not in one.
func TestFocusMovesBetweenRuns(t *testing.T) {
	steps := surfacetest.Of(t, "bilinear", []float64{0, 10, 11, 20}, []float64{0, 10}, func(x, _ float64) float64 {
		if x > 10 {
			return 1
		}
		return 0
	})
	opt := options(steps, 0.5, 0.5)
	opt.ZMoves = bench.BeamOff
	const source = "G0 X0 Y5\nM3 S1 F100\nG1 X9\nG1 X5\nM5\nG0 X12\nM3\nG1 X20\nM5\n"
	const good = "G0 X0 Y5\nM3 S1 F100\nG1 X9\nG1 X5\nM5\nG0 X9 Z0\nG0 X12 Z1\nM3\nG1 X20\nM5\n"
	holds(t, run(t, good, source, opt))
	f := has(t, run(t, strings.Replace(good, "G1 X5", "G1 X5 Z0.3", 1), source, opt), ZMoved)
	if f.Line != 4 || math.Abs(f.Amount-0.3) > 1e-9 {
		t.Errorf("%v", f)
	}
	// It is said once, though c stays where it was moved.
	r := run(t, strings.Replace(good, "G1 X9\n", "G1 X3 Z0.2\nG1 X6 Z0.2\nG1 X9 Z0.2\n", 1), source, opt)
	if n := r.FailureCount; n != 1 {
		t.Errorf("%d failures: %v", n, r.Failures)
	}
	// A slow drift over many burns is a move as well.
	has(t, run(t, strings.Replace(good, "G1 X9\nG1 X5\n", "G1 X3 Z0.001\nG1 X6 Z0.002\nG1 X9 Z0.003\nG1 X5\n", 1), source, opt), ZMoved)
}

func TestSlowRules(t *testing.T) {
	flat := surfacetest.Of(t, "bilinear", []float64{0, 10}, []float64{0, 10}, func(_, _ float64) float64 { return 0 })
	program := func(beam, feed string) string {
		power := ""
		if f, _ := strconv.ParseFloat(feed, 64); f < 99 {
			power = fmt.Sprintf(" S%g", f/100) // the power goes with it
		}
		return "M5\nG0 X0 Y0\nM" + beam + " S1\nG1 X10 F" + feed + power + "\nM5\nG1 X0 F" + feed + "\nF100 S1\n"
	}
	for _, c := range []struct {
		slow bench.Slow
		beam string
		feed string
		want bool
	}{
		{bench.SlowNever, "4", "99.6", true}, {bench.SlowNever, "4", "99.4", false},
		{bench.SlowScaled, "3", "99.6", true}, {bench.SlowScaled, "3", "99.4", false},
		{bench.SlowScaled, "4", "60", true}, {bench.SlowScaled, "4", "59.7", true}, {bench.SlowScaled, "4", "59.6", false},
		{bench.SlowBurns, "3", "60", true}, {bench.SlowBurns, "3", "59.6", false},
		{bench.SlowBurns, "3", "100.5", true}, {bench.SlowBurns, "3", "100.6", false},
	} {
		opt := options(flat, 1, 1)
		opt.Slow, opt.Slowest = c.slow, 0.6
		r := run(t, program(c.beam, c.feed), program(c.beam, "100"), opt)
		if r.Holds() != c.want {
			t.Errorf("slow %d, M%s, F%s: holds is %v, want %v: %v", c.slow, c.beam, c.feed, r.Holds(), c.want, r.Failures)
		}
	}
}

// In inverse time a cut move's F is the time of its part.
func TestInverseTime(t *testing.T) {
	p := slope(t)
	opt := options(p, 0.3, 0.3)
	const source = "G0 X0 Y0\nM3 S1\nG93\nG1 X20 F6\nM5\nG94 F100\n"
	const good = "G0 X0 Y0\nM3 S1\nG93\nG1 X5 Z0.5 F24\nG1 X20 Z2 F8\nM5\nG94 F100\n"
	holds(t, run(t, good, source, opt))
	has(t, run(t, strings.Replace(good, "F24", "F25", 1), source, opt), TooFast)
	has(t, run(t, strings.Replace(good, "F8", "F7", 1), source, opt), TooSlow)
	opt.ZRate = 11.9 / 60
	f := has(t, run(t, good, source, opt), ZTooFast)
	if math.Abs(f.Amount-12) > 1e-9 {
		t.Errorf("%v", f)
	}
}

// What the original itself asks of the machine is said, not failed.
func TestOriginalsOwnExcess(t *testing.T) {
	flat := surfacetest.Of(t, "bilinear", []float64{0, 10}, []float64{0, 10}, func(_, _ float64) float64 { return 0 })
	const program = "M5\nG0 X0 Y0\nG1 Z3 F3000\nM3 S1\nG1 X10\nM5\n"
	const aslant = "M5\nG0 X0 Y0\nM3 S1\nG1 X10 F3000\nM5\nG1 X10.1 Z3\n"
	opt := options(flat, 1, 1)
	opt.ZRate, opt.FeedMax = 10, 2000
	for _, program := range []string{program, aslant} {
		r := run(t, program, program, opt)
		holds(t, r)
		if all := strings.Join(r.Notes, "\n"); !strings.Contains(all, "faster Z") || !strings.Contains(all, "feed above") {
			t.Errorf("notes %q", r.Notes)
		}
	}
	// A longer stroke may be as fast as the original's, and no faster.
	const end, longer = "M5\nG1 Z3 F3000\n", "M5\nG1 Z4 F3000\n"
	burn := "M5\nG0 X0 Y0\nM3 S1\nG1 X10 F1000\n"
	feedMax := opt.FeedMax
	opt.FeedMax = 0
	holds(t, run(t, burn+longer, burn+end, opt))
	has(t, run(t, burn+strings.Replace(longer, "F3000", "F3100", 1), burn+end, opt), ZTooFast)
	// A change of c is not the original's, nor is a burn ever too fast.
	has(t, run(t, aslant, strings.Replace(aslant, " Z3", "", 1), opt), ZTooFast)
	ramp := strings.Replace(aslant, "M5\nG1", "G1", 1)
	has(t, run(t, ramp, ramp, opt), ZTooFast)
	opt.Depth.Far, opt.FeedMax = 4, feedMax
	r := run(t, program, "", opt)
	has(t, r, ZTooFast)
	has(t, r, FeedTooHigh)
}

func TestFailuresAreCountedPastTheList(t *testing.T) {
	opt := pairOptions(t)
	r := run(t, "M5\nG0 X10 Y0\nM3 S1 F100\n"+strings.Repeat("G1 X20\nG1 X10\n", 25)+"M5", "", opt)
	if r.FailureCount < 50 || len(r.Failures) != maxFailures {
		t.Errorf("%d counted, %d kept", r.FailureCount, len(r.Failures))
	}
}

func TestOptionsThatMakeNoSense(t *testing.T) {
	for name, spoil := range map[string]func(*Options){
		"no surface":    func(o *Options) { o.Surface = nil },
		"no depth":      func(o *Options) { o.Depth.Near = 0 },
		"defocus":       func(o *Options) { o.DefocusMM = math.NaN() },
		"slowest":       func(o *Options) { o.Slowest = 0 },
		"decimals":      func(o *Options) { o.DecimalsMM = 12 },
		"rate":          func(o *Options) { o.ZRate = -1 },
		"feed":          func(o *Options) { o.FeedMax = math.Inf(1) },
		"no such value": func(o *Options) { o.ZMoves = 9 },
	} {
		opt := pairOptions(t)
		spoil(&opt)
		if _, err := Run(strings.NewReader("G0 X0"), "", nil, "", opt); err == nil {
			t.Errorf("%s passes", name)
		}
	}
}

// A step of Z that the machine does not take need not be written, and one that
// it takes is off by as much as a step; without a resolution both are faults.
func TestStepsOfZBelowTheResolution(t *testing.T) {
	const original = "G0 X0 Y0 Z0\nG0 Z.003\nG0 X5\nG0 Z0.016\nG0 X0 Z0\nM3 S5\nG1 X9 F600\nM5\n"
	const written = "G0 X0 Y0 Z0\nG0 Z0\nG0 X5\nG0 Z0.02\nG0 X0 Z0\nM3 S5\nG1 X9 F600\nM5\n"
	flat := surfacetest.Of(t, "bilinear", nodes(-10, 30, 10), nodes(-10, 30, 10), func(float64, float64) float64 { return 0 })
	opt := options(flat, 0.3, 0.3)
	if f := has(t, run(t, written, original, opt), Missing); f.OriginalLine != 2 {
		t.Errorf("%v, want that of line 2", f)
	}
	opt.ZResolution = 0.01
	holds(t, run(t, written, original, opt))
	if f := has(t, run(t, strings.Replace(written, "G0 Z0.02\n", "", 1), original, opt), Missing); f.OriginalLine != 4 {
		t.Errorf("%v, want that of line 4", f)
	}
}

// A feed is said as the bench has it and as programs do.
func TestFeedsInBothUnits(t *testing.T) {
	f := Violation{Kind: FeedTooHigh, Line: 3, X: math.NaN(), Y: math.NaN(), Amount: 6000}
	if want := "feed of 100 mm/s (F6000) is above the machine's"; !strings.Contains(f.String(), want) {
		t.Errorf("%q, want %q", f, want)
	}
}
