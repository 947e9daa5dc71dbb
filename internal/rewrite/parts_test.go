package rewrite_test

import (
	"bytes"
	"math"
	"testing"

	"pgregory.net/rapid"

	"sagitta/internal/machine"
	"sagitta/internal/machine/drawn"
	"sagitta/internal/program"
	"sagitta/internal/rewrite"
	"sagitta/internal/stream"
)

// mark is a burn, or a part of one.
type mark struct {
	line            int
	from, to        [2]float64
	z               float64
	length, seconds float64
	power           program.Number
	beam            int
}

// part is a pen that keeps a part of the burns.
type part struct {
	pen  *rewrite.Pen
	body bytes.Buffer
	// goesOn: it needs no way to the next item; left: the beam may be on.
	goesOn, left bool
	marks        []mark
}

// keep writes the part of a burn from s0 to s1, to which it goes beam off.
func (q *part) keep(it *stream.Item, s0, s1 float64) {
	m := &it.Move
	if !q.goesOn || s0 > 0 {
		st := it.Before
		if s0 > 0 {
			at := q.pen.Place(it, s0)
			st = it.During
			st.At = machine.Point{X: at[0], Y: at[1], Z: m.From.Z + (m.To.Z-m.From.Z)*s0}
			st.XKnown, st.YKnown, st.ZKnown = true, true, true
		}
		q.pen.Jump(&st)
		q.pen.BeamOff(&it.Block, false)
		q.pen.MoveTo(&it.Block, st.At.X, st.At.Y)
		q.pen.MoveZ(&it.Block, st.At.Z)
	}
	q.pen.PassPart(it, s0, s1, 0)
	q.goesOn, q.left = s1 >= 1, true
	q.marks = append(q.marks, mark{it.Block.Line, m.XY(s0), m.XY(s1), m.From.Z + (m.To.Z-m.From.Z)*s1, m.Length * (s1 - s0),
		m.Seconds * (s1 - s0), it.During.Power, it.During.BeamWord})
}

// A pen that leaves out blocks, and parts of burns, writes just the burns that are
// kept, at their place, power and feed; so do forks of one, appended to it.
func TestPartsOfAProgram(t *testing.T) {
	kept := 0
	rapid.Check(t, func(t *rapid.T) {
		text, opt, _ := drawJob(t, drawn.BurnEnds, drawn.LastLine, drawn.Ends)
		var out bytes.Buffer
		main, mute := rewrite.New(&out, &opt), false
		main.Breached = func(b rewrite.Breach) { mute = mute || b.Kind == rewrite.NoBeamWord }
		parts := make([]part, rapid.IntRange(1, 3).Draw(t, "parts"))
		forked := len(parts) > 1
		stop, start := machine.Point{X: 7, Y: 3}, machine.State{}
		begun := false
		each(t, text, &opt, true, func(it *stream.Item) {
			m := &it.Move
			if m.Burn && !begun {
				begun = true
				start = *main.State()
				stop.Z = start.At.Z
				for i := range parts {
					parts[i].pen, parts[i].goesOn, parts[i].left = main, !forked, true
					if forked {
						parts[i].pen = main.Fork(&parts[i].body, stop)
					}
				}
			}
			if !begun {
				main.Pass(it, rewrite.Target{})
				return
			}
			s0, s1 := 0.0, 1.0
			if m.Length > 1 && rapid.Bool().Draw(t, "cut") {
				s0, s1 = pick(t, "s0", 0, 0.1, 0.37), pick(t, "s1", 0.5, 0.81, 1)
			}
			by := rapid.IntRange(-1, len(parts)-1).Draw(t, "by")
			for i := range parts {
				q := &parts[i]
				if m.Burn && i == by {
					q.keep(it, s0, s1)
					continue
				}
				if q.left {
					q.pen.BeamOff(&it.Block, false)
				}
				q.goesOn, q.left = false, false
				if !forked {
					q.pen.PassRest(it)
				}
			}
		})
		if !begun {
			return
		}
		var want []mark
		for i := range parts {
			q := &parts[i]
			want = append(want, q.marks...)
			if !forked {
				continue
			}
			finish(t, q.pen, text)
			main.Jump(&start)
			main.BeamOff(nil, true)
			main.MoveTo(nil, stop.X, stop.Y)
			main.MoveZ(nil, stop.Z)
			main.Wait(nil, "part %d", i)
			if err := main.Append(q.pen, &q.body); err != nil {
				t.Fatal(err)
			}
		}
		main.BeamOff(nil, true)
		finish(t, main, text)
		if mute { // no word of the program puts the beam on again behind a wait
			return
		}
		kept += len(want)
		c := checker{t: t, opt: &opt, ip: machine.New(opt.Machine), r: program.NewReader(bytes.NewReader(out.Bytes()), "written"), text: text, out: out.String()}
		c.marks(want)
	})
	if kept == 0 {
		t.Error("no burn was kept")
	}
}

// marks holds the burns of what was written to those meant.
func (c *checker) marks(want []mark) {
	near := 3*c.opt.Lateral() + rounding
	for {
		was := c.ip.State()
		var m machine.Move
		if !c.step(&m) {
			break
		}
		if !m.Burn {
			continue
		}
		if len(want) == 0 {
			c.fatalf(0, "a burn too many: %+v", m)
		}
		w := want[0]
		want = want[1:]
		for i, at := range [2][2]float64{m.XY(0), m.XY(1)} {
			if meant := [2][2]float64{w.from, w.to}[i]; math.Hypot(at[0]-meant[0], at[1]-meant[1]) > near {
				c.fatalf(w.line, "a burn from or to %v, meant %v", at, meant)
			}
		}
		if math.Abs(m.To.Z-w.z) > c.zStep() || math.Abs(m.Length-w.length) > near {
			c.fatalf(w.line, "a burn of %g mm to Z%g, meant %g to %g", m.Length, m.To.Z, w.length, w.z)
		}
		st := c.ip.During()
		again := w.beam == machine.NoBeam && st.BeamLit && !st.BeamFollows // behind a wait
		if st.Power.Cmp(w.power) != 0 || st.BeamWord != w.beam && !again {
			c.fatalf(w.line, "a burn with M%d and power %v, meant M%d and %v", st.BeamWord, st.Power, w.beam, w.power)
		}
		seconds := m.Seconds
		if m.Length > 0 {
			seconds = c.seconds(&m, &was)
		}
		if math.Abs(seconds-w.seconds) > (rewrite.FeedSlack*1.1+2*near/max(near, w.length))*w.seconds {
			c.fatalf(w.line, "a burn of %g s, meant %g", seconds, w.seconds)
		}
	}
	if len(want) > 0 {
		c.fatalf(want[0].line, "%d burns are missing", len(want))
	}
}
