package timing

import (
	"errors"
	"fmt"
	"io"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"sagitta/internal/machine"
	"sagitta/internal/machine/drawn"
	"sagitta/internal/motion"
	"sagitta/internal/program"
)

func heavy() Bench {
	return Bench{Machine: machine.DefaultConfig(), Limits: motion.Limits{Accel: motion.Vector{500, 500, 50}, CornerMM: 0.01}}
}

func of(t *testing.T, text string, b Bench) *Times {
	t.Helper()
	got, err := Of(strings.NewReader(text), "a.gcode", b)
	if err != nil {
		t.Fatal(err)
	}
	return got
}

// TestClosedForms holds times to those worked out by hand.
func TestClosedForms(t *testing.T) {
	const head = "G21 G90 M4 S500\nG0 X0 Y0\n"
	const v, a = 100.0, 500.0 // F6000
	// The speed at a square corner is that of the circle that touches both moves and stays
	// 0.01 mm off the corner; its acceleration is along the bisector, of which each axis has
	// the part 1/√2.
	at := math.Sqrt(a * math.Sqrt2 * 0.01 / (math.Sqrt2 - 1))
	leg := func(length float64) float64 { // from rest to a corner
		return v/a + (v-at)/a + (length-v*v/(2*a)-(v*v-at*at)/(2*a))/v
	}
	for _, c := range []struct {
		name, text string
		want       float64
	}{
		{"a move", "G1 X50 F6000\n", 2*v/a + (50-v*v/a)/v},
		{"one that never reaches its feed", "G1 X5 F6000\n", 2 * math.Sqrt(5/a)},
		{"two on a line", "G1 X20 F6000\nX50\n", 2*v/a + (50-v*v/a)/v},
		{"there and back", "G1 X50 F6000\nX0\n", 2 * (2*v/a + (50-v*v/a)/v)},
		{"round a corner", "G1 X50 F6000\nY50\n", 2 * leg(50)},
		{"a wait between", "G1 X20 F6000\nG4 P1.5\nG1 X50\n", 1.5 + 2*v/a + (20-v*v/a)/v + 2*v/a + (30-v*v/a)/v},
		{"a beam word between", "G1 X20 F6000\nM3\nX50\n", 2*v/a + (50-v*v/a)/v},
		{"a way that is not known between", "G1 X20 F6000\nG28 X20 Y0\nG0 X20 Y0\nG1 X50\n", 2*v/a + (20-v*v/a)/v + 2*v/a + (30-v*v/a)/v},
		{"a way of Z that is not known", "G1 X20 F6000\nG53 G0 Z0\nG0 Z0\nG1 X50\n", 2*v/a + (20-v*v/a)/v + 2*v/a + (30-v*v/a)/v},
		{"Z, which is slower", "G0 Z1\n", 2 * math.Sqrt(1/50.0)},
	} {
		if got := of(t, head+c.text, heavy()).Seconds; math.Abs(got-c.want) > 1e-9*c.want {
			t.Errorf("%s: %v s, not %v", c.name, got, c.want)
		}
	}
	stops := heavy()
	stops.StopsAtBeam = true
	if got, want := of(t, head+"G1 X20 F6000\nM3\nX50\n", stops).Seconds, 2*v/a+(20-v*v/a)/v+2*v/a+(30-v*v/a)/v; math.Abs(got-want) > 1e-9 {
		t.Errorf("a stop at a beam word: %v s, not %v", got, want)
	}
	free := heavy()
	free.Limits = motion.Limits{}
	free.CornerMM = 0.01
	// The arc is gone by 80 chords, and is one line all the same.
	for _, lines := range []float64{0, 100} {
		free.LinesPerS = lines
		if got := of(t, head+"G1 X20 F6000\nG2 X20 Y20 J10\n", free).Seconds; math.Abs(got-(20+math.Pi*10)/v) > 1e-4 {
			t.Errorf("without inertia, %v lines/s: %v s, not by the feed alone", lines, got)
		}
	}
}

