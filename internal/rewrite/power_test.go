package rewrite_test

import (
	"bytes"
	"math"
	"testing"

	"pgregory.net/rapid"

	"sagitta/internal/bench"
	"sagitta/internal/machine"
	"sagitta/internal/program"
	"sagitta/internal/rewrite"
	"sagitta/internal/stream"
)

// burned is what a line of the original burns: power, and time for a mm.
type burned struct{ power, perMM float64 }

// doses are those of the lines of an item.
func doses(it *stream.Item) (all []burned) {
	if !it.IsRun() {
		return []burned{{it.Move.Power, it.Move.Seconds / it.Move.Length}}
	}
	var line stream.Item
	for k := range it.Count() {
		it.LineItem(k, &line)
		all = append(all, burned{line.Move.Power, line.Move.Seconds / line.Move.Length})
	}
	return all
}

// Whatever Z makes of their speed, burns get the power over speed that they have in
// the original, by their own power word or from the source; all else has the power
// that it has there.
func TestSlowedBurnsBurnTheSame(t *testing.T) {
	slowed, scaled, unsaid := 0, 0, 0
	rapid.Check(t, func(t *rapid.T) {
		text, opt, _ := drawJob(t)
		opt.Slow, opt.Slowest, opt.ZRate = bench.SlowBurns, 1e-9, pick(t, "rate", 0.1, 1, 10)
		opt.PowerBySpeed = pick(t, "by speed", false, false, true)
		opt.FeedMax = pick(t, "feed max", 0.0, 0, 500, 9000)
		write := func(opt *rewrite.Options, pass func(pen *rewrite.Pen, it *stream.Item)) (string, rewrite.Figures) {
			var out bytes.Buffer
			pen := rewrite.New(&out, opt)
			pen.Breached = func(b rewrite.Breach) {
				switch {
				case b.Kind == rewrite.PowerUnsaid:
					unsaid++
				case b.Kind != rewrite.TooLong:
					t.Fatalf("%+v\n%s", b, text)
				}
			}
			each(t, text, opt, false, func(it *stream.Item) { pass(pen, it) })
			finish(t, pen, text)
			return out.String(), pen.Figures
		}
		type passed struct {
			it    stream.Item
			plan  rewrite.Target
			lines int
			doses []burned
		}
		var all []passed
		q := planner{t: t}
		out, figures := write(&opt, func(pen *rewrite.Pen, it *stream.Item) {
			w := passed{it: *it, plan: q.plan(it), doses: doses(it)}
			w.plan.Rate = min(w.plan.Rate, opt.ZRate) // as it is planned
			pen.Pass(it, w.plan)
			if w.lines = pen.LineCount(); !it.IsRun() && len(it.Block.EOL()) == 0 {
				w.lines++
			}
			all = append(all, w)
		})
		c := checker{t: t, opt: &opt, ip: machine.New(opt.Machine), r: program.NewReader(bytes.NewReader([]byte(out)), "written"), text: text, out: out}
		most := 0.0
		for i := range all {
			w, k := &all[i], 0
			for c.line < w.lines {
				was := c.ip.State()
				var m machine.Move
				if !c.step(&m) {
					c.fatalf(w.it.Block.Line, "it has no line %d", w.lines)
				}
				did := c.ip.Actions()
				if did.Power != 0 && !w.it.IsRun() && w.it.Actions.Power == 0 && was.PowerSaid && was.Power == c.ip.During().Power {
					c.fatalf(w.it.Block.Line, "says the power that is in force, %v", was.Power)
				}
				if did.Ends && !m.Burn && was.Power.Cmp(w.it.Before.Power) != 0 {
					c.fatalf(w.it.Block.Line, "ends with power %v, not %v", was.Power, w.it.Before.Power)
				}
				d := w.doses[min(k, len(w.doses)-1)]
				if m.Length > 0 && !m.FromUnknown {
					k++
				}
				switch {
				case m.Kind == machine.Still && did.Stop == 0, !m.Burn && c.ip.During().Beam != machine.On:
				case !m.Burn || m.Length == 0 || m.Rapid:
					if m.Rapid && m.Burn || w.plan.Stroke && m.Length == 0 {
						continue
					}
					if m.Power != w.it.During.Power.Float() && !w.it.IsRun() {
						c.fatalf(w.it.Block.Line, "power %g, not %g, where nothing is slowed", m.Power, w.it.During.Power.Float())
					}
				default:
					dose := c.seconds(&m, &was) / m.Length / d.perMM
					if dose > 1 {
						most = max(most, 1-1/dose)
					}
					if slow := dose > 1+rewrite.FeedSlack; opt.PowerBySpeed && m.PowerFollows || !slow {
						if m.Power != d.power {
							c.fatalf(w.it.Block.Line, "power %g, not %g, at %g of the speed", m.Power, d.power, 1/dose)
						}
						if slow {
							scaled++
						}
						continue
					}
					slowed++
					if d.power > 0 {
						dose *= m.Power / d.power
						slack := rewrite.FeedSlack * 1.01
						if m.Kind == machine.Arc { // of a cut one the radius is rounded
							slack += 2 * opt.Lateral() / min(m.R0, m.R1)
						}
						if w.it.Move.From.Z != w.it.Move.To.Z { // and where it is on its ramp
							slack += c.zStep() / m.Length
						}
						if math.Abs(dose-1) > slack {
							c.fatalf(w.it.Block.Line, "burns %g times as much, with power %g", dose, m.Power)
						}
					}
				}
			}
		}
		last := &all[len(all)-1].it
		c.rest(last.After)
		if st := c.ip.State(); st.Power.Cmp(last.After.Power) != 0 {
			c.fatalf(0, "ends with power %v, not %v", st.Power, last.After.Power)
		}
		if math.Abs(figures.SlowedBy-most) > rewrite.FeedSlack+1e-6 {
			t.Fatalf("slowed by %g, said %g\n%s\n%s", most, figures.SlowedBy, text, out)
		}

		// Line by line as blocks it is the same.
		eachLine(&opt)
		i := 0
		again, _ := write(&opt, func(pen *rewrite.Pen, it *stream.Item) {
			pen.Pass(it, all[i].plan)
			i++
		})
		if again != out {
			t.Fatalf("as runs\n%s\nas blocks\n%s", out, again)
		}
	})
	if slowed == 0 || scaled == 0 || unsaid == 0 {
		t.Errorf("%d burns slowed, %d by the source, %d without power", slowed, scaled, unsaid)
	}
	t.Logf("%d burns slowed, %d by the source, %d without power", slowed, scaled, unsaid)
}
