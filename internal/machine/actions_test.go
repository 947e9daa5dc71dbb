package machine

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"sagitta/internal/program"
)

// blockOf reads a line.
func blockOf(t tester, text string) *program.Block {
	t.Helper()
	b, err := program.NewReader(strings.NewReader(text), "t.nc").Next()
	if err != nil {
		t.Fatalf("%q: %v", text, err)
	}
	return b
}

// says lists what the words of a block do, each with its text.
func says(b *program.Block, a *Actions) string {
	var s []string
	add := func(what string, words WordSet) {
		for i := range words.All() {
			s = append(s, what+" "+string(b.Raw[b.Words[i].Start:b.Words[i].End]))
		}
	}
	for group, name := range [Groups]string{"once", "motion", "plane", "distance", "feed mode", "units", "cutter", "length", "work", "path", "arcs"} {
		add(name, a.G[group].Set())
	}
	axes := a.X.Set() | a.Y.Set() | a.Z.Set()
	add("axis", axes)
	add("arc", a.I.Set()|a.J.Set()|a.K.Set()|a.R.Set())
	add("feed", a.F.Set())
	add("power", a.Power.Set())
	add("P", a.P.Set())
	add(map[bool]string{false: "off", true: "on"}[a.BeamOn], a.Beam.Set())
	add("coolant", a.Coolant)
	add("passed", a.Passed)
	add("unknown", a.Unknown)
	add(map[bool]string{false: "pause", true: "end"}[a.Ends], a.Stop.Set())
	return strings.Join(s, ", ")
}

// What each construct of the table of docs/programs.md does; for the words that a writer
// of programs must know of, that they are told from those beside them.
func TestActions(t *testing.T) {
	bench := DefaultConfig()
	bench.BeamOn, bench.BeamOff, bench.PowerFollows, bench.PowerWord, bench.ZAxis = []int{8, 106, 212}, []int{9, 107}, []int{212}, 'P', 'W'
	for _, c := range []struct {
		cfg        Config
		text, want string
	}{
		{DefaultConfig(), "", ""},
		{DefaultConfig(), "(M3) N5 T1", ""},
		{DefaultConfig(), "g1 x100 f2400 s300", "motion g1, axis x100, feed f2400, power s300"},
		{DefaultConfig(), "M3 S0", "power S0, on M3"},
		{DefaultConfig(), "M5 G0 X0 Y0 M2", "motion G0, axis X0, axis Y0, off M5, end M2"},
		{DefaultConfig(), "M30", "end M30"},
		{DefaultConfig(), "M0 X5", "axis X5, pause M0"},
		{DefaultConfig(), "M60", "pause M60"},
		{DefaultConfig(), "G2 X210 I100 J.5 K1 R2", "motion G2, axis X210, arc I100, arc J.5, arc K1, arc R2"},
		{DefaultConfig(), "G90.1 G91", "distance G91, arcs G90.1"},
		{DefaultConfig(), "G4 P0.5", "once G4, P P0.5"},
		{DefaultConfig(), "G20 G93 G55 G64 P.1", "feed mode G93, units G20, work G55, path G64, P P.1"},
		{DefaultConfig(), "G92 X7 Z2", "once G92, axis X7, axis Z2"},
		{DefaultConfig(), "G92.3", "once G92.3"},
		{DefaultConfig(), "G53 G0 Z0", "once G53, motion G0, axis Z0"},
		{DefaultConfig(), "G28", "once G28"},
		{DefaultConfig(), "G10 L2 P2 X5", "once G10, axis X5, P P2"},
		{DefaultConfig(), "G17 G40 G49 G80 G94", "motion G80, plane G17, feed mode G94, cutter G40, length G49"},
		{DefaultConfig(), "M7 M08 M9 M6 M48", "coolant M7, coolant M08, coolant M9, passed M6, passed M48"},
		{DefaultConfig(), "M117 X1: 5*3 [mm]", "passed M117"},
		{DefaultConfig(), "N4 M110 N9", "passed M110"},
		{DefaultConfig(), "M812 P5 S3 M106", "P P5, unknown M812, unknown M106"},
		{DefaultConfig(), "M812 S3 M3", "power S3, on M3, unknown M812"},
		{DefaultConfig(), "M812 S3 G1", "motion G1, power S3, unknown M812"},
		{DefaultConfig(), "/M8", "coolant M8"},
		{bench, "M8 P5 M3 W3", "axis W3, power P5, on M8, passed M3"},
		{bench, "M3 P5", "passed M3"},
		{bench, "M212 S5 M107X1", "error"},
		{bench, "M9 G4 P2", "once G4, P P2, off M9"},
		{bench, "M7", "coolant M7"},
	} {
		b := blockOf(t, c.text+"\n")
		a, err := c.cfg.Actions(b)
		got := says(b, &a)
		if err != nil {
			got = "error"
		}
		if got != c.want {
			t.Errorf("%q: %s, want %s (%v)", c.text, got, c.want, err)
		}
	}
	a, _ := bench.Actions(blockOf(t, "M212 G20 G91\n"))
	if !a.BeamFollows || a.Codes[Units] != 200 || a.Codes[Distance] != 910 || a.G[FeedMode] != 0 || a.G[ArcMode] != 0 {
		t.Errorf("%+v", a)
	}
	b := blockOf(t, "M5 G91 G20 X3 G54 F1\n")
	a, _ = bench.Actions(b)
	if got := slices.Collect(a.Places().All()); !slices.Equal(got, []int{1, 2, 4}) || a.Places().Has(0) || !a.Places().Has(4) {
		t.Errorf("words of places: %v", got)
	}
	many := make([]string, maxWords+1)
	for k := range many {
		many[k] = "M" + strconv.Itoa(1000+k)
	}
	if _, err := bench.Actions(blockOf(t, strings.Join(many[1:], " ")+"\n")); err != nil {
		t.Error(err)
	}
	if _, err := bench.Actions(blockOf(t, strings.Join(many, " ")+"\n")); !isUnsupported(err) {
		t.Errorf("%d words: %v", maxWords+1, err)
	}
}

