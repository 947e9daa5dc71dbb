package rewrite_test

import (
	"bytes"
	"errors"
	"io"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"sagitta/internal/bench"
	"sagitta/internal/machine"
	"sagitta/internal/machine/drawn"
	"sagitta/internal/program"
	"sagitta/internal/rewrite"
	"sagitta/internal/stream"
)

const side = 60.0 // of the square that drawn programs stay in, in mm

// pick is rapid.SampledFrom for short.
func pick[T any](t *rapid.T, label string, from ...T) T {
	return rapid.SampledFrom(from).Draw(t, label)
}

// drawJob draws a program, and how it is to be written. sums tells that its lines
// have numbers and checksums.
func drawJob(t *rapid.T, without ...drawn.Construct) (text string, opt rewrite.Options, sums bool) {
	opt = rewrite.Options{
		Name: "drawn", Bench: bench.Bench{Machine: machine.DefaultConfig(), ZPlusAway: rapid.Bool().Draw(t, "away"), DecimalsMM: pick(t, "decimals", 3, 2), DecimalsInch: 5},
		Comments: rapid.Bool().Draw(t, "marker"), Marker: "sagitta 0 follow x",
	}
	switch pick(t, "kind", "job", "job", "job", "dense", "dense", "ramp") {
	case "dense":
		return drawn.Dense(t, side), opt, false
	case "ramp":
		burn := pick(t, "ramp", "G1 X25 Z3", "G91 G1 X20 Z2", "G3 X25 Z3 I10 J0", "G91 G3 X20 Z2 I10 J0")
		return "G21\nM5\nG0 X5 Y5 Z1\nM4 S5\n" + burn + " F600\nM5\n", opt, false
	}
	p := drawn.Draw(t, drawn.Options{Side: side, Without: without})
	opt.Machine, opt.Numbered = p.Config(), p.Numbered
	return p.Text, opt, p.Numbered
}

// each calls take for every item of a program, in order.
func each(t *rapid.T, text string, opt *rewrite.Options, blocks bool, take func(*stream.Item)) {
	s := stream.New(strings.NewReader(text), stream.Options{Name: "drawn", Machine: opt.Machine, Tolerance: 0.1, Blocks: blocks})
	err := s.Each(func(it *stream.Item) error {
		take(it)
		s.Done(it)
		return nil
	})
	if err != nil {
		t.Fatalf("%v\n%s", err, text)
	}
}

// finish ends the writing, in which nothing must have failed.
func finish(t *rapid.T, pen *rewrite.Pen, text string) {
	if err := pen.Finish(); err != nil {
		t.Fatalf("%v\n%s", err, text)
	}
}

// eachLine has the lines of runs written one by one as blocks, since each is
// looked at for its length.
func eachLine(opt *rewrite.Options) {
	if opt.LineMax == 0 || opt.LineMax >= program.MaxPlain {
		opt.LineMax = program.MaxPlain - 1
	}
}

// What asks for no correction comes out as it is, byte for byte.
func TestNoCorrectionGivesTheProgram(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text, opt, _ := drawJob(t)
		if rapid.Bool().Draw(t, "each line") {
			eachLine(&opt)
		}
		var out bytes.Buffer
		pen := rewrite.New(&out, &opt)
		each(t, text, &opt, rapid.Bool().Draw(t, "blocks"), func(it *stream.Item) { pen.Pass(it, rewrite.Target{}) })
		finish(t, pen, text)
		if out.String() != text {
			t.Fatalf("%s\nbecame\n%s", text, out.String())
		}
		if f := pen.Figures; f.Changed != 0 || f.Added != 0 || int(f.BytesIn) != len(text) || int(f.BytesOut) != len(text) {
			t.Fatalf("figures %+v of %d bytes", f, len(text))
		}
	})
}

// planner draws where items are to lead, as far as a caller may ask for it.
type planner struct {
	t *rapid.T
	c float64
}

func (q *planner) correction() float64 {
	return pick(q.t, "c", q.c, 0, 0.7, float64(rapid.IntRange(-400, 400).Draw(q.t, "c's"))/100, rapid.Float64Range(-3, 3).Draw(q.t, "any c"))
}

