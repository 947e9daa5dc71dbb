package machine

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"sagitta/internal/diag"
	"sagitta/internal/program"
)

func TestModesAndMoves(t *testing.T) {
	moves, st := mustRun(t, DefaultConfig(), `%
N1 G17 G21 G40 G49 G54 G61 (defaults)
G64 G80 G90 G94
T1 M6
M8
G0 X10 Y20
M3 S500
G1 Z-1 F60
X13 Y24 F300
M5
G91 G0 X-3
G1 Y-4 ; beam off: a travel at feed
G4 P0.5
M4
G4 P2
G1 X3 Y4 Z12
Z-1
M2
`)
	want := []Move{
		{Kind: Line, Rapid: true, FromUnknown: true, To: Point{10, 20, 0}, Length: math.Hypot(10, 20), Seconds: math.Hypot(10, 20) / 100},
		{Kind: Line, Burn: true, From: Point{10, 20, 0}, To: Point{10, 20, -1}, Seconds: 1, Feed: 60, Power: 500},
		{Kind: Line, Burn: true, From: Point{10, 20, -1}, To: Point{13, 24, -1}, Length: 5, Seconds: 1, Feed: 300, Power: 500},
		{Kind: Line, Rapid: true, From: Point{13, 24, -1}, To: Point{10, 24, -1}, Length: 3, Seconds: 0.03, Power: 500},
		{Kind: Line, From: Point{10, 24, -1}, To: Point{10, 20, -1}, Length: 4, Seconds: 0.8, Feed: 300, Power: 500},
		{Kind: Dwell, From: Point{10, 20, -1}, To: Point{10, 20, -1}, Seconds: 0.5, Power: 500},
		{Kind: Dwell, Burn: true, From: Point{10, 20, -1}, To: Point{10, 20, -1}, Seconds: 2, Power: 500, PowerFollows: true},
		{Kind: Line, Burn: true, From: Point{10, 20, -1}, To: Point{13, 24, 11}, Length: 5, Seconds: 13. / 5, Feed: 300, Power: 500, PowerFollows: true},
		{Kind: Line, Burn: true, From: Point{13, 24, 11}, To: Point{13, 24, 10}, Seconds: 0.2, Feed: 300, Power: 500, PowerFollows: true},
	}
	if len(moves) != len(want) {
		t.Fatalf("%d moves, want %d", len(moves), len(want))
	}
	for i := range want {
		if !sameMove(&moves[i], &want[i]) {
			t.Errorf("move %d:\n%+v, want\n%+v", i, moves[i], want[i])
		}
	}
	end := State{At: Point{13, 24, 10}, XKnown: true, YKnown: true, ZKnown: true, Settled: true, Moved: true, Placed: true, Motion: 1, Said: 1<<Plane | 1<<Distance | 1<<FeedMode | 1<<Units, Feed: program.Int(300), FeedSaid: true, Power: program.Int(500), PowerSaid: true, BeamWord: 5, Beam: Off, Work: 540, Path: 640}
	if st != end {
		t.Errorf("at the end %+v, want %+v", st, end)
	}
}

// sameMove compares moves; times and lengths up to rounding.
func sameMove(a, b *Move) bool {
	c, d := *a, *b
	ok := near(c.Seconds, d.Seconds) && near(c.Length, d.Length)
	c.Seconds, c.Length, d.Seconds, d.Length = 0, 0, 0, 0
	return ok && c == d
}