// TestSlowestBurn names the burn that goes slowest against its feed, over all of an arc.
func TestSlowestBurn(t *testing.T) {
	const head = "G21 G90 M4 S500\nG0 X0 Y0\n"
	const v, a = 100.0, 500.0
	for _, c := range []struct {
		text  string
		share float64
		line  int
	}{
		{"G1 X50 F6000\n", 50 / v / (2*v/a + (50-v*v/a)/v), 3},
		{"G1 X50 F6000\nG1 X48\nG1 X90\n", 2 / v / (2 * math.Sqrt(2/a)), 4},
		{"G1 X50 F600\nG0 Y30\n", 1, 3},
	} {
		b := heavy()
		if strings.Contains(c.text, "F600\n") {
			b.Accel = motion.Vector{1e12, 1e12, 1e12}
		}
		if got := of(t, head+c.text, b); math.Abs(got.SlowestShare-c.share) > 1e-6 || c.share < 1 && got.SlowestLine != c.line {
			t.Errorf("%q: line %d at %v, not line %d at %v", c.text, got.SlowestLine, got.SlowestShare, c.line, c.share)
		}
	}
	arc := of(t, head+"G1 X50 F6000\nG1 X49.9\nG2 X49.9 Y40 J20\n", heavy())
	if arc.SlowestLine != 4 {
		t.Errorf("an arc counts by its chords: line %d at %v", arc.SlowestLine, arc.SlowestShare)
	}
	if n := of(t, head+"G1 X50 F6000\nG2 X50 Y40 J20 Z1\nG1 X0 Z2\n", heavy()).ZBurns; n != 2 {
		t.Errorf("Z moves on %d burns, not 2", n)
	}
}

// plain is the time of a program, planned over all of it at once by lowering speeds until
// none is too great: slow, and with no look-ahead to be wrong.
func plain(text string, b Bench) (float64, error) {
	var by []motion.Vector
	var want []float64
	var stops []bool
	waits := 0.0
	r, ip, stop := program.NewReader(strings.NewReader(text), "a"), machine.New(b.Machine), true
	for {
		block, err := r.Next()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return 0, err
		}
		var m machine.Move
		if err := ip.Step(block, &m); err != nil {
			return 0, err
		}
		a := ip.Actions()
		stop = stop || a.Beam != 0 && b.StopsAtBeam
		switch {
		case m.Kind == machine.Dwell:
			waits, stop = waits+m.Seconds, true
		case m.FromUnknown || m.Lost != 0:
			stop = true
		case m.Kind != machine.Still && m.Seconds > 0:
			rise := m.To.Z - m.From.Z
			if m.ZUnknown {
				rise = 0
			}
			n := 1
			if m.Kind == machine.Arc {
				n = chords(&m)
			}
			for k := range n {
				p, q := m.XY(float64(k)/float64(n)), m.XY(float64(k+1)/float64(n))
				v := motion.Vector{q[0] - p[0], q[1] - p[1], rise / float64(n)}
				if math.Hypot(math.Hypot(v[0], v[1]), v[2]) > 1e-9 {
					by, want, stops = append(by, v), append(want, math.Hypot(m.Length, rise)/m.Seconds), append(stops, stop)
					stop = false
				}
			}
		}
		stop = stop || a.Stop != 0
	}
	n := len(by)
	in, length, accel := make([]float64, n+1), make([]float64, n), make([]float64, n)
	for k := range n {
		length[k] = math.Hypot(math.Hypot(by[k][0], by[k][1]), by[k][2])
		accel[k] = math.Inf(1)
		for x, d := range by[k] {
			if d != 0 {
				accel[k] = min(accel[k], b.Accel[x]*length[k]/math.Abs(d))
			}
		}
		if k == 0 || stops[k] {
			continue
		}
		dot, least, size := 0.0, math.Inf(1), 0.0
		var turn motion.Vector
		for x := range turn {
			u, w := by[k-1][x]/length[k-1], by[k][x]/length[k]
			turn[x] = w - u
			dot, size = dot+u*w, size+turn[x]*turn[x]
		}
		for x := range turn {
			if turn[x] != 0 {
				least = min(least, b.Accel[x]*math.Sqrt(size)/math.Abs(turn[x]))
			}
		}
		half := math.Sqrt(max(0, 1+dot) / 2)
		in[k] = min(want[k-1], want[k])
		if 1-half > 1e-12 {
			in[k] = min(in[k], math.Sqrt(least*b.CornerMM*half/(1-half)))
		}
	}
	for changed := true; changed; {
		changed = false
		for k := range n {
			if up := math.Sqrt(in[k]*in[k] + 2*accel[k]*length[k]); in[k+1] > up*(1+1e-12) {
				in[k+1], changed = up, true
			}
			if down := math.Sqrt(in[k+1]*in[k+1] + 2*accel[k]*length[k]); in[k] > down*(1+1e-12) {
				in[k], changed = down, true
			}
		}
	}
	total := waits
	for k := range n {
		// In steps of the way, at the mean of the speeds at the ends of each.
		const steps = 200
		at := func(s float64) float64 {
			return min(want[k], math.Sqrt(in[k]*in[k]+2*accel[k]*s), math.Sqrt(in[k+1]*in[k+1]+2*accel[k]*(length[k]-s)))
		}
		for i := range steps {
			s, step := float64(i)/steps*length[k], length[k]/steps
			total += 2 * step / (at(s) + at(s+step))
		}
	}
	return total, nil
}

