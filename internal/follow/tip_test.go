package follow

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"math"
	"strings"
	"testing"

	"sagitta/internal/bench"
	"sagitta/internal/surface"
)

// underHead are settings on a sheet with a head of 8 mm radius.
func underHead(p *surface.Placed, standoff, gap float64, boxes ...surface.Box) Options {
	opt := testOptions(p, 1.5, 1.5, 0.5)
	opt.Head = &bench.Head{Radius: 8, Standoff: standoff, Gap: gap, Boxes: boxes}
	return opt
}

func flatSheet(t testing.TB) *surface.Placed {
	return grid(t, 200, 100, 100, "bilinear", func(x, y float64) float64 { return 0 })
}

const alongPost = "G21 G90 G0 X10 Y50\nM4 S500\nG1 X190 F2000\nM5\nG0 X0 Y0\n"

// A post of 5 mm beside the path of a head that stands 6 mm over the stock and
// keeps 1.5 mm asks for c = 0.5 where it is within the radius, and for nothing
// beyond it.
func TestPostBesideThePath(t *testing.T) {
	for _, c := range []struct {
		apart float64
		asks  bool
	}{{7, true}, {8 - 1e-3, true}, {8, true}, {8.01, false}, {30, false}} {
		post := surface.Box{X0: 99, Y0: 50 + c.apart, X1: 101, Y1: 90, Height: 5}
		got, _ := mustRun(t, alongPost, underHead(flatSheet(t), 6, 1.5, post))
		if !c.asks {
			if got != alongPost {
				t.Errorf("%v mm beside the path: changed\n%s", c.apart, got)
			}
			continue
		}
		least := math.Inf(1)
		for _, s := range walk(moves(t, got, testOptions(flatSheet(t), 1, 1, 1).Machine), flatSheet(t), 0.2) {
			if s.burn {
				least = min(least, s.c)
			}
		}
		// The string rises no more than it must.
		if !(least >= 0.5 && least <= 0.502) {
			t.Errorf("%v mm beside the path: c comes down to %v, want 0.5", c.apart, least)
		}
	}
}

// On a plane that rises by a tenth, the highest within 8 mm is 0.8 mm higher
// than under the beam: with 2 mm of standoff and 1.5 of gap, c must be 0.3 mm
// above the height throughout, and needs to be no more.
func TestHeadOverASlope(t *testing.T) {
	for _, method := range []string{"bilinear", "bicubic"} {
		plane := grid(t, 200, 100, 10, method, func(x, y float64) float64 { return 0.1 * x })
		opt := underHead(plane, 2, 1.5)
		opt.Depth.Near, opt.Depth.Far = 0.1, 0.5
		got, sum := mustRun(t, "G21 G90 G0 X20 Y50\nM4 S500\nG1 X180 F2000\nM5\nG0 X20 Y20\n", opt)
		least := math.Inf(1)
		for _, s := range walk(moves(t, got, opt.Machine), plane, 0.05) {
			if s.burn {
				least = min(least, s.c-s.h)
			}
		}
		if tol := 2 * (tipTolerance*0.3 + 0.05*0.1); !(least >= 0.3 && least <= 0.3+tol) {
			t.Errorf("%s: c stays %v above the height, want 0.3 to %v", method, least, 0.3+tol)
		}
		if sum.Points > 3 {
			t.Errorf("%s: %d cuts for a plane", method, sum.Points)
		}
	}
}

// Where the head cannot come within the depth, the job is refused, with line,
// place and amount.
func TestHeadCannotCome(t *testing.T) {
	post := surface.Box{X0: 99, Y0: 53, X1: 101, Y1: 60, Height: 7}
	for _, moving := range []bench.Moves{bench.Always, bench.BeamOff, bench.ByHand} {
		opt := underHead(flatSheet(t), 6, 1.5, post)
		opt.ZMoves = moving
		_, _, err := run(t, alongPost, opt)
		var unmet *UnmetError
		if !errors.As(err, &unmet) {
			t.Fatalf("moving %v: %v", moving, err)
		}
		f := unmet.Failures[0]
		want := 2.5 - 1.5 // over the depth
		if moving == bench.ByHand {
			want = 2.5
		}
		if f.Kind != HeadClose || f.Line != 3 || math.Abs(f.Amount-want) > 0.002 {
			t.Errorf("moving %v: %+v, want %v mm on line 3", moving, f, want)
		}
		if moving == bench.Always && (math.Abs(f.X-100) > 12 || f.Y != 50) {
			t.Errorf("at X%v Y%v, the post is at X100", f.X, f.Y)
		}
	}
}