// The state of the beam, and whether a feed move, a rapid and a dwell burn.
func TestBeam(t *testing.T) {
	for _, c := range []struct {
		text string
		beam Beam
		feed bool // a feed move burns
	}{
		{"", Unsaid, true},
		{"M3", On, true},
		{"M4", On, true},
		{"M5", Off, false},
		{"S0", Off, false},
		{"S1", On, true},
		{"S0.01", On, true},
		{"M3 S0", Off, false},
		{"S5\nM5", Off, false},
		{"M5\nS5", Off, false},
		{"M3 S5\nS0", Off, false},
		{"M3 S0\nS5", On, true},
		{"M3\nM2", Off, false},
		{"M30", Off, false},
		{"M8\nT1\nM100", Unsaid, true},
	} {
		for _, rapidsFire := range []bool{false, true} {
			cfg := at(0, 0)
			cfg.RapidsFire = rapidsFire
			moves, st := mustRun(t, cfg, "F100\n"+c.text+"\nG1 X1\nG0 X2\nG4 P1\n")
			if st.Beam != c.beam || moves[0].Burn != c.feed ||
				moves[1].Burn != (rapidsFire && c.beam == On) || moves[2].Burn != (c.beam == On) {
				t.Errorf("%q: beam %d, burns %v %v %v", c.text, st.Beam, moves[0].Burn, moves[1].Burn, moves[2].Burn)
			}
		}
	}
	// A bench with words of its own.
	cfg := at(0, 0)
	cfg.BeamOn, cfg.BeamOff, cfg.PowerFollows, cfg.PowerWord = []int{8, 106, 212}, []int{9, 107}, []int{212}, 'P'
	for text, want := range map[string]string{
		"M3 S5":               "true false 0",
		"M5":                  "true false 0",
		"M106 P3":             "true false 3",
		"M212 P3":             "true true 3",
		"M212 P3\nM107":       "false false 3",
		"M8 P7\nG4 P9":        "true false 7",
		"M8 P7\nM9":           "false false 7",
		"M106 P3\nG1 X0.5 P0": "false false 0",
	} {
		moves, _ := mustRun(t, cfg, "F100 G1\n"+text+"\nX1\n")
		m := moves[len(moves)-1]
		if got := fmt.Sprint(m.Burn, m.PowerFollows, m.Power); got != want {
			t.Errorf("%q: %s, want %s", text, got, want)
		}
	}
}

// RS274 3.8: words act in a fixed order, whatever their order on the line.
func TestOrderOfExecution(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		words := rapid.Permutation([]string{"G1", "X2", "Y1", "F10", "S5", "M3", "G20", "G91", "M2"}).Draw(t, "words")
		text := "M5 S1 G90 G0 X1 Y1 F1\n" + strings.Join(words, " ")
		moves, st, err := runWith(at(0, 0), text)
		if err != nil {
			t.Fatalf("%q: %v", text, err)
		}
		m := moves[1]
		if m.To != (Point{51.8, 26.4, 0}) || m.Feed != 254 || m.Power != 5 || !m.Burn || st.Beam != Off || st.Relative {
			t.Errorf("%q: %+v, then %+v", text, m, st)
		}
	})
	// A beam word acts before the motion, a stop after it.
	moves, st := mustRun(t, at(0, 0), "M3 S5 F100 G1 X1\nX2 M5\nX3 M3\nX4 M30\nX5\n")
	for i, burn := range []bool{true, false, true, true, false} {
		if moves[i].Burn != burn {
			t.Errorf("move %d burns: %v", i, !burn)
		}
	}
	if st.Motion != 1 {
		t.Errorf("motion G%d after M30", st.Motion)
	}
}

func TestEndResetsModes(t *testing.T) {
	for _, end := range []string{"M2", "M30"} {
		_, st := mustRun(t, at(1, 2), "G20 G91 G93 M4 S5\nG2 X1 I.5 F2\n"+end)
		want := State{At: Point{26.4, 2, 0}, XKnown: true, YKnown: true, ZKnown: true, Settled: true, Moved: true, Placed: true, Motion: 1, Inches: true, Said: 1<<Units | 1<<Distance | 1<<FeedMode,
			FeedInches: true, Power: program.Int(5), PowerSaid: true, BeamWord: 5, Beam: Off}
		if st != want {
			t.Errorf("%s: %+v, want %+v", end, st, want)
		}
		_, _, err := runWith(at(1, 2), "G93 G1 X1 F2\n"+end+"\nX2")
		if err == nil || !strings.Contains(err.Error(), "without a feed") {
			t.Errorf("the F of G93 outlived %s: %v", end, err)
		}
	}
	moves, _ := mustRun(t, at(0, 0), "M4 S5 F1 G1 X1\nM2\nX2")
	if moves[1].PowerFollows || moves[1].Burn {
		t.Errorf("after M2: %+v", moves[1])
	}
	for _, pause := range []string{"M0", "M1", "M60"} {
		_, st := mustRun(t, at(0, 0), "G91 M3\n"+pause)
		if !st.Relative || st.Beam != On || st.Motion != noMotion {
			t.Errorf("%s: %+v", pause, st)
		}
	}
}

