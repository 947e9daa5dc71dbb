package follow

import (
	"errors"
	"fmt"
	"math"
	"math/rand"
	"sort"
	"strings"
	"testing"

	"sagitta/internal/bench"
	"sagitta/internal/machine"
)

// leastDefocus is the least possible greatest defocus under a rate: half the
// greatest gap between the envelopes sup(h(s) - v|t-s|) and inf(h(s) + v|t-s|)
// (E. J. McShane, Bull. AMS 40 (1934) 837), over every pair, without sweeps.
func leastDefocus(s []sample, v float64) (d float64) {
	for i := range s {
		for j := range s[:i] {
			d = math.Max(d, (math.Abs(s[i].h-s[j].h)-v*(s[i].t-s[j].t))/2)
		}
	}
	return d
}

func worstDefocus(t testing.TB, out string, c jobCase) (d float64) {
	for _, s := range walk(moves(t, out, machine.DefaultConfig()), c.surface, 0.25) {
		if s.burn {
			d = math.Max(d, math.Abs(s.c-s.h))
		}
	}
	return d
}

// TestForcedDefocus: where the rate forces the tube wider, the greatest
// defocus stays within 1.1 times the least possible.
func TestForcedDefocus(t *testing.T) {
	forced := 0
	for seed := int64(1); seed <= 8; seed++ {
		r := rand.New(rand.NewSource(seed))
		f := bumpy(r)
		c := jobCase{surface: grid(t, 300, 100, 7.3, "", f), text: wander(r, 20, 60), depth: 2}
		span := burnSpan(t, c, 0.5)
		for _, v := range []float64{0.1, 0.3, 0.8, 1.5} {
			least := leastDefocus(span, v)
			use := 0.05
			if least < use*c.depth || least > 0.9*c.depth {
				continue
			}
			forced++
			opt := testOptions(c.surface, c.depth, c.depth, use)
			opt.ZRate, opt.Slow = v, bench.SlowNever
			out, sum := mustRun(t, c.text, opt)
			inFocus(t, out, opt)
			if d := worstDefocus(t, out, c); d > 1.1*least+0.001 {
				t.Errorf("seed %d, rate %g: defocus %.4f, least possible %.4f", seed, v, d, least)
			} else {
				t.Logf("seed %d, rate %g: defocus %.4f, least possible %.4f", seed, v, d, least)
			}
			if sum.Lowered > 0 {
				t.Errorf("seed %d, rate %g: %d feeds lowered where none need be", seed, v, sum.Lowered)
			}
			checkRate(t, out, v)
		}
	}
	if forced < 8 {
		t.Fatalf("only %d cases forced", forced)
	}
}

// checkRate: over no stretch of 20 ms or more does Z change by more than the rate and two
// last decimals. It looks at every pair of places where one of them is a corner of Z.
func checkRate(t testing.TB, out string, v float64) {
	t.Helper()
	if over, at := worstStretch(moves(t, out, machine.DefaultConfig()), v, 6000); over > 2*0.001+1e-6 {
		t.Errorf("|dZ| is %.4f mm over what %g mm/s allow, at %.3f s", over, v, at)
	}
}

// worstStretch is by how much Z changes more than a rate in mm/s allows, over the worst
// of all stretches of 20 ms and more, and when that ends in s.
func worstStretch(ms []machine.Move, v, rapid float64) (over, at float64) {
	const shortest = 0.02
	t, z := []float64{0}, []float64{0}
	for k, m := range ms {
		switch {
		case m.FromUnknown || m.ZUnknown || m.Lost != 0: // nobody knows how long that takes
			rest, end := worstStretch(ms[k+1:], v, rapid)
			if over, at = worstStretch(ms[:k], v, rapid); rest > over {
				over, at = rest, end
			}
			return over, at
		case k == 0:
			z[0] = m.From.Z
		}
		dt := m.Seconds
		if m.Rapid {
			dt = max(m.Length/rapid*60, math.Abs(m.To.Z-m.From.Z)/v)
		}
		if dt > 0 {
			t, z = append(t, t[len(t)-1]+dt), append(z, m.To.Z)
		}
	}
	height := func(s float64) float64 {
		k := sort.SearchFloat64s(t, s)
		if k == 0 || k == len(t) {
			return z[min(k, len(t)-1)]
		}
		return z[k-1] + (z[k]-z[k-1])*(s-t[k-1])/(t[k]-t[k-1])
	}
	look := func(s0, z0, s1, z1 float64) {
		if by := math.Abs(z1-z0) - v*(s1-s0); by > over {
			over, at = by, s1
		}
	}
	for i := range t {
		look(t[i], z[i], t[i]+shortest, height(t[i]+shortest))
		look(t[i]-shortest, height(t[i]-shortest), t[i], z[i])
		for j := i - 1; j >= 0; j-- {
			if t[i]-t[j] >= shortest {
				look(t[j], z[j], t[i], z[i])
			}
		}
	}
	return over, at
}