// TestTimesOfDrawnPrograms holds the times of drawn programs to a plain plan of them, to 1 %.
func TestTimesOfDrawnPrograms(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		job := drawn.Draw(t, drawn.Options{Side: 40})
		b := heavy()
		b.Machine = job.Config()
		b.StopsAtBeam = rapid.Bool().Draw(t, "stops at beam")
		b.Accel = motion.Vector{rapid.Float64Range(100, 3000).Draw(t, "ax"), rapid.Float64Range(100, 3000).Draw(t, "ay"), rapid.Float64Range(5, 300).Draw(t, "az")}
		want, err := plain(job.Text, b)
		got, timed := Of(strings.NewReader(job.Text), "a.gcode", b)
		if (err == nil) != (timed == nil) {
			t.Fatalf("%v, and %v", err, timed)
		}
		if err != nil {
			return
		}
		if math.Abs(got.Seconds-want) > 0.01*want+1e-6 {
			t.Errorf("%v s, not %v\n%s", got.Seconds, want, job.Text)
		}
	})
}

// TestBesideItself has a program be no slower than itself, and by as much as one says of it
// in a program whose middle has a lower feed.
func TestBesideItself(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		job := drawn.Draw(t, drawn.Options{Side: 40})
		b := heavy()
		b.Machine = job.Config()
		a, o, err := Beside(strings.NewReader(job.Text), strings.NewReader(job.Text), "a", "o", b)
		if err != nil {
			return
		}
		if a.SlowMM != 0 || a.DarkMM != 0 || a.SlowedShare != 1 || a.Seconds != o.Seconds || a.BurnMM != o.BurnMM {
			t.Errorf("%+v beside itself %+v", a, o)
		}
	})
	free := heavy()
	free.Accel = motion.Vector{1e9, 1e9, 1e9}
	const whole = "G21 G90 M%d S500\nG0 X0 Y0\nG1 X100 F6000\n"
	for _, word := range []int{3, 4} {
		made := fmt.Sprintf("G21 G90 M%d S500\nG0 X0 Y0\nG1 X30 F6000\nX50 F5300\nX80 F5500\nX100 F6000\n", word)
		a, _, err := Beside(strings.NewReader(made), strings.NewReader(fmt.Sprintf(whole, word)), "a", "o", free)
		if err != nil {
			t.Fatal(err)
		}
		if share := 5300.0 / 6000; math.Abs(a.SlowedShare-share) > 1e-4 || a.SlowedLine != 4 {
			t.Errorf("M%d: line %d is slowed most, to %v, not line 4 to %v", word, a.SlowedLine, a.SlowedShare, share)
		}
		dark := map[int]float64{3: 20, 4: 0}[word]
		if math.Abs(a.SlowMM-20) > 1e-3 || math.Abs(a.DarkMM-dark) > 1e-3 || math.Abs(a.SlowPart()-0.2) > 1e-4 {
			t.Errorf("M%d: %v mm slower, %v of them darker, of %v; not 20 and %v", word, a.SlowMM, a.DarkMM, a.BurnMM, dark)
		}
	}
}

