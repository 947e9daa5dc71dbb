package verify

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"sagitta/internal/surface/surfacetest"
)

// scribe writes a random program, and the same with a correction of its own
// within the depth, cut and at another Z, as any faithful writer might.
type scribe struct {
	t          *rapid.T
	a, b       strings.Builder // original, checked
	x, y, z, c float64
	beam       int   // M word in force
	ends       []int // essential lines
	line       int
}

func milli(v float64) float64 { return math.Round(v*1000) / 1000 }

func (s *scribe) original(format string, args ...any) {
	fmt.Fprintf(&s.a, format+"\n", args...)
}

// checked writes a line; essential says that it must not be missing.
func (s *scribe) checked(essential bool, format string, args ...any) {
	fmt.Fprintf(&s.b, format+"\n", args...)
	if essential {
		s.ends = append(s.ends, s.line)
	}
	s.line++
}

// nextC draws the correction at the next point. Over a short piece it stays.
func (s *scribe) nextC(length float64) float64 {
	if length < 0.5 || rapid.Bool().Draw(s.t, "c stays") {
		return s.c
	}
	return milli(rapid.Float64Range(-0.2, 0.2).Draw(s.t, "c"))
}

// pieces draws where a move is cut, up to and with its end.
func (s *scribe) pieces(length float64) []float64 {
	var cuts []float64
	if length > 1 {
		for range rapid.IntRange(0, 3).Draw(s.t, "cuts") {
			last := 0.0
			if len(cuts) > 0 {
				last = cuts[len(cuts)-1]
			}
			u := rapid.Float64Range(last, 1).Draw(s.t, "cut")
			if (u-last)*length > 0.05 && (1-u)*length > 0.05 {
				cuts = append(cuts, u)
			}
		}
	}
	return append(cuts, 1)
}

// feed spells the F that keeps the speed over XY.
func feed(f, length, dz float64) string {
	return fmt.Sprintf("F%.2f", f*math.Sqrt(length*length+dz*dz)/length)
}

func (s *scribe) straight(word string, f float64) {
	x1, y1 := milli(rapid.Float64Range(-40, 40).Draw(s.t, "x")), milli(rapid.Float64Range(-40, 40).Draw(s.t, "y"))
	if rapid.IntRange(0, 3).Draw(s.t, "short") == 0 {
		x1 = milli(s.x + 0.001*float64(rapid.IntRange(-3, 3).Draw(s.t, "step")))
		y1 = s.y
	}
	if x1 == s.x && y1 == s.y {
		return
	}
	s.original("%s X%.3f Y%.3f F%.2f", word, x1, y1, f)
	x0, y0, done := s.x, s.y, 0.0
	length := math.Hypot(x1-x0, y1-y0)
	for _, u := range s.pieces(length) {
		x, y := milli(x0+(x1-x0)*u), milli(y0+(y1-y0)*u)
		c := s.nextC((u - done) * length)
		s.checked(u == 1, "%s X%.3f Y%.3f Z%.3f %s", word, x, y, s.z+c, feed(f, math.Hypot(x-s.x, y-s.y), c-s.c))
		s.x, s.y, s.c, done = x, y, c, u
	}
}

func (s *scribe) round(f float64) {
	i, j := milli(rapid.Float64Range(-10, 10).Draw(s.t, "i")), milli(rapid.Float64Range(1, 10).Draw(s.t, "j"))
	cx, cy := s.x+i, s.y+j
	r, a0 := math.Hypot(i, j), math.Atan2(-j, -i)
	sweep := rapid.Float64Range(0.05, 2*math.Pi).Draw(s.t, "sweep")
	word := "G3"
	if rapid.Bool().Draw(s.t, "clockwise") {
		word, sweep = "G2", -sweep
	}
	r1 := r // the radius changes evenly to that of the rounded end
	at := func(u float64) (float64, float64) {
		sin, cos := math.Sincos(a0 + sweep*u)
		r := r + (r1-r)*u
		return milli(cx + r*cos), milli(cy + r*sin)
	}
	x1, y1 := at(1)
	r1 = math.Hypot(x1-cx, y1-cy)
	if x1 == s.x && y1 == s.y {
		return
	}
	s.original("%s X%.3f Y%.3f I%.3f J%.3f F%.2f", word, x1, y1, i, j, f)
	length, done := r*math.Abs(sweep), 0.0
	for _, u := range s.pieces(length) {
		x, y := at(u)
		if u == 1 {
			x, y = x1, y1
		}
		c := s.nextC((u - done) * length)
		s.checked(u == 1, "%s X%.3f Y%.3f Z%.3f I%.3f J%.3f %s", word, x, y, s.z+c, cx-s.x, cy-s.y, feed(f, (u-done)*length, c-s.c))
		s.x, s.y, s.c, done = x, y, c, u
	}
}