func (q *planner) plan(it *stream.Item) (p rewrite.Target) {
	m, known := &it.Move, it.Known() && it.Before.ZKnown && it.Before.XKnown && it.Before.YKnown
	if known && it.Before.Settled && it.Before.Beam == machine.Off && it.Moves() && m.Lost == 0 && rapid.IntRange(0, 3).Draw(q.t, "stroke") == 0 {
		q.c = q.correction()
		p.Stroke, p.Before = true, q.c
	}
	from := q.c
	if it.Moves() && known && m.Lost == 0 && m.Length > 0 {
		q.c = q.correction()
		if !it.IsRun() && m.Length > stream.ShortestCut {
			s, step := 0.0, stream.ClosestCut/m.Length
			for range rapid.IntRange(0, 3).Draw(q.t, "corners") {
				s += step + rapid.Float64Range(0, 0.4).Draw(q.t, "s")
				if s < 1-step {
					p.Corners = append(p.Corners, rewrite.Corner{S: s, C: q.correction()})
				}
			}
		}
	}
	if !it.After.ZKnown {
		q.c = 0 // an absolute Z will count from zero again
	}
	p.C = q.c
	if it.IsRun() && m.Burn {
		p.Room, p.Rate = pick(q.t, "room", 0, 0.004, 0.05), 2*math.Abs(p.C-from)/m.Seconds
	}
	return p
}

// written is what an item was passed with, and what the pen then says.
type written struct {
	plan   rewrite.Target
	it     stream.Item // without its lines
	start  float64     // the correction where it starts
	ends   []float64   // of the lines of a run, as parts of its length
	lines  int
	z      float64
	at     machine.Point
	placed bool
}

// What is written has the steps of the original with Z moved as planned; between
// them what is in force is the same, and at the end all of it. What the pen says
// of it is so.
func TestPlannedCorrections(t *testing.T) {
	changed, short := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		text, opt, sums := drawJob(t)
		opt.Rehearsal = pick(t, "rehearsal", false, false, false, true)
		opt.LineMax = pick(t, "line max", 0, 0, 20, 40, 200)
		var out bytes.Buffer
		pen, breaches := rewrite.New(&out, &opt), 0
		pen.Breached = func(b rewrite.Breach) {
			if b.Kind != rewrite.TooLong {
				t.Fatalf("%+v\n%s", b, text)
			}
			breaches++
		}
		var all []written
		q := planner{t: t}
		each(t, text, &opt, false, func(it *stream.Item) {
			w := written{start: q.c, it: *it}
			if w.plan = q.plan(it); w.plan.Stroke {
				w.start = w.plan.Before
			}
			if it.IsRun() {
				for _, v := range it.Lines() {
					w.ends = append(w.ends, (v.D-it.StartD)/it.Move.Length)
				}
			}
			pen.Pass(it, w.plan)
			w.lines, w.z = pen.LineCount(), pen.Z()
			if !it.IsRun() && len(it.Block.EOL()) == 0 {
				w.lines++
			}
			w.at, w.placed = pen.At()
			all = append(all, w)
		})
		finish(t, pen, text)
		c := checker{t: t, opt: &opt, ip: machine.New(opt.Machine), r: program.NewReader(bytes.NewReader(out.Bytes()), "written"), text: text, out: out.String()}
		for i := range all {
			c.item(&all[i])
		}
		c.rest(all[len(all)-1].it.After)
		if sums {
			c.numbers()
		}
		c.lengths(breaches)
		if strings.HasSuffix(text, "\n") != strings.HasSuffix(out.String(), "\n") {
			t.Fatalf("the last line of\n%s\nhas another end than that of\n%s", out.String(), text)
		}
		if crlf := strings.Count(text, "\r\n"); crlf == 0 && strings.Contains(out.String(), "\r") ||
			crlf == strings.Count(text, "\n") && strings.Count(out.String(), "\r\n") != strings.Count(out.String(), "\n") {
			t.Fatalf("other line ends in\n%q\nthan in\n%q", out.String(), text)
		}
		changed, short = changed+pen.Figures.Changed, short+breaches

		// Line by line as blocks it is the same.
		eachLine(&opt)
		var again bytes.Buffer
		blocks, i := rewrite.New(&again, &opt), 0
		each(t, text, &opt, false, func(it *stream.Item) {
			blocks.Pass(it, all[i].plan)
			i++
		})
		finish(t, blocks, text)
		if again.String() != out.String() {
			t.Fatalf("as runs\n%s\nas blocks\n%s", out.String(), again.String())
		}
	})
	if changed == 0 || short == 0 {
		t.Errorf("%d lines changed, %d too long", changed, short)
	}
}