// drawLines draws lines of all kinds, and leaves out those that are refused.
func drawLines(t *rapid.T) []string {
	one := func(name string, of ...string) string { return rapid.SampledFrom(of).Draw(t, name) }
	var lines []string
	for range rapid.IntRange(1, 20).Draw(t, "lines") {
		words := []string{
			one("motion", "", "", "G0", "G1", "g01", "G80"), one("units", "", "", "", "G20", "G21"),
			one("distance", "", "", "", "G90", "G91.0"), one("feed mode", "", "", "", "", "G93", "G94"),
			one("arcs", "", "", "", "G90.1", "G91.1"), one("work", "", "", "", "", "G55", "G59.1"),
			one("path", "", "", "", "G61", "G61.1", "G64", "G64 P0.10"), one("beam", "", "", "M3", "M4", "M5"),
			one("power", "", "", "S0", "S5", "S.50"), one("feed", "", "F9", "F100.0"),
			one("coolant", "", "", "M7", "M8", "M9", "M7 M8"), one("other", "", "", "T1 M6", "M106", "M48"),
			one("stop", "", "", "", "", "M0", "M2", "M30"),
			one("places", "", "X1 Y2", "X0.5", "Z-1", "G92 X7", "G92 Y.1 Z2", "G92.1", "G92.2", "G92.3"),
		}
		lines = append(lines, strings.Join(rapid.Permutation(words).Draw(t, "order"), " "))
		if _, _, err := runWith(at(3, 4), strings.Join(lines, "\n")); err != nil {
			lines = lines[:len(lines)-1]
		}
	}
	return lines
}

// steps runs lines, and calls do after each with the state before it. It returns
// nil where a line is refused.
func steps(t tester, lines []string, do func(b *program.Block, before State, ip *Interpreter)) *Interpreter {
	cfg := at(3, 4)
	ip := New(cfg)
	r := program.NewReader(strings.NewReader(strings.Join(lines, "\n")+"\n"), "t.nc")
	for range lines {
		b, err := r.Next()
		if err != nil {
			t.Fatalf("%q: %v", lines, err)
		}
		before := ip.State()
		var m Move
		if ip.Step(b, &m) != nil {
			return nil
		}
		do(b, before, ip)
	}
	return ip
}

// What the pass says of a block is what Step does for it: every word has its
// place, and the modes in force are those before it with the block's own.
func TestActionsAreWhatStepDoes(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		lines := drawLines(t)
		steps(t, lines, func(b *program.Block, before State, ip *Interpreter) {
			cfg := at(3, 4)
			a, err := cfg.Actions(b)
			if err != nil || a != ip.Actions() {
				t.Fatalf("%q: %+v %v, Step has %+v", b.Raw, a, err, ip.Actions())
			}
			for i, w := range b.Words {
				n := 0
				for _, s := range []WordSet{a.Beam.Set(), a.Stop.Set(), a.Coolant, a.Passed, a.Unknown} {
					if s.Has(i) {
						n++
					}
				}
				if (w.Letter == 'M') != (n == 1) || n > 1 {
					t.Fatalf("%q: word %d is in %d sets", b.Raw, i, n)
				}
			}
			want := before
			motions := map[GCode]int8{0: 0, 10: 1, 20: 2, 30: 3, 800: noMotion}
			set := func(r Ref, do func(w *program.Word)) {
				if w := r.In(b); w != nil {
					do(w)
				}
			}
			set(a.G[MotionMode], func(*program.Word) { want.Motion = motions[a.Codes[MotionMode]] })
			set(a.G[Units], func(*program.Word) { want.Inches = a.Codes[Units] == 200 })
			set(a.G[Distance], func(*program.Word) { want.Relative = a.Codes[Distance] == 910 })
			set(a.G[FeedMode], func(*program.Word) { want.InverseTime = a.Codes[FeedMode] == 930 })
			set(a.Power, func(w *program.Word) { want.Power = w.Num })
			set(a.Beam, func(w *program.Word) { want.BeamLit, want.BeamFollows = a.BeamOn, a.BeamFollows })
			d := ip.During()
			if got := (State{Motion: d.Motion, Inches: d.Inches, Relative: d.Relative, InverseTime: d.InverseTime, Power: d.Power, BeamLit: d.BeamLit, BeamFollows: d.BeamFollows}); got !=
				(State{Motion: want.Motion, Inches: want.Inches, Relative: want.Relative, InverseTime: want.InverseTime, Power: want.Power, BeamLit: want.BeamLit, BeamFollows: want.BeamFollows}) {
				t.Fatalf("%q: in force %+v, want %+v", b.Raw, got, want)
			}
			if !a.Ends && d != ip.State() {
				t.Fatalf("%q: after it %+v, during it %+v", b.Raw, ip.State(), d)
			}
		})
	})
}

