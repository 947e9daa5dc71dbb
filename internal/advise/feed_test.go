package advise_test

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"sagitta/internal/advise"
	"sagitta/internal/bench"
	"sagitta/internal/motion"
	"sagitta/internal/surface"
)

// The feed that is named is one at which all burns go evenly, and hardly a lower one than
// need be: be it the rate of Z that slows them, or its inertia.
func TestEvenFeed(t *testing.T) {
	waves := sheet(t, func(x, y float64) float64 { return 2 * math.Sin(x/8) * math.Cos(y/90) })
	job := func(feed float64) string {
		var b strings.Builder
		fmt.Fprintf(&b, "G21 G90\nG0 X5 Y5\nM4 S0 F%g\n", feed)
		for i := range 12 {
			from, to := 5+90*(i%2), 95-90*(i%2)
			fmt.Fprintf(&b, "G1 X%d Y%d S0\nX%d S300\n", from, 5+i, to)
		}
		return b.String() + "M5\n"
	}
	rate := func(p *surface.Placed) advise.Options {
		opt := options(p, lens("one", 0.4, 0.4, 0))
		opt.Follow.ZRate = 2
		return opt
	}
	heavy := func(p *surface.Placed) advise.Options {
		opt := options(p, lens("one", 0.4, 0.4, 0))
		opt.Follow.Inertia = &motion.Limits{Accel: motion.Vector{500, 500, 20}, CornerMM: 0.01}
		opt.Follow.Slow = bench.SlowNever
		return opt
	}
	for name, of := range map[string]func(*surface.Placed) advise.Options{"rate": rate, "inertia": heavy} {
		uneven := func(feed float64) (*advise.Advice, bool) {
			a := run(t, job(feed), of(waves))
			f := a.Answers[0].Follow
			return a, !f.OK || f.Slowed > 0 || f.SlowPart > 0.05
		}
		const feed = 9000
		a, is := uneven(feed)
		f := a.Answers[0].Follow.EvenFeed
		if !is || !(f > 0) || f >= feed {
			t.Fatalf("%s: uneven %v at %d, even at %g", name, is, feed, f)
		}
		if !slices.ContainsFunc(a.Cheap, func(c advise.Cheap) bool {
			return c.Kind == "feed" && c.Value == f && strings.Contains(c.What, fmt.Sprintf("at feeds of %g mm/min at most", f))
		}) {
			t.Errorf("%s: it is not said: %v", name, a.Cheap)
		}
		if b, is := uneven(f); is || b.Answers[0].Follow.EvenFeed != 0 {
			t.Errorf("%s: at %g mm/min: %+v", name, f, b.Answers[0].Follow)
		}
		if _, is := uneven(1.15 * f); !is {
			t.Errorf("%s: at %g mm/min it is even as well", name, 1.15*f)
		}
	}
}
