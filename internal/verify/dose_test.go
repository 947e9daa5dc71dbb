package verify

import (
	"strings"
	"testing"

	"pgregory.net/rapid"

	"sagitta/internal/bench"
	"sagitta/internal/surface/surfacetest"
)

// A burn that is slowed must have the same power over speed: each program is a burn
// at F100 and S200, changed.
func TestDose(t *testing.T) {
	flat := surfacetest.Of(t, "bilinear", []float64{0, 10}, []float64{0, 10}, func(_, _ float64) float64 { return 0 })
	const original = "M5\nG0 X0 Y0\nM4 S200\nG1 X5 F100\nX8\nG0 X9\nG1 X10\nM5\nG0 X0\n"
	plain := func(*Options) {}
	speed := func(o *Options) { o.PowerBySpeed = true }
	m3 := func(s string) string { return strings.ReplaceAll(s, "M4", "M3") }
	for _, c := range []struct {
		name     string
		old, new string
		set      func(*Options)
		beam     func(string) string
		kind     Kind // "" holds
		amount   float64
	}{
		{"F alone", "F100\nX8", "F60\nX8 F100", plain, nil, DoseDiffers, 66.667},
		{"F alone, M3", "F100\nX8", "F60\nX8 F100", plain, m3, DoseDiffers, 66.667},
		{"F and S", "F100\nX8", "F60 S120\nX8 F100 S200", plain, nil, "", 0},
		{"F and S, M3", "F100\nX8", "F60 S120\nX8 F100 S200", plain, m3, "", 0},
		{"S a little high", "F100\nX8", "F60 S121.1\nX8 F100 S200", plain, nil, "", 0},
		{"S too high", "F100\nX8", "F60 S121.3\nX8 F100 S200", plain, nil, DoseDiffers, 1.083},
		{"S too low", "F100\nX8", "F60 S118.7\nX8 F100 S200", plain, nil, DoseDiffers, -1.083},
		{"S without F", "F100\nX8", "F100 S120\nX8 S200", plain, nil, PowerDiffers, -80},
		{"S a little without F", "F100\nX8", "F100 S199.9\nX8 S200", plain, nil, PowerDiffers, -0.1},
		{"S not back", "F100\nX8", "F60 S120\nX8 F100\nS200", plain, nil, PowerDiffers, -80},
		{"S not back on a travel", "G1 X10\n", "G1 X10 F60 S120\nM5\nF100\nG0 X10\n", plain, nil, EndDiffers, 0},
		{"by speed, F alone", "F100\nX8", "F60\nX8 F100", speed, nil, "", 0},
		{"by speed, F and S", "F100\nX8", "F60 S120\nX8 F100 S200", speed, nil, PowerDiffers, -80},
		{"by speed, M3, F alone", "F100\nX8", "F60\nX8 F100", speed, m3, DoseDiffers, 66.667},
		{"by speed, M3, F and S", "F100\nX8", "F60 S120\nX8 F100 S200", speed, m3, "", 0},
		{"below the least", "F100\nX8", "F60 S120\nX8 F100 S200", func(o *Options) { o.PowerLeast = 121 }, nil, PowerLow, 120},
		{"at the least", "F100\nX8", "F60 S120\nX8 F100 S200", func(o *Options) { o.PowerLeast = 120 }, nil, "", 0},
		{"the original's below the least", "", "", func(o *Options) { o.PowerLeast = 300 }, nil, "", 0},
	} {
		opt := options(flat, 1, 1)
		opt.Slow, opt.Slowest = bench.SlowBurns, 0.5
		c.set(&opt)
		was, now := original, strings.Replace(original, c.old, c.new, 1)
		if c.beam != nil {
			was, now = c.beam(was), c.beam(now)
		}
		r := run(t, now, was, opt)
		if c.kind == "" {
			holds(t, r)
			continue
		}
		if f := has(t, r, c.kind); c.amount != 0 && (f.Line != 4 && f.Line != 5 || f.Amount < c.amount-0.001 || f.Amount > c.amount+0.001) {
			t.Errorf("%s: %v", c.name, f)
		}
	}
	// Where no power was said, nothing can go with the feed.
	silent := strings.Replace(original, " S200", "", 1)
	opt := options(flat, 1, 1)
	opt.Slow, opt.Slowest = bench.SlowBurns, 0.5
	has(t, run(t, strings.Replace(silent, "F100\nX8", "F60\nX8 F100", 1), silent, opt), DoseDiffers)
	holds(t, run(t, silent, silent, opt))
}