// TestSlowerIsWhatSamplingFinds holds the length that goes slower to sampling both.
func TestSlowerIsWhatSamplingFinds(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		draw := func(name string, by float64) string {
			text, x := "G21 G90 M3 S500\nG0 X0 Y0\nG1 F9000\n", 0.0
			for range rapid.IntRange(1, 12).Draw(t, name) {
				x = math.Min(100, x+rapid.Float64Range(0.3, 25).Draw(t, "step"))
				text += fmt.Sprintf("X%.3f Z%.3f F%d\n", x, by*rapid.Float64Range(-1, 1).Draw(t, "z"), rapid.IntRange(3000, 12000).Draw(t, "feed"))
			}
			return text + "X100.000\n"
		}
		b := heavy()
		made, original := draw("made", 1), draw("original", 0)
		a, _, err := Beside(strings.NewReader(made), strings.NewReader(original), "a", "o", b)
		if err != nil {
			t.Fatal(err)
		}
		profile := func(text string) func(at float64) float64 {
			var all []stretch
			c := newCourse(strings.NewReader(text), "p", b)
			for {
				s, err := c.peek()
				if err != nil {
					t.Fatal(err)
				}
				if s == nil {
					break
				}
				all = append(all, *s)
				c.next++
			}
			return func(at float64) float64 {
				for _, s := range all {
					if at <= s.length {
						return math.Sqrt(s.from + (s.to-s.from)*at/s.length)
					}
					at -= s.length
				}
				return math.NaN()
			}
		}
		p, o := profile(made), profile(original)
		const n = 20000
		var lost [len(a.Lost)]float64
		for k := range n {
			at := 100 * (float64(k) + 0.5) / n
			for tenths, share := 1, p(at)/o(at); tenths < len(lost) && share < 1-float64(tenths)/10; tenths++ {
				lost[tenths] += 100.0 / n
			}
		}
		for tenths, mm := range lost {
			if math.Abs(mm-a.Lost[tenths]) > 0.1 || tenths == 1 && a.Lost[1] != a.SlowMM {
				t.Errorf("%v mm more than %d tenths slower, sampled %v\n%s\n%s", a.Lost[tenths], tenths, mm, made, original)
			}
		}
	})
}