func TestTime(t *testing.T) {
	plain := at(0, 0)
	noZ := at(0, 0)
	noZ.FeedCountsZ = false
	otherAxis := at(0, 0)
	otherAxis.ZAxis = 'A'
	for _, c := range []struct {
		cfg     Config
		text    string
		seconds float64
	}{
		// RS274 2.1.2.5: F is along XYZ.
		{plain, "G1 X3 Y0 Z4 F60", 5},
		{noZ, "G1 X3 Y0 Z4 F60", 3},
		{noZ, "G1 Z4 F60", 4},
		{otherAxis, "G1 X3 Y0 A4 F60", 3},
		{otherAxis, "G1 A-4 F60", 4},
		{plain, "G20 G1 X3 F60", 3},
		{plain, "G20\nG1 X3 F60", 3},
		{plain, "G0 X30 Z40", 0.5},
		{noZ, "G0 X30 Z40", 0.5},
		{plain, "G1 X0 F60", 0},
		// RS274 3.5.19: F is one over the minutes.
		{plain, "G93 G1 X3 F60", 1},
		{plain, "G93 G2 X2 I1 F0.5", 120},
		{plain, "G3 X2 I1 F60", math.Pi},
		{plain, "G3 I1 Z1 F60", math.Hypot(2*math.Pi, 1)},
		{plain, "G4 P1.25", 1.25},
	} {
		moves, _ := mustRun(t, c.cfg, c.text)
		if got := moves[0].Seconds; !near(got, c.seconds) {
			t.Errorf("%q: %v s, want %v", c.text, got, c.seconds)
		}
	}
}

func TestUnknownStart(t *testing.T) {
	for _, c := range []struct {
		text string
		want string // known axes after it, and which moves come from an unknown place; or the error
	}{
		{"G0 X1", "x [true]"},
		{"G0 Y1", "y [true]"},
		{"G0 X1\nY1\nX2", "xy [true true false]"},
		{"G0 Z5\nX1 Y1\nG1 X2", "xy [true true false]"},
		{"G91 G0 X1\nG1 Y1", "xy [false false]"},
		{"G91 G1 Y1", "xy [false]"},
		{"G0 Z5\nG91 G1 X1", "xy [true false]"},
		{"G0 X1\nG91 Y1", "x [true true]"},
		{"M5 G1 X1\nY1", "xy [true true]"},
		{"G4 P1\nM3 S0\nG4 P1", " [false false]"},
		{"G1 X1 Y1", "t.nc:2:1: a burn from an unknown X and Y"},
		{"G0 X1\nG1 Y1", "t.nc:3:1: a burn from an unknown X and Y"},
		{"G0 X1\nG91\nG1 Y1", "t.nc:4:1: a burn from an unknown X and Y"},
		{"G1 Z1", "t.nc:2:1: a burn from an unknown X and Y"},
		{"G0 X1\nM3\nG4 P1", "t.nc:4:1: a burn from an unknown X and Y"},
		{"M5 G2 X1 R1", "t.nc:2:4: an arc from an unknown X and Y"},
	} {
		moves, st, err := runWith(DefaultConfig(), "F100\n"+c.text)
		var from []bool
		for _, m := range moves {
			from = append(from, m.FromUnknown)
		}
		got := ""
		if st.XKnown {
			got += "x"
		}
		if st.YKnown {
			got += "y"
		}
		got += fmt.Sprint(" ", from)
		if err != nil {
			got = err.Error()
			if !isUnsupported(err) || diag.Hint(err) != "say where the head stands with --start X,Y" {
				t.Errorf("%q: %T, hint %q", c.text, err, diag.Hint(err))
			}
		}
		if got != c.want {
			t.Errorf("%q: %s, want %s", c.text, got, c.want)
		}
	}
	cfg := at(3, 4)
	cfg.Start.Z = 5
	moves, _ := mustRun(t, cfg, "F100 G1 X1 Y1")
	if moves[0].From != cfg.Start {
		t.Errorf("from %v", moves[0].From)
	}
}