// checker reads what was written by the machine alone.
type checker struct {
	t         *rapid.T
	opt       *rewrite.Options
	ip        *machine.Interpreter
	r         *program.Reader
	line      int
	text, out string
}

func (c *checker) fatalf(line int, format string, args ...any) {
	c.t.Helper()
	c.t.Logf("line %d of\n%s\nwritten, up to line %d, as\n%s", line, c.text, c.line, c.out)
	c.t.Fatalf(format, args...)
}

// rounding covers what nine decimals of an inch leave out, in mm.
const rounding = 2e-8

// step reads a line, and reports false behind the last.
func (c *checker) step(m *machine.Move) bool {
	b, err := c.r.Next()
	if errors.Is(err, io.EOF) {
		return false
	}
	if err == nil {
		err = c.ip.Step(b, m)
	}
	if err != nil {
		c.fatalf(0, "%v", err)
	}
	c.line = b.Line
	if c.opt.Rehearsal && (m.Burn || c.ip.State().Beam == machine.On) {
		c.fatalf(0, "a rehearsal burns")
	}
	return true
}

// zStep is how far in mm a Z may be from the one meant.
func (c *checker) zStep() float64 {
	return max(c.opt.Step(false), c.opt.Step(true))/2*(1+1e-6) + rounding
}

// item holds what was written of an item to it.
func (c *checker) item(w *written) {
	it := &w.it
	moves, burn, length, seconds, level := 0, 0.0, 0.0, 0.0, true
	for c.line < w.lines {
		was := c.ip.State()
		var m machine.Move
		if !c.step(&m) {
			c.fatalf(it.Block.Line, "it has no line %d", w.lines)
		}
		if m.Kind != machine.Line && m.Kind != machine.Arc || m.FromUnknown {
			continue
		}
		if m.Length > 0 {
			moves++
			length += m.Length
			seconds += c.seconds(&m, &was)
		}
		if m.Burn {
			burn += m.Length
		}
		level = level && m.Lost == 0
		if w.ends != nil && m.Length > 0 && moves <= len(w.ends) && level {
			want := it.Move.To.Z + c.opt.Sigma()*(w.start+(w.plan.C-w.start)*w.ends[moves-1])
			if math.Abs(m.To.Z-want) > w.plan.Room+c.zStep() {
				c.fatalf(it.Block.Line+moves-1, "Z%g, meant %g", m.To.Z, want)
			}
			part := m.Length / it.Move.Length
			most := max(w.plan.Rate*it.Move.Seconds*part, math.Abs(w.plan.C-w.start)*part) + 2*c.zStep()
			if rise := math.Abs(m.To.Z - m.From.Z); rise > most {
				c.fatalf(it.Block.Line+moves-1, "rises by %g, at most %g", rise, most)
			}
		}
		if m.Length > 0 && moves <= len(w.plan.Corners) {
			at := w.plan.Corners[moves-1]
			want := it.Move.From.Z + (it.Move.To.Z-it.Move.From.Z)*at.S + c.opt.Sigma()*at.C
			if math.Abs(m.To.Z-want) > c.zStep() {
				c.fatalf(it.Block.Line, "Z%g at corner %d, meant %g", m.To.Z, moves, want)
			}
		}
	}
	c.state(w)
	m := &it.Move
	if m.FromUnknown || m.Kind != machine.Line && m.Kind != machine.Arc || m.Length == 0 {
		return
	}
	if want := it.Count() + len(w.plan.Corners); moves != want {
		c.fatalf(it.Block.Line, "written in %d moves, not %d", moves, want)
	}
	beside := float64(1+len(w.plan.Corners)) * 3 * c.opt.Lateral() // of cut points
	if math.Abs(length-m.Length) > beside+rounding*(1+m.Length) || len(w.plan.Corners) == 0 && math.Abs(length-m.Length) > rounding*(1+m.Length) {
		c.fatalf(it.Block.Line, "written %g mm long, not %g", length, m.Length)
	}
	if !c.opt.Rehearsal && (m.Burn && !it.IsRun() && math.Abs(burn-length) > rounding || !m.Burn && burn > 0) {
		c.fatalf(it.Block.Line, "%g mm of %g burn", burn, length)
	}
	if m.Rapid || m.From.Z != m.To.Z {
		return
	}
	if slack := rewrite.FeedSlack*(1+0.1) + 2*beside/m.Length; math.Abs(seconds/m.Seconds-1) > slack {
		c.fatalf(it.Block.Line, "takes %g s over XY, not %g", seconds, m.Seconds)
	}
}

