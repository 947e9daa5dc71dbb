package demo

import (
	"bytes"
	"io"
	"math"
	"strings"
	"testing"

	"sagitta/internal/diag"
	"sagitta/internal/machine"
	"sagitta/internal/program"
)

// The sheet, in mm, from its lower left corner; every burn stays a margin from
// its edge.
const (
	width  = 300.0
	height = 200.0
	margin = 5.0
)

// walk reads a program as the tool does and calls do for each of its blocks.
func walk(t *testing.T, src []byte, do func(b *program.Block, m *machine.Move, before machine.State)) {
	t.Helper()
	ip := machine.New(machine.DefaultConfig())
	r := program.NewReader(bytes.NewReader(src), "job")
	for {
		b, err := r.Next()
		if err == io.EOF {
			break
		}
		if err != nil {
			t.Fatalf("%v (%s)", err, diag.Hint(err))
		}
		before := ip.State()
		var m machine.Move
		if err := ip.Step(b, &m); err != nil {
			t.Fatalf("%v (%s)", err, diag.Hint(err))
		}
		do(b, &m, before)
	}
	if notes := ip.Notes(); len(notes) != 0 {
		t.Errorf("unknown words: %v", notes)
	}
}

func TestProgramIsTheJobItIsSaidToBe(t *testing.T) {
	src := Program()
	var (
		burning, travelling, curving              float64 // s
		lines, arcs, circles, byRadius, longWay   int
		relative, constant, follows, gaps, widest int
		first                                     = true
		last                                      machine.Move
	)
	walk(t, src, func(b *program.Block, m *machine.Move, before machine.State) {
		lines++
		if m.Kind == machine.Still {
			return
		}
		if first && (!m.Rapid || len(b.Words) != 3) {
			t.Errorf("line %d: the first move should be a G0 to an X and a Y", b.Line)
		}
		first, last = false, *m
		if m.Seconds > 0 && !m.Burn {
			travelling += m.Seconds
			if !m.Rapid {
				gaps++
			}
		}
		if !m.Burn {
			return
		}
		burning += m.Seconds
		widest = max(widest, len(b.Body()))
		if m.Feed < 1500 || m.Feed > 3000 {
			t.Errorf("line %d: feed %g", b.Line, m.Feed)
		}
		if m.Power <= 0 || m.Power > 1000 {
			t.Errorf("line %d: power %g", b.Line, m.Power)
		}
		if before.Relative {
			relative++
		}
		if m.PowerFollows {
			follows++
		} else {
			constant++
		}
		if m.Kind == machine.Arc {
			arcs++
			curving += m.Seconds
			if math.Abs(m.Sweep) > 6.28 {
				circles++
			}
			if r, ok := b.Find('R'); ok {
				byRadius++
				if r.Num.Sign() < 0 {
					longWay++
				}
			}
		}
		for k := range 65 {
			if at := m.XY(float64(k) / 64); at[0] < margin || at[0] > width-margin || at[1] < margin || at[1] > height-margin {
				t.Errorf("line %d burns at %.3f, %.3f", b.Line, at[0], at[1])
				break
			}
		}
	})
	if lines < 15000 || lines > 30000 {
		t.Errorf("%d lines", lines)
	}
	if burning < 600 || burning > 1200 {
		t.Errorf("%.0f s of burning, want 10 to 20 minutes", burning)
	}
	if travelling > burning/2 {
		t.Errorf("%.0f s of travel beside %.0f s of burning", travelling, burning)
	}
	if widest > 80 {
		t.Errorf("a line of %d characters", widest)
	}
	for what, n := range map[string]int{
		"burns in relative moves": relative / 50, "burns at constant power": constant / 50,
		"burns whose power follows speed": follows / 5000, "arcs": arcs / 300, "full circles": circles / 10,
		"arcs by their radius": byRadius / 100, "arcs the long way": longWay, "gaps at S0": gaps / 200,
	} {
		if n == 0 {
			t.Errorf("hardly any %s", what)
		}
	}
	if last.To != (machine.Point{}) || last.Burn {
		t.Errorf("the last move ends at %v, burning %v", last.To, last.Burn)
	}
	if !bytes.HasSuffix(src, []byte("\nM2\n")) || bytes.ContainsRune(src, '\r') {
		t.Error("the program should end in M2, and its lines in LF alone")
	}
}