func (s *scribe) step() {
	f := math.Round(rapid.Float64Range(100, 3000).Draw(s.t, "feed"))
	switch rapid.IntRange(0, 9).Draw(s.t, "step") {
	case 0, 1, 2:
		s.straight("G1", f)
	case 3, 4:
		s.straight("G0", f)
	case 5:
		s.round(f)
	case 6:
		if s.beam == 5 {
			s.z = milli(rapid.Float64Range(0, 5).Draw(s.t, "z"))
			s.original("G0 Z%.3f", s.z)
			s.checked(false, "G0 Z%.3f", s.z+s.c)
		}
	case 7:
		seconds := rapid.IntRange(1, 9).Draw(s.t, "dwell")
		s.original("G4 P0.%d", seconds)
		s.checked(true, "G4 P0.%d", seconds)
	case 8:
		s.switchTo(rapid.SampledFrom([]int{3, 4, 5}).Draw(s.t, "beam"))
	case 9:
		if s.beam == 5 {
			s.c = milli(rapid.Float64Range(-0.2, 0.2).Draw(s.t, "c"))
			s.checked(false, "G0 Z%.3f (alone)", s.z+s.c)
		}
	}
}

// switchTo says a beam word. Burns are at the stock.
func (s *scribe) switchTo(m int) {
	if m != 5 && s.z != 0 {
		s.z = 0
		s.original("G0 Z0")
		s.checked(false, "G0 Z%.3f", s.c)
	}
	s.original("M%d S%d", m, 10*m)
	s.checked(false, "M%d S%d", m, 10*m)
	s.beam = m
}

// write gives the two programs, and the lines of the checked one (from 0)
// that must not be missing.
func write(t *rapid.T) (original, checked string, essential []int) {
	s := &scribe{t: t, beam: 5}
	s.original("G21 G90\nM5\nG0 X0 Y0")
	fmt.Fprint(&s.b, "G21 G90\nM5\nG0 X0 Y0\n")
	s.line = 3
	s.switchTo(4)
	s.straight("G1", 600)
	for range rapid.IntRange(1, 25).Draw(t, "steps") {
		s.step()
	}
	s.switchTo(4)
	s.original("G1 X50 Y50 F500")
	s.checked(true, "G1 X50 Y50 F500")
	return s.a.String(), s.b.String(), s.ends
}

func faithfulOptions(t testing.TB) Options {
	flat := surfacetest.Of(t, "bilinear", []float64{-100, 0, 100}, []float64{-100, 100}, func(_, _ float64) float64 { return 0 })
	return options(flat, 0.2+1e-6, 0.2+1e-6)
}

func TestFaithfulProgramsPass(t *testing.T) {
	opt := faithfulOptions(t)
	rapid.Check(t, func(t *rapid.T) {
		original, checked, _ := write(t)
		r, err := Run(strings.NewReader(checked), "checked", strings.NewReader(original), "original", opt)
		if err != nil {
			t.Fatalf("%v\n%s", err, checked)
		}
		if !r.Holds() {
			t.Fatalf("%v\n--- original\n%s--- checked\n%s", r.Failures, original, checked)
		}
	})
}

// Units and distance mode are said before the first motion where the original says them
// there, whatever the controller starts with.
func TestModesAreSaidBeforeItMoves(t *testing.T) {
	const moves = "G0 X0 Y0\nM3 S500\nG1 X50 F1000\nM5\nG0 X0\n"
	for _, c := range []struct{ original, checked, want string }{
		{"G21 G90\n" + moves, "G21 G90\n" + moves, ""},
		{"G21 G90\n" + moves, "G90\nG21 " + moves, ""},
		{moves, moves, ""},
		{"G21 G90\n" + moves, "M5\n" + moves, "line 2: word differs from the original: it moves before it says the units (G20, G21), as the original does not\n" +
			"line 2: word differs from the original: it moves before it says the distance mode (G90, G91), as the original does not"},
		{"G21 G90\n" + moves, "G21\n" + moves + "G90\n", "line 2: word differs from the original: it moves before it says the distance mode"},
		{"G90 G21 " + moves, "G90\n" + moves, "line 2: word differs from the original: it moves before it says the units"},
		{moves + "G21\n", moves, ""},
	} {
		r, err := Run(strings.NewReader(c.checked), "checked", strings.NewReader(c.original), "original", faithfulOptions(t))
		if err != nil {
			t.Fatal(err)
		}
		var got []string
		for _, f := range r.Failures {
			got = append(got, f.String())
		}
		if text := strings.Join(got, "\n"); (c.want == "") != r.Holds() || !strings.Contains(text, c.want) {
			t.Errorf("%q for %q: %s, want %q", c.checked, c.original, text, c.want)
		}
	}
}

func TestMissingLinesAreFound(t *testing.T) {
	opt := faithfulOptions(t)
	rapid.Check(t, func(t *rapid.T) {
		original, checked, essential := write(t)
		lines := strings.SplitAfter(checked, "\n")
		k := rapid.SampledFrom(essential).Draw(t, "missing")
		spoiled := strings.Join(lines[:k], "") + strings.Join(lines[k+1:], "")
		r, err := Run(strings.NewReader(spoiled), "checked", strings.NewReader(original), "original", opt)
		if err == nil && r.Holds() {
			t.Fatalf("without %q it passes\n--- original\n%s--- checked\n%s", lines[k], original, checked)
		}
	})
}
