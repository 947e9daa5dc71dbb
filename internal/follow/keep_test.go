package follow

import (
	"fmt"
	"io"
	"math"
	"regexp"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"sagitta/internal/bench"
	"sagitta/internal/machine"
	"sagitta/internal/program"
	"sagitta/internal/surface"
	"sagitta/internal/timing"
)

// timed follows and times a program beside its original on a bench with inertia.
func timed(t *testing.T, text string, opt Options) (out string, sum *Summary, times *timing.Times) {
	t.Helper()
	out, sum = mustRun(t, text, opt)
	times, _, err := timing.Beside(strings.NewReader(out), strings.NewReader(text), "made", "original", timing.Bench{Machine: machine.DefaultConfig(), Limits: *opt.Inertia})
	if err != nil {
		t.Fatal(err)
	}
	return out, sum, times
}

// Burns keep their feed where Z can follow at all: the part that goes more than a tenth
// slower is small, and no more of the depth is spent than a tenth over what must be.
func TestBurnsKeepTheirFeed(t *testing.T) {
	for k := range waves {
		on := wave(t, k)
		for _, steps := range []bool{false, true} {
			for name, text := range map[string]string{"rows": rows(12000, 4), "outlines": outlines(9000), "frames": frames(6000)} {
				t.Run(fmt.Sprintf("%s/%s/%t", waves[k].name, name, steps), func(t *testing.T) {
					opt := testOptions(on, 0.9, 0.9, 0.5)
					opt.Inertia, opt.DecimalsMaxMM = heavy(steps), 5
					out, sum, times := timed(t, text, opt)
					if times.SlowPart() > 0.01 {
						t.Errorf("%.3f of the burned length goes slower", times.SlowPart())
					}
					if name == "rows" {
						if uneven := unevenness(t, out, opt.Inertia); uneven > 0.05 {
							t.Errorf("the speed along a row differs by %.3f", uneven)
						}
					}
					if least := max(0.45, waves[k].least[0]); max(sum.Near, sum.Far) > 1.1*least {
						t.Errorf("%.3f mm out of focus, where %.3f would do", max(sum.Near, sum.Far), least)
					}
				})
			}
		}
	}
}

// Z has as many decimals as a step of its speed needs on so short moves, no more than there
// may be, nor than there is room for in a line.
func TestDecimalsByNeed(t *testing.T) {
	on := wave(t, 1)
	decimals := regexp.MustCompile(`Z-?[0-9]*\.([0-9]*)`)
	for _, c := range []struct {
		feed    float64
		steps   bool
		finest  int
		lineMax int
		want    int
	}{
		{12000, false, 5, 0, 4}, // half a decimal of 0.0001 mm in 0.5 ms turns Z by 0.4 mm/s at most, of 2
		{12000, true, 5, 0, 5},
		{600, false, 5, 0, 3},
		{12000, true, 4, 0, 4},
		{12000, true, 0, 0, 3},
		{12000, true, 5, 34, 3},
		{12000, true, 5, 200, 5},
	} {
		opt := testOptions(on, 0.9, 0.9, 0.5)
		opt.Inertia, opt.DecimalsMaxMM, opt.LineMax = heavy(c.steps), c.finest, c.lineMax
		out, _ := mustRun(t, rows(c.feed, 2), opt)
		most := 0
		for _, m := range decimals.FindAllStringSubmatch(out, -1) {
			most = max(most, len(m[1]))
		}
		if most != c.want {
			t.Errorf("%+v: up to %d decimals", c, most)
		}
	}
	// Where nothing is known of inertia there are no more than usual.
	opt := testOptions(on, 0.9, 0.9, 0.5)
	opt.DecimalsMaxMM = 5
	if out, _ := mustRun(t, rows(12000, 2), opt); regexp.MustCompile(`Z-?[0-9]*\.[0-9]{4}`).MatchString(out) {
		t.Error("more decimals than usual")
	}
}

// However long a program is, no line of it takes more memory.
func TestRoundedLinesDoNotAllocate(t *testing.T) {
	opt := testOptions(wave(t, 1), 0.9, 0.9, 0.5)
	opt.Inertia, opt.DecimalsMaxMM = heavy(false), 5
	var allocs [2]float64
	var lines [2]int
	for k, n := range []int{8, 40} {
		text := rows(9000, n)
		lines[k] = strings.Count(text, "\n")
		allocs[k] = testing.AllocsPerRun(1, func() {
			if _, err := Run(strings.NewReader(text), io.Discard, opt); err != nil {
				t.Fatal(err)
			}
		})
	}
	if per := (allocs[1] - allocs[0]) / float64(lines[1]-lines[0]); per > 5e-3 {
		t.Errorf("%.4f allocations a line: %v for %v lines", per, allocs, lines)
	}
}

// All rows of a picture go evenly, the first, into which the way from where the head stands
// leads, and the last, behind which c stands still, too: at their feed where Z can follow so.
func TestRowsRunEven(t *testing.T) {
	on := [...]*surface.Placed{wave(t, 0), wave(t, 1), wave(t, 2)}
	rapid.Check(t, func(r *rapid.T) {
		text := rows(rapid.SampledFrom([]float64{6000, 9000, 12000}).Draw(r, "feed"), rapid.IntRange(2, 4).Draw(r, "rows"))
		depth := rapid.Float64Range(0.2, 1).Draw(r, "depth")
		opt := testOptions(on[rapid.IntRange(0, 2).Draw(r, "wave")], depth, depth, rapid.SampledFrom([]float64{0.3, 0.5, 0.9}).Draw(r, "use"))
		opt.Inertia, opt.DecimalsMaxMM = heavy(rapid.Bool().Draw(r, "steps")), 5
		opt.ZRate, opt.Slowest = rapid.SampledFrom([]float64{0, 10, 30}).Draw(r, "rate"), 0.2
		out, _, err := run(t, text, opt)
		if err != nil {
			r.Fatal(err)
		}
		if uneven := unevenness(t, out, opt.Inertia); uneven > 0.2 {
			r.Errorf("the speed along a row differs by %.3f", uneven)
		}
	})
}