// seconds is the time of a move by F along its way.
func (c *checker) seconds(m *machine.Move, st *machine.State) float64 {
	if c.ip.During().InverseTime || m.Rapid || !c.opt.Machine.FeedCountsZ || c.opt.Machine.ZAxis != 'Z' || m.ZUnknown {
		return m.Seconds
	}
	return math.Hypot(m.Length, m.To.Z-m.From.Z) / m.Feed * 60
}

// state holds what is in force behind an item to what the original has in force
// there, and to what the pen says.
func (c *checker) state(w *written) {
	got, want, line := c.ip.State(), w.it.After, w.it.Block.Line
	if want.ZKnown && (math.Abs(got.At.Z-w.z) > rounding || math.Abs(got.At.Z-want.At.Z-c.opt.Sigma()*w.plan.C) > c.zStep()) {
		c.fatalf(line, "stands at Z%g, said %g, meant %g%+g", got.At.Z, w.z, want.At.Z, c.opt.Sigma()*w.plan.C)
	}
	if got.XKnown && got.YKnown && (!w.placed || math.Abs(got.At.X-w.at.X) > rounding || math.Abs(got.At.Y-w.at.Y) > rounding) {
		c.fatalf(line, "stands at %g,%g, said %g,%g", got.At.X, got.At.Y, w.at.X, w.at.Y)
	}
	if want.XKnown && math.Abs(got.At.X-want.At.X) > rounding || want.YKnown && math.Abs(got.At.Y-want.At.Y) > rounding {
		c.fatalf(line, "stands at %g,%g, not %g,%g", got.At.X, got.At.Y, want.At.X, want.At.Y)
	}
	if math.Abs(got.Offset.Z-want.Offset.Z) > rounding {
		c.fatalf(line, "an offset of Z of %g, not %g", got.Offset.Z, want.Offset.Z)
	}
	for _, st := range []*machine.State{&got, &want} {
		st.At, st.Motion, st.Feed, st.FeedSaid, st.FeedInches = machine.Point{}, 0, program.Number{}, false, false
		st.Offset.Z, st.Stored.Z, st.Settled = 0, 0, false
		if c.opt.Rehearsal {
			st.Beam, st.BeamWord, st.BeamLit, st.BeamFollows, st.Power, st.PowerSaid = 0, 0, false, false, program.Number{}, false
		}
	}
	if got != want {
		c.fatalf(line, "in force is\n%+v, not\n%+v", got, want)
	}
}

// rest reads what stands behind the last item, and holds what the program ends
// with to that of the original.
func (c *checker) rest(want machine.State) {
	var m machine.Move
	for c.step(&m) {
	}
	got := c.ip.State()
	if want.Motion >= 0 && got.Motion != want.Motion || !want.InverseTime && want.Feed.Mant > 0 && got.Feed.Cmp(want.Feed) != 0 {
		c.fatalf(0, "ends in G%d at F%v, not G%d at F%v", got.Motion, got.Feed, want.Motion, want.Feed)
	}
}

// numbers holds the numbers of lines that all have one to rise. (The reader holds
// their checksums to be right.)
func (c *checker) numbers() {
	last := int64(-1)
	r := program.NewReader(strings.NewReader(c.out), "written")
	for {
		b, err := r.Next()
		if err != nil {
			return
		}
		n, words := b.LineNumber()
		if len(b.Words) == 0 {
			continue
		}
		if words == 0 || n <= last {
			c.fatalf(0, "line %d is numbered %d behind %d", b.Line, n, last)
		}
		last = n
	}
}

// lengths holds the lines that are longer than the controller takes to those that
// the pen says.
func (c *checker) lengths(said int) {
	n := 0
	for _, line := range strings.Split(c.out, "\n") {
		if c.opt.LineMax > 0 && len(strings.TrimRight(line, "\r")) > c.opt.LineMax {
			n++
		}
	}
	if n != said {
		c.fatalf(0, "%d lines are longer than %d, %d said", n, c.opt.LineMax, said)
	}
}