// A part takes what its lines take by themselves, waits at its end as well; all of them take
// what the program does.
func TestParts(t *testing.T) {
	b := heavy()
	alone := func(t *rapid.T, lines []string) float64 {
		times, err := Of(strings.NewReader("G21\n"+strings.Join(lines, "")), "part", b)
		if err != nil {
			t.Fatal(err)
		}
		return times.Seconds
	}
	rapid.Check(t, func(t *rapid.T) {
		lines, from, begins := []string{"G0 X0 Y0 Z0\n", "G1 F3000\n"}, []int(nil), []int{0}
		for range rapid.IntRange(1, 40).Draw(t, "lines") {
			switch rapid.IntRange(0, 5).Draw(t, "line") {
			case 0:
				lines = append(lines, "G4 P0.3\n")
			case 1:
				lines = append(lines, "M0\n")
				from, begins = append(from, len(lines)), append(begins, len(lines)-1)
			default:
				lines = append(lines, fmt.Sprintf("X%d Y%d Z%d\n", rapid.IntRange(0, 50).Draw(t, "x"), rapid.IntRange(0, 50).Draw(t, "y"), rapid.IntRange(0, 2).Draw(t, "z")))
			}
		}
		parts, err := Parts(strings.NewReader(strings.Join(lines, "")), "whole", b, from)
		if err != nil || len(parts) != len(begins) {
			t.Fatalf("%v, %v", parts, err)
		}
		for k, seconds := range parts {
			want := alone(t, lines[:append(begins, len(lines))[k+1]]) - alone(t, lines[:begins[k]])
			if math.Abs(seconds-want) > 1e-9 {
				t.Fatalf("part %d takes %v s, by itself %v\n%s", k+1, seconds, want, strings.Join(lines, ""))
			}
		}
	})
}

// A clock tells of the lines of a drawn program what all of it comes to, in whatever steps it
// is asked, and of each line what the program takes longer with it where the head stands behind.
func TestClock(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		job := drawn.Draw(t, drawn.Options{Side: 40})
		b := heavy()
		b.Machine = job.Config()
		if rapid.Bool().Draw(t, "Z along burns") {
			b, job.Text = heavy(), "G21 G90 M3 S500\nG0 X0 Y0\nG1 F9000\n"
			for x := range rapid.IntRange(1, 40).Draw(t, "burns") {
				job.Text += fmt.Sprintf("X%d Z%.3f\n", x*rapid.IntRange(1, 3).Draw(t, "by"), rapid.Float64Range(-1, 1).Draw(t, "z"))
			}
		}
		want, err := Of(strings.NewReader(job.Text), "a.gcode", b)
		if err != nil {
			return
		}
		k, every := NewClock(strings.NewReader(job.Text), "a.gcode", b), rapid.IntRange(1, 9).Draw(t, "every")
		var sum Took
		for line, n := 0, strings.Count(job.Text, "\n")+strings.Count(job.Text, "\r")+1; line <= n+every; line += every {
			got, err := k.To(line)
			if err != nil {
				t.Fatal(err)
			}
			sum.Seconds, sum.ZStep = sum.Seconds+got.Seconds, max(sum.ZStep, got.ZStep)
		}
		if math.Abs(sum.Seconds-want.Seconds) > 1e-9*(1+want.Seconds) || sum.ZStep != want.ZStep {
			t.Errorf("%+v, of all at once %v s and %v mm/s\n%s", sum, want.Seconds, want.ZStep, job.Text)
		}
		if again, err := k.To(math.MaxInt); again != (Took{}) || err != nil {
			t.Errorf("told twice: %+v, %v", again, err)
		}
	})
	// From rest over 50 mm at 100 mm/s, of which Z rises 1 and then falls 1: it goes slower
	// through the corner, where its speed steps.
	k := NewClock(strings.NewReader("G21 G90 M4 S500\nG0 X0 Y0 Z0\nG1 X50 Z1 F6000\nX100 Z0\nG4 P2\n"), "a", heavy())
	var lines [5]Took
	for i := range lines {
		lines[i], _ = k.To(i + 1)
	}
	z, up, down := 1/math.Hypot(50, 1), lines[2], lines[3]
	through := down.ZStep / (2 * z)
	if up.ZStep != 0 || math.Abs(up.ZSpeed-100*z) > 1e-9 || up.ZSpeed != down.ZSpeed || math.Abs(up.Seconds-down.Seconds) > 1e-9 || lines[4] != (Took{Seconds: 2}) || lines[1] != (Took{}) {
		t.Errorf("%+v", lines)
	}
	if c := math.Cos(math.Atan(1. / 50)); math.Abs(through-math.Sqrt(50*0.01*c/(1-c))) > 1e-9*through {
		t.Errorf("through the corner at %v mm/s", through)
	}
}