func TestNotes(t *testing.T) {
	r := program.NewReader(strings.NewReader("M100 M7\nM62 P1 Q2\n/M100\nM7 M48"), "t.nc")
	ip := New(DefaultConfig())
	for {
		b, err := r.Next()
		if err != nil {
			break
		}
		var m Move
		if err := ip.Step(b, &m); err != nil {
			t.Fatal(err)
		}
	}
	var got []string
	for _, n := range ip.Notes() {
		got = append(got, fmt.Sprintf("%v M%d", n.Place, n.M))
	}
	if want := "[t.nc:1:1 M100 t.nc:2:1 M62]"; fmt.Sprint(got) != want {
		t.Errorf("%v, want %s", got, want)
	}
}

func TestOptionalLines(t *testing.T) {
	for text, fine := range map[string]bool{
		"/": true, "/ (note)": true, "/N5": true, "/M8": true, "/M0": true, "/T1 M6": true, "/M100 P1": true,
		"/X1": false, "/Z1": false, "/G1": false, "/G90": false, "/G4 P1": false, "/F5": false,
		"/S5": false, "/M3": false, "/M5": false, "/M2": false, "/I1": false, "/N5 G0 X1": false,
	} {
		_, _, err := runWith(at(0, 0), text)
		if (err == nil) != fine || err != nil && !isUnsupported(err) {
			t.Errorf("%q: %v", text, err)
		}
	}
}

func TestNotesAreBounded(t *testing.T) {
	ip := New(DefaultConfig())
	var m Move
	for i := range 2 * maxNotes {
		b := &program.Block{Words: []program.Word{{Letter: 'M', Num: program.Int(int64(1000 + i))}}}
		if err := ip.Step(b, &m); err != nil {
			t.Fatal(err)
		}
	}
	if n := len(ip.Notes()); n != maxNotes {
		t.Errorf("%d notes", n)
	}
}

// Whatever the bytes, there is an error or a chain of moves with finite times.
func FuzzStep(f *testing.F) {
	for _, text := range []string{
		"G20 G91 F1 G2 X1 Y.5 R-9\nG3 I1\n", "M3 S5 G93 G1 X1 F2\nG4 P1\nM2\nX5", "G90.1", "/M3",
		"G0 X99999999999999999 Y.00000000000000001\nG91 X-99999999999999999\nF1 G2 X1 R.5",
	} {
		f.Add([]byte(text))
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		moves, _, _ := runWith(at(1, 2), string(text))
		for i, m := range moves {
			if i > 0 && m.From != moves[i-1].To {
				t.Fatalf("%q: move %d does not start where the one before ends", text, i)
			}
			if sum := m.Length + m.Seconds + m.Sweep + m.A0 + m.CX + m.CY + m.R0 + m.R1; math.IsNaN(sum) ||
				math.IsInf(sum, 0) || m.Seconds < 0 || math.Abs(m.Sweep) > 2*math.Pi || m.Kind == Arc && m.Sweep == 0 {
				t.Fatalf("%q: %+v", text, m)
			}
			if m.Burn && m.FromUnknown {
				t.Fatalf("%q: a burn from nowhere", text)
			}
		}
	})
}

// F0 under which nothing moves, and a centre in the plane of its arc, are no matter;
// they are counted.
func TestLapses(t *testing.T) {
	text := "F0\nG0 X0 F0\nG2 X2 I1 K0 F5\nG3 X0 R1 K-0.0\nG1 X1\n"
	ip, r := New(at(0, 0)), program.NewReader(strings.NewReader(text), "t.nc")
	var m Move
	for b, err := r.Next(); err == nil; b, err = r.Next() {
		if err := ip.Step(b, &m); err != nil {
			t.Fatal(err)
		}
	}
	want := program.Lapses{}
	want[program.ZeroFeed] = program.Tally{Count: 2, Line: 1}
	want[program.FlatCentre] = program.Tally{Count: 2, Line: 3}
	if ip.Lapses() != want {
		t.Errorf("%v, want %v", ip.Lapses(), want)
	}
}