// decimalOf is the decimal that a place or an offset stands for.
func decimalOf(mm float64) program.Number { return program.Round(mm, decimalsMM).Trim() }

// spell writes a program that brings a bench whose head stands at st.At to the
// state st.
func spell(st *State) string {
	var s strings.Builder
	units := map[bool]string{false: "G21", true: "G20"}
	line := func(format string, a ...any) { fmt.Fprintf(&s, format+"\n", a...) }
	if st.Arcs == UnknownArcs {
		line("G90.1 M2")
	}
	line("G21 G90")
	if st.Stored != (Point{}) {
		line("G92 X%v Y%v Z%v", decimalOf(st.At.X-st.Stored.X), decimalOf(st.At.Y-st.Stored.Y), decimalOf(st.At.Z-st.Stored.Z))
		if st.Offset == (Point{}) {
			line("G92.2")
		}
	}
	if st.Path != 0 {
		p := ""
		if st.PathHasP {
			p = " P" + st.PathP.String()
		}
		line("%s G%v%s", units[st.PathInches], st.Path.Number(), p)
	}
	line("G%d", map[bool]int{false: 94, true: 93}[st.InverseTime])
	if st.FeedSaid {
		line("%s F%v", units[st.FeedInches], st.Feed)
	}
	line("%s G%d", units[st.Inches], map[bool]int{false: 90, true: 91}[st.Relative])
	if st.Work != 0 {
		line("G%v", st.Work.Number())
	}
	if st.Motion >= 0 {
		line("G%d", st.Motion)
	}
	if st.Arcs == AbsoluteArcs {
		line("G90.1")
	}
	if st.PowerSaid {
		line("S%v", st.Power)
	}
	if st.BeamWord != NoBeam {
		line("M%d", st.BeamWord)
	}
	for m, on := range map[int]bool{7: st.Mist, 8: st.Flood} {
		if on {
			line("M%d", m)
		}
	}
	return s.String()
}

// A state says all that another program needs to come to the same state, and
// spells numbers as the program did.
func TestStateIsComplete(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		lines := drawLines(t)
		if i := rapid.IntRange(0, len(lines)).Draw(t, "end"); rapid.Bool().Draw(t, "ends") {
			lines = slices.Insert(lines, i, "M2")
		}
		ip := steps(t, lines, func(*program.Block, State, *Interpreter) {})
		if ip == nil {
			return
		}
		want := ip.State()
		cfg := at(want.At.X, want.At.Y)
		cfg.Start.Z = want.At.Z
		_, got, err := runWith(cfg, spell(&want))
		// What was never said, or no longer counts, is of no account.
		for _, st := range []*State{&want, &got} {
			st.Settled, st.Moved, st.Placed, st.Said = false, false, false, 0
			if !st.FeedSaid {
				st.FeedInches, st.Feed = false, program.Number{}
			}
			if st.Arcs == UnknownArcs {
				st.BeamWord, st.Beam, st.Motion = 0, 0, 0
			}
		}
		if err != nil || got != want {
			t.Fatalf("%q: %v\n%s\n%+v, want\n%+v", lines, err, spell(&want), got, want)
		}
	})
}

func TestActionsDoNotAllocate(t *testing.T) {
	ip := New(at(0, 0))
	blocks := []*program.Block{blockOf(t, "M4 S5 M8 G1 X1 Y2 F100 G91\n"), blockOf(t, "G90.1 M9 M6 G92 X5\n"), blockOf(t, "G21 G90 M2\n")}
	var m Move
	words := 0
	if n := testing.AllocsPerRun(100, func() {
		for _, b := range blocks {
			if err := ip.Step(b, &m); err != nil {
				t.Fatal(err)
			}
			a := ip.Actions()
			for i := range a.Coolant.All() {
				words += i
			}
			st := ip.During()
			words += st.BeamWord
		}
	}); n != 0 {
		t.Errorf("%v allocations", n)
	}
}
