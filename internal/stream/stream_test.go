package stream_test

import (
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"
	"testing"
	"testing/iotest"

	"github.com/paulmach/orb"
	"pgregory.net/rapid"

	"sagitta/internal/machine"
	"sagitta/internal/machine/drawn"
	"sagitta/internal/program"
	"sagitta/internal/stream"
	"sagitta/internal/surface"
	"sagitta/internal/surface/surfacetest"
)

const side = 60.0 // of the square that drawn programs stay in, in mm

// pick is rapid.SampledFrom for short.
func pick[T any](t *rapid.T, label string, from ...T) T {
	return rapid.SampledFrom(from).Draw(t, label)
}

// drawProgram draws a program, and how it is to be read.
func drawProgram(t *rapid.T) (text string, opt stream.Options) {
	opt = stream.Options{
		Name: "drawn", Machine: machine.DefaultConfig(), Tolerance: pick(t, "tolerance", 0.001, 0.02, 0.3), Lateral: pick(t, "lateral", 0, 0.002),
		HoldBurns: pick(t, "hold", false, false, true), MixTravels: rapid.Bool().Draw(t, "mix"), Blocks: pick(t, "blocks", false, false, false, true),
	}
	opt.RunSeconds = pick(t, "run seconds", 0, 0, 0.01, 0.2)
	opt.MixTravels = opt.MixTravels && !opt.HoldBurns
	every := pick(t, "kinds", 0, 3, 40)
	if by := pick(t, "by", "line", "tool", "feed", "power"); every > 0 {
		opt.Kinds = &stream.Kinds{Of: []int{0, 1, 0, 2}, Rule: func(line, tool int, feed, power float64) int {
			return int(map[string]float64{"line": float64(line), "tool": float64(tool+1) * 40, "feed": feed, "power": power}[by]) / every % 4
		}}
	}
	if pick(t, "surface", true, true, false) {
		opt.Surface = surfacetest.Draw(t, side, []float64{0.5, 5, 20}, []float64{0, 0.2, 3}).Placed(t)
	}
	if rapid.Bool().Draw(t, "dense") {
		return drawn.Dense(t, side), opt
	}
	p := drawn.Draw(t, drawn.Options{Side: side})
	opt.Machine = p.Config()
	return p.Text, opt
}

// told is all that an item tells.
type told struct {
	line, count           int
	text, words           string
	move                  machine.Move
	actions               machine.Actions
	before, during, after machine.State
	pieces                string
	run                   [2]stream.Sample
	burns                 int
	length                float64
}

func tell(it *stream.Item) told {
	d := told{line: it.Block.Line, count: it.Count(), move: it.Move, actions: it.Actions, before: it.Before, during: it.During, after: it.After,
		pieces: fmt.Sprint(it.Pieces()), run: [2]stream.Sample{it.Low, it.High}, burns: it.Burns, length: it.BurnLength}
	if d.text = string(it.Block.Raw); it.IsRun() {
		d.text = string(it.Text(0, d.count))
	} else {
		d.words = fmt.Sprint(it.Block.Words)
	}
	return d
}

// The same program gives the same items however reads fall, and an item stays what
// it is until it is done with, however many are waited with.
func TestItemsWhateverTheReads(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text, opt := drawProgram(t)
		read := func(r io.Reader, wait int) (all []told) {
			s := stream.New(r, opt)
			var waiting []*stream.Item
			err := s.Each(func(it *stream.Item) error {
				all = append(all, tell(it))
				waiting = append(waiting, it)
				if len(waiting) > wait {
					first := len(all) - len(waiting)
					if now := tell(waiting[0]); now != all[first] {
						t.Fatalf("item %d became\n%+v, it was\n%+v", first, now, all[first])
					}
					s.Done(waiting[0])
					waiting = waiting[1:]
				}
				return nil
			})
			if err != nil {
				t.Fatalf("%v\n%s", err, text)
			}
			return all
		}
		want := read(strings.NewReader(text), 0)
		for _, r := range []io.Reader{strings.NewReader(text), iotest.OneByteReader(strings.NewReader(text)), iotest.DataErrReader(iotest.HalfReader(strings.NewReader(text)))} {
			got := read(r, rapid.IntRange(0, 400).Draw(t, "wait"))
			if !slices.Equal(got, want) {
				t.Fatalf("by other reads\n%+v, by one\n%+v\n%s", got, want, text)
			}
		}
	})
}