// What the program lifts Z over a burn counts, what it lowers Z as well.
func TestProgrammedZUnderTheHead(t *testing.T) {
	box := surface.Box{X0: 90, Y0: 40, X1: 110, Y1: 60, Height: 20}
	const over = "G21 G90 G0 X10 Y50\nM4 S500\nG1 X60 F2000\nM5\nG0 Z%g\nG0 X140\nG0 Z0\nM4\nG1 X190\nM5\n"
	got, _ := mustRun(t, fmt.Sprintf(over, 15.6), underHead(flatSheet(t), 6, 1.5, box))
	if got != fmt.Sprintf(over, 15.6) {
		t.Errorf("changed, though it is lifted enough:\n%s", got)
	}
	// c rises by what is missing, on the travel alone.
	got, _ = mustRun(t, fmt.Sprintf(over, 12.0), underHead(flatSheet(t), 6, 1.5, box))
	lowest := math.Inf(1)
	for _, m := range moves(t, got, testOptions(flatSheet(t), 1, 1, 1).Machine) {
		for k := 0; k <= 1000; k++ {
			s := float64(k) / 1000
			if at := m.XY(s); m.Length > 0 && math.Abs(at[0]-100) <= 18 {
				lowest = min(lowest, m.From.Z+s*(m.To.Z-m.From.Z))
			}
		}
		if m.Burn && max(m.From.Z, m.To.Z) > 1.5 {
			t.Errorf("a burn at Z%v", m.To.Z)
		}
	}
	if lowest < 15.5 || lowest > 15.7 {
		t.Errorf("over the box Z comes down to %v, want 15.5\n%s", lowest, got)
	}
	// The whole job at another Z: that is where the focus is set.
	high := strings.NewReplacer("Z0", "Z7", "X10 Y50", "X10 Y50 Z7", "Z%g", "Z22.6").Replace(over)
	if got, _ = mustRun(t, high, underHead(flatSheet(t), 6, 1.5, box)); got != high {
		t.Errorf("changed, though it is lifted enough over its burns:\n%s", got)
	}
	// A second pass, 2 mm deeper, beside a post that the first clears by 1 mm.
	post := surface.Box{X0: 50, Y0: 54, X1: 52, Y1: 60, Height: 3.5}
	const passes = "G21 G90 G0 X10 Y50\nM4 S500\nG1 X60 F2000\nM5\nG0 Z-2\nM4\nG1 X10\nM5\n"
	got, _ = mustRun(t, passes, underHead(flatSheet(t), 6, 1.5, post))
	lowest = math.Inf(1)
	for _, m := range moves(t, got, testOptions(flatSheet(t), 1, 1, 1).Machine) {
		for k := 0; k <= 1000; k++ {
			s := float64(k) / 1000
			if at := m.XY(s); m.Burn && math.Abs(at[0]-51) < 1 {
				lowest = min(lowest, m.From.Z+s*(m.To.Z-m.From.Z))
			}
		}
	}
	if lowest < -1 || lowest > -0.99 {
		t.Errorf("beside the post Z comes down to %v, want -1\n%s", lowest, got)
	}
}

// Before the first burn c rises at once, and where it comes down again by a
// travel it does so behind the box.
func TestWayToHeightPastABox(t *testing.T) {
	box := surface.Box{X0: 90, Y0: 40, X1: 110, Y1: 60, Height: 9}
	opt := underHead(flatSheet(t), 6, 1.5, box)
	const program = "M3 S500\nG21 G90 G0 X10 Y50\nG0 X190\nG1 X180 F2000\nM5\n"
	got, _ := mustRun(t, program, opt)
	for _, m := range moves(t, got, opt.Machine) {
		for k := 0; k <= 1000; k++ {
			s := float64(k) / 1000
			at := m.XY(s)
			z := m.From.Z + s*(m.To.Z-m.From.Z)
			if m.Length > 0 && math.Abs(at[0]-100) <= 18 && z < 4.5 {
				t.Fatalf("at X%v Z is %v, want 4.5\n%s", at[0], z, got)
			}
		}
	}
}

// Travels that themselves move Z count where they are lowest: on a slant, at the
// end of one of Z alone, and where one arrives from an unknown place.
func TestTravelsOfZUnderTheHead(t *testing.T) {
	box := surface.Box{X0: 90, Y0: 40, X1: 110, Y1: 60, Height: 9}
	const start, end = "G21 G90 G0 X10 Y50\nM4 S500\nG1 X60 F2000\nM5\n", "G0 X10 Y90\nG0 Z0\nM4\nG1 X190\nM5\n"
	for _, travels := range []string{
		"G0 Z8\nG0 X140 Z0\n",
		"G0 Z5\nG0 X140\nG0 X60 Z3\nG0 Z5\n",
		"G0 Z5\nG0 X100\nG0 Z2\nG0 Z5\n",
		"G0 Z5\nG28\nG0 X100 Y50 Z1\nG28\nG0 X10 Y90 Z3\n",
	} {
		opt := underHead(flatSheet(t), 6, 1.5, box)
		got, _ := mustRun(t, start+travels+end, opt)
		for _, m := range moves(t, got, opt.Machine) {
			for k := 0; k <= 1000; k++ {
				s := float64(k) / 1000
				at := m.XY(s)
				if m.FromUnknown || m.ZUnknown || m.Length == 0 {
					s, at = 1, [2]float64{m.To.X, m.To.Y}
				}
				z := m.From.Z + s*(m.To.Z-m.From.Z)
				if m.Lost == 0 && math.Hypot(max(90-at[0], at[0]-110, 0), max(40-at[1], at[1]-60, 0)) <= 8 && z < 4.5 {
					t.Fatalf("%q: at X%v Y%v Z is %v, want 4.5\n%s", travels, at[0], at[1], z, got)
				}
			}
		}
	}
}