// Of programs whose burns are slowed with their power, every other power or feed on one
// of them is found.
func TestDoseMutants(t *testing.T) {
	flat := surfacetest.Of(t, "bilinear", []float64{0, 100}, []float64{0, 10}, func(_, _ float64) float64 { return 0 })
	rapid.Check(t, func(t *rapid.T) {
		opt := options(flat, 1, 1)
		opt.Slow, opt.Slowest = bench.SlowBurns, 0.3
		opt.PowerBySpeed = rapid.Bool().Draw(t, "by speed")
		beam := rapid.SampledFrom([]string{"M3", "M4"}).Draw(t, "beam")
		scaled := beam == "M4" && opt.PowerBySpeed
		n := rapid.IntRange(1, 8).Draw(t, "burns")
		at := rapid.IntRange(0, n-1).Draw(t, "at")
		wrong := rapid.SampledFrom([]float64{0.4, 0.7, 0.98, 1.02, 1.5}).Draw(t, "wrong")
		onFeed := rapid.Bool().Draw(t, "feed")
		write := func(slow, mutant bool) string {
			var b strings.Builder
			b.WriteString("M5\nG0 X0 Y0\n" + beam + " S1\n")
			for k := range n {
				power, feed, part := 100.0+10*float64(k), 600.0, 1.0
				if slow && k%2 == 0 {
					part = 0.75
				}
				power, feed = power*part, feed*part
				if scaled {
					power /= part
				}
				if mutant && k == at && onFeed {
					feed *= wrong
				} else if mutant && k == at {
					power *= wrong
				}
				b.WriteString("G1 X" + Number(float64(k+1)) + " F" + Number(feed) + " S" + Number(power) + "\n")
			}
			b.WriteString("M5\nF600 S1\n")
			return b.String()
		}
		original := write(false, false)
		holdsAll := func(text string) bool {
			r, err := Run(strings.NewReader(text), "checked", strings.NewReader(original), "original", opt)
			if err != nil {
				t.Fatalf("%v\n%s", err, text)
			}
			return r.Holds()
		}
		if good := write(true, false); !holdsAll(good) {
			t.Fatalf("does not hold:\n%s\nof\n%s", good, original)
		}
		part := wrong
		if at%2 == 0 {
			part *= 0.75
		}
		same := onFeed && scaled && part >= opt.Slowest && part <= 1 // the source sees to it
		if bad := write(true, true); !same && holdsAll(bad) {
			t.Fatalf("holds:\n%s\nof\n%s", bad, original)
		}
	})
}

// A burn by G0 takes as long as Z does.
func TestDoseByG0(t *testing.T) {
	const original = "M5\nG0 X0 Y0\nM3 S200\nG0 X20\nM5\nG0 X0\n"
	const followed = "M5\nG0 X0 Y0\nM3 S200\nG0 X20 Z2\nM5\nG0 X0\nG0 Z0\n"
	opt := pairOptions(t)
	opt.Machine.RapidsFire, opt.Slow, opt.Slowest = true, bench.SlowBurns, 0.1
	for rate, want := range map[float64]bool{0: true, 10.1: true, 9.8: false} { // 20 mm at 6000 mm/min take 0.2 s
		opt.ZRate = rate
		if r := run(t, followed, original, opt); r.Holds() != want {
			t.Errorf("at %g mm/s: %v", rate, r.Failures)
		}
	}
}