// The items are the program: their lines are its bytes, and each does what the
// machine alone makes of it.
func TestItemsAreTheMachinesMoves(t *testing.T) {
	runs, kinds := 0, map[int]int{}
	rapid.Check(t, func(t *rapid.T) {
		text, opt := drawProgram(t)
		tool := -1
		matched := make([]stream.Matched, 4)
		lines, ip := program.NewReader(strings.NewReader(text), "drawn"), machine.New(opt.Machine)
		var whole strings.Builder
		var one stream.Item
		s := stream.New(strings.NewReader(text), opt)
		err := s.Each(func(it *stream.Item) error {
			burns, length := 0, 0.0
			for k := range it.Count() {
				line := it
				if it.IsRun() {
					runs++
					line = &one
					it.LineItem(k, line)
				}
				b, err := lines.Next()
				if err != nil {
					t.Fatal(err)
				}
				before := ip.State()
				var m machine.Move
				if err := ip.Step(b, &m); err != nil {
					t.Fatal(err)
				}
				whole.Write(line.Block.Raw)
				if string(line.Block.Raw) != string(b.Raw) || line.Block.Line != b.Line || fmt.Sprint(line.Block.Words) != fmt.Sprint(b.Words) {
					t.Fatalf("line %d is %q, not %q", line.Block.Line, line.Block.Raw, b.Raw)
				}
				if line.Actions != ip.Actions() {
					t.Fatalf("line %d does %+v, not %+v", b.Line, line.Actions, ip.Actions())
				}
				if line.Before != before || line.During != ip.During() || line.After != ip.State() {
					t.Fatalf("line %d: before, during and after\n%+v\n%+v\n%+v, not\n%+v\n%+v\n%+v\n%s", b.Line,
						line.Before, line.During, line.After, before, ip.During(), ip.State(), text)
				}
				sameMove(t, b.Line, line.Move, m)
				for _, w := range b.Words {
					if w.Letter == 'T' {
						tool = int(w.Num.Float())
					}
				}
				kind, feed := 0, m.Feed
				if during := ip.During(); during.InverseTime && m.Seconds > 0 {
					feed = 60 * m.Length / m.Seconds
				}
				if opt.Kinds != nil && m.Burn {
					rule := opt.Kinds.Rule(b.Line, tool, feed, m.Power)
					kind = opt.Kinds.Of[rule]
					kinds[kind]++
					matched[rule].Burns++
					matched[rule].LengthMM += m.Length
				}
				if m.Burn && (line.Kind != kind || it.Kind != kind) {
					t.Fatalf("line %d is of kind %d, in an item of kind %d, not %d\n%s", b.Line, line.Kind, it.Kind, kind, text)
				}
				if m.Burn {
					burns, length = burns+1, length+m.Length
				}
			}
			if it.IsRun() && it.Count() > 1 && opt.RunSeconds > 0 && it.Move.Seconds > opt.RunSeconds*(1+1e-9) {
				t.Fatalf("a run from line %d of %d lines takes %g s, more than %g", it.Block.Line, it.Count(), it.Move.Seconds, opt.RunSeconds)
			}
			if it.IsRun() && (it.Burns != burns || math.Abs(it.BurnLength-length) > 1e-9*(1+length)) {
				t.Fatalf("a run from line %d has %d burns of %g mm, not %d of %g", it.Block.Line, it.Burns, it.BurnLength, burns, length)
			}
			s.Done(it)
			return nil
		})
		if err != nil {
			t.Fatal(err)
		}
		for rule, got := range s.Remarks().Rules {
			if want := matched[rule]; got.Burns != want.Burns || math.Abs(got.LengthMM-want.LengthMM) > 1e-9*(1+want.LengthMM) {
				t.Fatalf("rule %d has matched %+v, not %+v\n%s", rule, got, want, text)
			}
		}
		if whole.String() != text {
			t.Fatalf("the items are\n%s\nof\n%s", whole.String(), text)
		}
	})
	if runs == 0 || len(kinds) < 3 {
		t.Errorf("%d lines in runs, kinds %v, in all drawn programs", runs, kinds)
	}
}

// sameMove holds the move of a line to that of the machine, whose length and time
// may differ by what sums along a run lose.
func sameMove(t *rapid.T, line int, got, want machine.Move) {
	const lost = 1e-9
	if math.Abs(got.Length-want.Length) > lost*(1+want.Length) || math.Abs(got.Seconds-want.Seconds) > lost*(1+want.Seconds) ||
		math.Abs(got.Feed-want.Feed) > lost*want.Feed {
		t.Fatalf("line %d is %g mm in %g s at %g, not %g in %g at %g", line, got.Length, got.Seconds, got.Feed, want.Length, want.Seconds, want.Feed)
	}
	got.Length, got.Seconds, got.Feed = want.Length, want.Seconds, want.Feed
	if got != want {
		t.Fatalf("line %d moves %+v, not %+v", line, got, want)
	}
}