// The mere: lines 0.25 mm apart in turn from side to side, over the whole of
// the picture, with power that changes on the way.
func TestTheMereIsARasterPicture(t *testing.T) {
	const middle, half, pitch = 246.0, 30.0, 0.25 // of the picture, in mm
	src := Program()
	from := bytes.Index(src, []byte("(water of the mere"))
	head := []byte("G21 G90 G94\nM3\n")
	var y, dir, x0, x1 float64
	var rows, changes int
	power := map[float64]bool{}
	x0 = width
	walk(t, append(head, src[from:]...), func(b *program.Block, m *machine.Move, _ machine.State) {
		if !m.Burn || m.Length == 0 {
			return
		}
		if m.From.Y != m.To.Y {
			t.Errorf("line %d: the picture's lines are level", b.Line)
		}
		d := math.Copysign(1, m.To.X-m.From.X)
		if m.To.Y != y {
			if rows > 0 && (math.Abs(m.To.Y-y-pitch) > 1e-9 || d == dir) {
				t.Errorf("line %d: a row at %g in direction %g after one at %g in direction %g", b.Line, m.To.Y, d, y, dir)
			}
			rows++
			y, dir = m.To.Y, d
		} else if d != dir {
			t.Errorf("line %d turns within a row", b.Line)
		}
		changes++
		power[m.Power] = true
		x0, x1 = min(x0, m.From.X, m.To.X), max(x1, m.From.X, m.To.X)
	})
	if rows < 90 || changes < 50*rows || len(power) < 20 {
		t.Errorf("%d rows, %d moves, %d shades", rows, changes, len(power))
	}
	if x1-x0 < 50 || x0 < middle-half || x1 > middle+half {
		t.Errorf("the picture reaches from %g to %g", x0, x1)
	}
}

func TestProgramGivesASliceOfItsOwn(t *testing.T) {
	Program()[0] = 'x'
	if Program()[0] == 'x' {
		t.Error("writing into one copy changes the next")
	}
}

// The names on the chart, the greatest and the least lettering: where their
// strokes lie, each below the comment that says it.
func TestLetteringIsWhereItsCommentsSay(t *testing.T) {
	for text, want := range map[string][4]float64{ // x, y from and to, in mm
		"THE LANTERN CUT": {24, 165, 171, 177},
		"Wickfold Wharf":  {16.5, 69.5, 47.9, 72.7},
		"TALLOW MERE":     {221, 130.5, 258.6, 134.5},
		"2 furlongs":      {81, 24.75, 97.2, 28},
		"Wax Brook":       {201, 24, 219.9, 26.8},
	} {
		src := Program()
		begin := []byte("(" + text + ")\n")
		from := bytes.Index(src, begin)
		if from < 0 {
			t.Errorf("no lettering %q", text)
			continue
		}
		src = src[from+len(begin):]
		src = src[:bytes.IndexByte(src, '(')]
		box := [4]float64{width, height, 0, 0}
		walk(t, append([]byte("G21 G90 G94 M4 F900 S9\n"), src...), func(_ *program.Block, m *machine.Move, _ machine.State) {
			if !m.Burn || m.Length == 0 {
				return
			}
			for _, p := range []machine.Point{m.From, m.To} {
				box = [4]float64{min(box[0], p.X), min(box[1], p.Y), max(box[2], p.X), max(box[3], p.Y)}
			}
		})
		for k := range box {
			if math.Abs(box[k]-want[k]) > 0.05 {
				t.Errorf("%q lies at %.3f, want about %v", text, box, want)
				break
			}
		}
	}
}

// A row of relative moves that ends off by its last decimal would shift
// whatever a job puts after it.
func TestLanternsEndWhereTheyShould(t *testing.T) {
	src := Program()
	i, j := bytes.Index(src, []byte("g91\n")), bytes.Index(src, []byte("g90\n"))
	if i < 0 || j < i {
		t.Fatal("no relative part")
	}
	if strings.ContainsAny(string(src[i:j]), "XYG") {
		t.Error("the lanterns are written in lower case")
	}
	var at machine.Point
	head := []byte("G21 G90 G94 M4\nG0 X25 Y143.5\n")
	walk(t, append(head, src[i:j]...), func(_ *program.Block, m *machine.Move, _ machine.State) { at = m.To })
	const x0, y0, pitch, count = 25.0, 143.5, 9.0, 12
	want := machine.Point{X: x0 + pitch*(count-1) + 2.8, Y: y0 + 7.7}
	if math.Hypot(at.X-want.X, at.Y-want.Y) > 1e-9 {
		t.Errorf("the last lantern ends at %v, want %v", at, want)
	}
}