// So many travels before the first burn that they must be written before it is
// known at which Z that is: it may be too high for them.
func TestLongWayToTheFirstBurn(t *testing.T) {
	var b strings.Builder
	b.WriteString("G21 G90 M5\nG0 X10 Y10\n")
	for k := range 60 {
		fmt.Fprintf(&b, "G0 X%d\n", 20+k%2)
	}
	b.WriteString("G0 Y80\nG0 Z%g\nM4 S500\nG1 X30 F2000\nM5\n")
	box := surface.Box{X0: 15, Y0: 5, X1: 30, Y1: 15, Height: 4}
	for z, fails := range map[float64]bool{0: false, 0.4: false, 2: true} {
		opt := underHead(flatSheet(t), 6, 1.5, box)
		opt.Window = 16
		_, _, err := run(t, fmt.Sprintf(b.String(), z), opt)
		var unmet *UnmetError
		if errors.As(err, &unmet) != fails {
			t.Errorf("burns at Z%v: %v", z, err)
		}
		if fails && unmet != nil && (unmet.Failures[0].Kind != HeadClose || math.Abs(unmet.Failures[0].Amount-1.5) > 0.002) {
			t.Errorf("burns at Z%v: %+v, want 1.5 mm", z, unmet.Failures[0])
		}
	}
}

// Near-degenerate heads and boxes.
func TestThinHeadsAndBoxes(t *testing.T) {
	// A tip without width sees only what the path crosses.
	wall := surface.Box{X0: 100, Y0: 0, X1: 100.001, Y1: 100, Height: 5}
	beside := surface.Box{X0: 0, Y0: 50.01, X1: 200, Y1: 90, Height: 50}
	opt := underHead(flatSheet(t), 6, 1.5, wall, beside)
	opt.Head.Radius = 0
	got, _ := mustRun(t, alongPost, opt)
	least := math.Inf(1)
	for _, s := range walk(moves(t, got, opt.Machine), flatSheet(t), 0.2) {
		if s.burn {
			least = min(least, s.c)
		}
	}
	if !(least >= 0.5 && least <= 0.502) {
		t.Errorf("over a wall without width c comes down to %v, want 0.5", least)
	}
	// Just as low as the head needs it on flat stock: nothing changes.
	if got, _ = mustRun(t, alongPost, underHead(flatSheet(t), 1.5, 1.5)); got != alongPost {
		t.Errorf("changed, though the gap is just what it must be:\n%s", got)
	}
	// A box lower than the stock is none.
	pit := surface.Box{X0: 0, Y0: 0, X1: 200, Y1: 100, Height: -3}
	if got, _ = mustRun(t, alongPost, underHead(flatSheet(t), 2, 1.5, pit)); got != alongPost {
		t.Errorf("changed for a box below the stock:\n%s", got)
	}
}

// Where nothing is known of the head, the run tells how near the axis comes.
func TestNearestOfTheAxis(t *testing.T) {
	bow := grid(t, 200, 100, 50, "bilinear", func(x, y float64) float64 { return 0.8 - 0.8*math.Abs(x-100)/100 })
	opt := testOptions(bow, 1.5, 1.5, 0.5)
	got, sum := mustRun(t, alongPost, opt)
	least := math.Inf(1)
	for _, s := range walk(moves(t, got, opt.Machine), bow, 0.1) {
		least = min(least, s.c-s.h)
	}
	if sum.Nearest.MM > least+1e-3 || sum.Nearest.MM < least-0.02 {
		t.Errorf("the axis comes %v to the surface, the run says %v", least, sum.Nearest.MM)
	}
}

// BenchmarkHead prints what the head over the stock costs a job of plain lines:
// where it is never in question, where a clamp is, and where it is all the way.
func BenchmarkHead(b *testing.B) {
	bumpy := grid(b, jobWidth, jobHeight, 5, "", circular(4000))
	clamp := surface.Box{X0: 40, Y0: 40, X1: 60, Y1: 60, Height: 5}
	for _, c := range []struct {
		name string
		head *bench.Head
	}{
		{"none", nil},
		{"clear", &bench.Head{Radius: 8, Standoff: 6, Gap: 1.5}},
		{"clamp", &bench.Head{Radius: 8, Standoff: 6, Gap: 1.5, Boxes: []surface.Box{clamp}}},
		{"close", &bench.Head{Radius: 8, Standoff: 2.5, Gap: 1.5}},
	} {
		b.Run(c.name, func(b *testing.B) {
			text := jobText(b, timedJobs[0], 4<<20)
			opt := testOptions(bumpy, 1.4995, 1.4995, 0.5)
			opt.Head = c.head
			for b.Loop() {
				if _, err := Run(bytes.NewReader(text), io.Discard, opt); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(bytes.Count(text, []byte{'\n'})), "ns/line")
		})
	}
}