// The heights beneath a move lie within what its pieces certify, those of a run
// close to straight, and those under its burns between its lowest and its highest
// place.
func TestHeightsAreCertified(t *testing.T) {
	const rounding = 1e-9
	seen := 0
	rapid.Check(t, func(t *rapid.T) {
		text, opt := drawProgram(t)
		if opt.Surface == nil {
			return
		}
		var one stream.Item
		s := stream.New(strings.NewReader(text), opt)
		err := s.Each(func(it *stream.Item) error {
			defer s.Done(it)
			pieces := it.Pieces()
			if len(pieces) == 0 || it.Move.FromUnknown {
				return nil
			}
			if p := &pieces[0]; it.Count() > 1 && !opt.HoldBurns && max(p.Up, p.Down) > 2*opt.Tolerance+rounding {
				t.Fatalf("the run from line %d is up to %g mm above and %g below straight", it.Block.Line, p.Up, p.Down)
			}
			d := 0.0
			for k := range it.Count() {
				m := &it.Move
				if it.IsRun() {
					it.LineItem(k, &one)
					m = &one.Move
				}
				for _, part := range []float64{0, 0.3, 0.5, 0.9, 1} {
					at := m.XY(part)
					h, where := opt.Surface.At(at[0], at[1])
					if where != surface.On {
						continue
					}
					seen++
					place := 1.0
					if it.Move.Length > 0 {
						place = min(1, (d+part*m.Length)/it.Move.Length)
					}
					low, high := bounds(pieces, place, opt.HoldBurns && it.IsRun() && it.Move.Burn)
					if h < low-rounding || h > high+rounding {
						t.Fatalf("line %d at %g,%g is %g high, not between %g and %g\n%s", it.Block.Line+k, at[0], at[1], h, low, high, text)
					}
					if it.IsRun() && m.Burn && (h < it.Low.H-opt.Tolerance-rounding || h > it.High.H+opt.Tolerance+rounding) {
						t.Fatalf("line %d at %g,%g is %g high, the run from %g to %g", it.Block.Line+k, at[0], at[1], h, it.Low.H, it.High.H)
					}
				}
				d += m.Length
			}
			if it.IsRun() && it.Burns > 0 {
				burnsAt(t, it, it.Low)
				burnsAt(t, it, it.High)
			}
			return nil
		})
		if err != nil {
			t.Fatal(err)
		}
	})
	if seen == 0 {
		t.Error("no height was looked at")
	}
}

// burnsAt wants a place of a run on one of its burns.
func burnsAt(t *rapid.T, it *stream.Item, at stream.Sample) {
	const lost = 1e-9
	from := it.StartD
	for _, v := range it.Lines() {
		if v.Burn && at.D >= from-lost && at.D <= v.D+lost {
			return
		}
		from = v.D
	}
	t.Fatalf("the run from line %d is said to burn at %g mm of it", it.Block.Line, at.D-it.StartD)
}

// bounds are those of the height at a fraction of a move; or of all of it.
func bounds(pieces []surface.Piece, s float64, all bool) (low, high float64) {
	low, high = math.Inf(1), math.Inf(-1)
	for _, p := range pieces {
		h := p.H0
		if p.S1 > p.S0 {
			h += (p.H1 - p.H0) * (s - p.S0) / (p.S1 - p.S0)
		}
		if all || s >= p.S0-1e-9 && s <= p.S1+1e-9 {
			low, high = min(low, h-p.Down), max(high, h+p.Up)
		}
	}
	return low, high
}

// A run that is to be looked at line by line comes as blocks; the box that is asked
// for holds all of it.
func TestAlone(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text, opt := drawn.Dense(t, side), stream.Options{Name: "drawn", Machine: machine.DefaultConfig(), Tolerance: 0.05,
			Surface: surfacetest.Draw(t, side, []float64{5, 20}, []float64{1}).Placed(t)}
		split := 10 + 40*rapid.Float64Range(0, 1).Draw(t, "split")
		opt.Alone = func(_, _, x1, _, _, _ float64) bool { return x1 > split }
		s := stream.New(strings.NewReader(text), opt)
		err := s.Each(func(it *stream.Item) error {
			defer s.Done(it)
			if !it.IsRun() {
				return nil
			}
			for _, v := range it.Lines() {
				if v.X > split {
					t.Fatalf("a run from line %d goes to X%g, beyond %g", it.Block.Line, v.X, split)
				}
			}
			return nil
		})
		if err != nil {
			t.Fatal(err)
		}
	})
}