// Rows that are level each keep one c, wherever what is planned at once ends, as long as that
// is some rows: a row is planned together with the way to it, on which c changes.
func TestLevelRowsStayLevel(t *testing.T) {
	on := grid(t, 300, 100, 2.5, "", func(_, y float64) float64 { return 0.02 * y })
	text := rows(6000, 60)
	for _, window := range []int{0, 4096, 6000} {
		for _, steps := range []bool{false, true} {
			opt := testOptions(on, 1.2, 1.2, 0.5)
			opt.Inertia, opt.DecimalsMaxMM, opt.Window = heavy(steps), 5, window
			out, sum := mustRun(t, text, opt)
			if n := risingBurns(t, out); n > 0 {
				t.Errorf("window %d, steps %v: Z moves on %d burns", window, steps, n)
			}
			if sum.Changed > 60 {
				t.Errorf("window %d, steps %v: %d lines are changed for 60 rows", window, steps, sum.Changed)
			}
		}
	}
}

// risingBurns counts the burns on which Z moves.
func risingBurns(t *testing.T, text string) (n int) {
	t.Helper()
	r, ip := program.NewReader(strings.NewReader(text), "test"), machine.New(machine.DefaultConfig())
	for {
		b, err := r.Next()
		if err != nil {
			return n
		}
		var m machine.Move
		if err := ip.Step(b, &m); err != nil {
			t.Fatal(err)
		}
		if m.Burn && m.From.Z != m.To.Z {
			n++
		}
	}
}

// A row goes no slower for what those before it needed, wherever what is planned at once ends.
func TestRowsKeepFeedsOfTheirOwn(t *testing.T) {
	var b strings.Builder
	fmt.Fprintf(&b, "%sM4 S0\nG1 F12000\n", header)
	const wide, lots = 1200, 12000
	for k, y := range []float64{45, 22.5, 45, 22.5} { // of a wave and of none
		from, to := 0, lots
		d := 1 - k%2*2
		if d < 0 {
			from, to = to, from
		}
		fmt.Fprintf(&b, "X%d Y%g S0\nX%d\n", from/10-45*d, y, from/10)
		for x := from + d; x*d <= to*d; x += d {
			fmt.Fprintf(&b, "X%.1f S%d\n", float64(x)/10, 100+power(x)/2)
		}
		fmt.Fprintf(&b, "X%d S0\n", to/10+45*d)
	}
	opt := testOptions(grid(t, wide, 100, 2.5, "bicubic", waves[2].h), 0.4995, 0.4995, 0.5)
	opt.Inertia, opt.DecimalsMaxMM = heavy(false), 5
	if _, sum := mustRun(t, b.String()+"M5\nM2\n", opt); sum.Slowed != 2*lots {
		t.Errorf("%d burns are slowed, not %d", sum.Slowed, 2*lots)
	}
}

// Rows that cannot be kept at their feed go at one part of it, where burns may be slowed, as
// fast as they can; elsewhere the feed stays.
func TestRowsThatAreTooMuchRunEven(t *testing.T) {
	on, text := wave(t, 2), rows(12000, 6)
	for _, c := range []struct {
		name  string
		set   func(*Options)
		slows bool
	}{
		{"scaled", func(*Options) {}, true},
		{"steps", func(o *Options) { o.Inertia = heavy(true) }, true},
		{"never", func(o *Options) { o.Slow = bench.SlowNever }, false},
		{"a least power", func(o *Options) { o.PowerLeast = 10 }, false},
		{"power by speed", func(o *Options) { o.PowerLeast, o.PowerBySpeed = 10, true }, true},
		{"hardly", func(o *Options) { o.Slowest = 0.99 }, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			opt := testOptions(on, 0.4995, 0.4995, 0.5)
			opt.Inertia, opt.DecimalsMaxMM = heavy(false), 5
			c.set(&opt)
			out, sum, _ := timed(t, text, opt)
			if (sum.Slowed > 0) != c.slows {
				t.Fatalf("%d burns are slowed", sum.Slowed)
			}
			if max(sum.Near, sum.Far) > 0.4995+1e-6 {
				t.Errorf("%.4f mm out of focus", max(sum.Near, sum.Far))
			}
			uneven := unevenness(t, out, opt.Inertia)
			if c.slows && uneven > 0.05 {
				t.Errorf("the speed along a row differs by %.3f", uneven)
			}
			if !c.slows && uneven < 0.1 {
				t.Error("there was nothing to slow for")
			}
			// Of the wave's 1 mm Z follows 0.28 at full feed, and has to follow 0.5: its
			// acceleration goes with the square of the feed.
			if c.slows && sum.SlowedBy > 1-math.Sqrt((1-waves[2].least[0])/(1-0.4995))*0.9 {
				t.Errorf("slowed by %.3f", sum.SlowedBy)
			}
		})
	}
}