// TestRateOverAndUnder: a rate 15 % over the optimum's peak is met at full
// feed; at 60 % of it feed is lowered, on the steep parts only.
func TestRateOverAndUnder(t *testing.T) {
	for seed := int64(1); seed <= 6; seed++ {
		r := rand.New(rand.NewSource(seed))
		c := jobCase{surface: grid(t, 300, 100, 7.3, "", bumpy(r)), text: wander(r, 20, 60), depth: 0.3}
		peak := leastPeak(burnSpan(t, c, 0.2), c.depth)
		opt := testOptions(c.surface, c.depth, c.depth, 1)
		opt.ZRate = 1.15 * peak
		out, sum := mustRun(t, c.text, opt)
		if sum.Lowered > 0 {
			t.Errorf("seed %d: at 1.15 of the peak %d feeds lowered", seed, sum.Lowered)
		}
		checkRate(t, out, opt.ZRate)
		inFocus(t, out, opt)

		opt.ZRate = 0.6 * peak
		if _, _, err := run(t, strings.ReplaceAll(c.text, "M4", "M3"), opt); err == nil {
			t.Errorf("seed %d: burns under M3 were slowed without leave", seed)
		}
		out, sum = mustRun(t, c.text, opt)
		inFocus(t, out, opt)
		checkRate(t, out, opt.ZRate)
		if sum.Forced > 0 {
			t.Errorf("seed %d: %d corners had to be forced", seed, sum.Forced)
		}
		if sum.Lowered == 0 || sum.Slowed == 0 {
			t.Errorf("seed %d: at 0.6 of the peak no feed lowered", seed)
		}
		slow, all := 0.0, 0.0
		for _, m := range moves(t, out, machine.DefaultConfig()) {
			if !m.Burn || m.Length == 0 {
				continue
			}
			all += m.Length
			if speed := m.Length / m.Seconds * 60; speed < 3000*0.99 {
				slow += m.Length
				if speed < 1500*0.99 {
					t.Errorf("seed %d: speed %.0f, below half of what is programmed", seed, speed)
				}
				// What is slow is so because Z runs at its rate.
				if z := math.Abs(m.To.Z-m.From.Z) + 0.001; z < 0.97*opt.ZRate*m.Seconds {
					t.Errorf("seed %d: a burn of %.2f mm slowed to %.0f while Z makes %.2f of its rate",
						seed, m.Length, speed, z/(opt.ZRate*m.Seconds))
				}
			}
		}
		if slow > 0.5*all {
			t.Errorf("seed %d: %.0f of %.0f mm slowed", seed, slow, all)
		}
		t.Logf("seed %d: %.0f of %.0f mm slowed, %.1f s instead of %.1f", seed, slow, all, sum.SecondsOut, sum.Seconds)
	}
}

// Burns by G0 are not slowed: no F says how fast they are, and no power goes with it.
func TestBurnsByG0AreNotSlowed(t *testing.T) {
	p := grid(t, 100, 50, 50, "", func(x, _ float64) float64 { return 3 - math.Abs(x-50)*3/50 })
	opt := testOptions(p, 0.5, 0.5, 1)
	opt.Machine.RapidsFire, opt.Slow = true, bench.SlowBurns
	const burn = "G21 G90\nM5\nG0 X0 Y5\nM3 S500\nG1 X100 F6000\nM5\nG0 X0\n"
	opt.ZRate = 3
	mustRun(t, burn, opt)
	_, _, err := run(t, strings.Replace(burn, "G1 X100 F6000", "G0 X100", 1), opt)
	if u := (*UnmetError)(nil); !errors.As(err, &u) || u.Failures[0].Kind != TooSteep || u.Failures[0].Line != 5 {
		t.Errorf("%v", err)
	}
}

// TestTravelsGiveFirst: between two plateaus the travel takes longer before a
// burn spends more of the depth.
func TestTravelsGiveFirst(t *testing.T) {
	step := func(x, y float64) float64 {
		if x < 50 {
			return 0
		}
		return 3
	}
	p := grid(t, 100, 20, 1, "", step)
	opt := testOptions(p, 1, 1, 0.5)
	opt.ZRate = 2
	var b strings.Builder
	b.WriteString("G21 G90\nM5\nG0 X2 Y5\n")
	for k := 0; k < 6; k++ {
		fmt.Fprintf(&b, "M4 S9\nG1 X40 F1500\nM5\nG0 X60\nM4\nG1 X95\nM5\nG0 X2\n")
	}
	b.WriteString("M2\n")
	out, sum := mustRun(t, b.String(), opt)
	inFocus(t, out, opt)
	opt.Depth.Near, opt.Depth.Far = 0.5, 0.5
	inFocus(t, out, opt) // no more than the half that --use gives
	if sum.Lowered+sum.Slowed > 0 {
		t.Errorf("%d feeds lowered", sum.Lowered)
	}
	if sum.Forced > 0 {
		t.Errorf("%d corners had to be forced", sum.Forced)
	}
	if !(sum.SecondsOut > sum.Seconds+3) {
		t.Errorf("took %.2f s after %.2f s", sum.SecondsOut, sum.Seconds)
	}
}