// Each gives the first error there is: the taker's, the check's or the text's.
// Nothing is taken behind it.
func TestErrorsEndTheReading(t *testing.T) {
	const text = "M5\nG0 X10 Y10\nM4 S5\nG1 X20 F1000\nX21\nX22\nG1 X=5\nX23\n"
	own := errors.New("own")
	read := func(opt stream.Options, last int) (lines int, err error) {
		opt.Name, opt.Machine = "job", machine.DefaultConfig()
		s := stream.New(strings.NewReader(text), opt)
		err = s.Each(func(it *stream.Item) error {
			lines = it.Block.Line + it.Count() - 1
			if last > 0 && lines >= last {
				return own
			}
			s.Done(it)
			return nil
		})
		return lines, err
	}
	if n, err := read(stream.Options{}, 3); n != 3 || !errors.Is(err, own) {
		t.Errorf("the taker's error: line %d, %v", n, err)
	}
	check := func(it *stream.Item) error {
		if it.Block.Line == 2 {
			return own
		}
		return nil
	}
	if n, err := read(stream.Options{Check: check}, 0); n != 1 || !errors.Is(err, own) {
		t.Errorf("the check's error: line %d, %v", n, err)
	}
	if n, err := read(stream.Options{}, 0); n != 6 || err == nil || !strings.HasPrefix(err.Error(), "job:7:") {
		t.Errorf("the text's error: line %d, %v", n, err)
	}
}

// Burns that close on themselves are counted, in whatever parts they are read, and
// no others.
func TestClosedBurns(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var b strings.Builder
		b.WriteString("G21 G90 M3 S0 F900\nG0 X0 Y0\n")
		want, first, line := 0, 0, 2
		put := func(format string, args ...any) {
			fmt.Fprintf(&b, format+"\n", args...)
			line++
		}
		for range rapid.IntRange(0, 5).Draw(t, "figures") {
			x, y := rapid.Float64Range(0, 60).Draw(t, "x"), rapid.Float64Range(0, 60).Draw(t, "y")
			put("%s X%.3f Y%.3f S0", pick(t, "travel", "G0", "G1"), x, y)
			closes := true
			switch kind := pick(t, "kind", "polygon", "circle", "arcs", "open", "to and fro", "row"); kind {
			case "polygon", "open":
				n, turn := rapid.IntRange(3, 20).Draw(t, "corners"), pick(t, "turn", 1.0, -1)
				r := rapid.Float64Range(2, 20).Draw(t, "radius") // no side is as short as a cut is wide
				closes = kind == "polygon"
				for k := 1; k < n || closes && k == n; k++ {
					a := turn * 2 * math.Pi * float64(k) / float64(n)
					put("G1 X%.3f Y%.3f S500", x+r*(math.Cos(a)-1), y+r*math.Sin(a))
				}
			case "circle":
				put("%s I%.3f S500", pick(t, "way", "G2", "G3"), rapid.Float64Range(0.2, 9).Draw(t, "r"))
			case "arcs":
				put("G2 X%.3f Y%.3f I5 S500", x+10, y)
				put("G1 X%.3f Y%.3f", x, y)
			case "to and fro":
				put("G1 X%.3f Y%.3f S500", x+20, y+3)
				put("G1 X%.3f Y%.3f", x, y)
				closes = false
			case "row":
				for k := 1; k <= 30; k++ {
					put("G1 X%.3f S%d", x+0.1*float64(k), 100*(k%3))
				}
				closes = false
			}
			if closes {
				if want++; want == 1 {
					first = line
				}
			}
		}
		for _, blocks := range []bool{false, true} {
			opt := stream.Options{Name: "drawn", Machine: machine.DefaultConfig(), Tolerance: 0.01, Blocks: blocks, MixTravels: true}
			var c stream.Closed
			if err := stream.Scan(strings.NewReader(b.String()), opt, c.Take); err != nil {
				t.Fatal(err)
			}
			if c.Count != want || c.Line != first {
				t.Fatalf("%d closed, the first at line %d; want %d and %d\n%s", c.Count, c.Line, want, first, &b)
			}
		}
	})
}

// The rectangle about all burns is that of the places that their moves, read one by one,
// go over.
func TestBurnedIsWhatBurnsGoOver(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text, opt := drawProgram(t)
		var c stream.Closed
		if err := stream.Scan(strings.NewReader(text), opt, c.Take); err != nil {
			t.Fatal(err)
		}
		want, some := orb.Bound{}, false
		opt.Blocks = true
		err := stream.Scan(strings.NewReader(text), opt, func(it *stream.Item) {
			m := &it.Move
			if !m.Burn || m.Kind == machine.Dwell {
				return
			}
			const steps = 200
			for k := range steps + 1 {
				at := orb.Point(m.XY(float64(k) / steps))
				if !some {
					want, some = at.Bound(), true
				}
				want = want.Extend(at)
			}
		})
		got := c.Burned()
		const off = 0.05 // of an arc between steps
		if err != nil || some && (!got.Pad(1e-9).Contains(want.Min) || !got.Pad(1e-9).Contains(want.Max) || !want.Pad(off).Contains(got.Min) || !want.Pad(off).Contains(got.Max)) {
			t.Fatalf("%v: burned over %v, want %v\n%s", err, got, want, text)
		}
	})
}
