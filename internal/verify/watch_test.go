package verify

import (
	"math"
	"reflect"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"sagitta/internal/bench"
	"sagitta/internal/machine"
	"sagitta/internal/machine/drawn"
	"sagitta/internal/surface"
	"sagitta/internal/surface/surfacetest"
)

// told is a step that a watcher was told of.
type told struct {
	Seen
	move machine.Move
	text string
}

// diary is a watcher that notes all; knows draws what it says it knows.
type diary struct {
	steps []told
	knows func(s *Seen)
	ended int
}

func (d *diary) Begin(int) { d.steps = nil }

func (d *diary) End(*Result) { d.ended++ }

func (d *diary) See(s *Seen) {
	move := *s.M
	d.steps = append(d.steps, told{*s, move, string(s.Text)})
	d.steps[len(d.steps)-1].M = &move
	if d.knows != nil {
		d.knows(s)
	}
}

// watched runs a program with a diary, and holds the result to that without one.
func watched(t rapidT, checked, original string, opt Options, d *diary) *Result {
	read := func() *Result {
		var r *Result
		var err error
		if original == "" {
			r, err = Run(strings.NewReader(checked), "", nil, "", opt)
		} else {
			r, err = Run(strings.NewReader(checked), "", strings.NewReader(original), "", opt)
		}
		if err != nil {
			t.Fatalf("%v\n%s", err, checked)
		}
		return r
	}
	bare := read()
	opt.Watch = d
	res := read()
	if !reflect.DeepEqual(clean(bare), clean(res)) {
		t.Fatalf("with a watcher\n%+v\nwithout\n%+v", res, bare)
	}
	if d.ended != 1 {
		t.Fatalf("ended %d times", d.ended)
	}
	return res
}

type rapidT interface {
	Helper()
	Fatalf(format string, args ...any)
}

// clean has no NaN, which is like nothing.
func clean(r *Result) Result {
	c := *r
	c.Failures = nil
	for _, f := range r.Failures {
		for _, v := range []*float64{&f.X, &f.Y, &f.Amount} {
			if *v != *v {
				*v = math.Inf(1)
			}
		}
		c.Failures = append(c.Failures, f)
	}
	return c
}

// sums holds what was told to the result: the path's order, its time, what it burns.
func sums(t rapidT, r *Result, d *diary, checked string) {
	lines := strings.SplitAfter(checked, "\n")
	seconds, mm, last := 0.0, 0.0, 0
	for i := range d.steps {
		s := &d.steps[i]
		if s.Line < last {
			t.Fatalf("line %d behind line %d", s.Line, last)
		}
		last = s.Line
		if lines[s.Line-1] != s.text {
			t.Fatalf("line %d is %q, not %q", s.Line, lines[s.Line-1], s.text)
		}
		seconds += s.Seconds
		if s.Burns {
			mm += s.move.Length
		}
	}
	if math.Abs(seconds-r.Seconds) > 1e-9*(1+r.Seconds) || math.Abs(mm-r.BurnLengthMM) > 1e-9*(1+mm) {
		t.Fatalf("%v s and %v mm told, %v s and %v mm found\n%s", seconds, mm, r.Seconds, r.BurnLengthMM, checked)
	}
}

// dense holds the extents of a burn to samples of it: none is beyond what they and what was
// known have, and what they have is there.
func dense(t rapidT, p *surface.Placed, s *told, known [3]Known, d float64, what string) {
	const samples = 1500
	slack := 1e-6 + 3*p.Allowance()
	m := &s.move
	height := func(u float64) float64 {
		at := m.XY(u)
		h, _ := p.At(at[0], at[1])
		return h
	}
	c := func(u float64) float64 { return s.C0 + (s.C1-s.C0)*u - d }
	for i := range samples + 1 {
		u := float64(i) / samples
		h := height(u)
		if lo, hi := min(s.Height.Lo, known[0].Lo), max(s.Height.Hi, known[0].Hi); h < lo-slack || h > hi+slack {
			t.Fatalf("line %d: height %v at %v is not within %v..%v\n%s", s.Line, h, u, lo, hi, what)
		}
		if lo, hi := min(s.Defocus.Lo, known[1].Lo), max(s.Defocus.Hi, known[1].Hi); c(u)-h < lo-slack || c(u)-h > hi+slack {
			t.Fatalf("line %d: defocus %v at %v is not within %v..%v\n%s", s.Line, c(u)-h, u, lo, hi, what)
		}
		if math.Abs(h-s.Middle) > s.Within+slack {
			t.Fatalf("line %d: height %v at %v leaves %v by more than %v\n%s", s.Line, h, u, s.Middle, s.Within, what)
		}
		if told, _ := s.At(u); u == 1 && math.Abs(told-h) > slack {
			t.Fatalf("line %d: told a height of %v at its end, which is %v\n%s", s.Line, told, h, what)
		}
	}
	for _, e := range []struct{ v, at float64 }{{s.Height.Lo, s.Height.AtLo}, {s.Height.Hi, s.Height.AtHi}} {
		if !math.IsInf(e.v, 0) && math.Abs(height(e.at)-e.v) > slack {
			t.Fatalf("line %d: height %v at %v is %v\n%s", s.Line, e.v, e.at, height(e.at), what)
		}
	}
	for _, e := range []struct{ v, at float64 }{{s.Defocus.Lo, s.Defocus.AtLo}, {s.Defocus.Hi, s.Defocus.AtHi}} {
		if !math.IsInf(e.v, 0) && math.Abs(c(e.at)-height(e.at)-e.v) > slack {
			t.Fatalf("line %d: defocus %v at %v is %v\n%s", s.Line, e.v, e.at, c(e.at)-height(e.at), what)
		}
	}
}

// What a watcher is told of a drawn program is what samples of it tell, and it does not
// change what is found; what it knows is left out and nothing else.
func TestWatchedAlone(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := surfacetest.Draw(t, 60, []float64{7, 13, 20}, []float64{0, 0.5, 3}).Placed(t)
		job := drawn.Draw(t, drawn.Options{Side: 60})
		opt := options(p, 0.4, 0.7)
		opt.Machine = job.Config()
		opt.ZRate, opt.DefocusMM, opt.OutsideHold = rapid.SampledFrom([]float64{0, 5}).Draw(t, "z rate"), rapid.SampledFrom([]float64{0, 0.3}).Draw(t, "defocus"), true
		if rapid.Bool().Draw(t, "by hand") {
			opt.ZMoves = bench.ByHand // the wanted defocus, too
		}
		var known [][3]Known
		d := &diary{}
		if rapid.Bool().Draw(t, "knows") {
			d.knows = func(s *Seen) {
				h, w := rapid.Float64Range(-1, 1).Draw(t, "known"), rapid.Float64Range(0, 1).Draw(t, "so far")
				s.Known.Height, s.Known.Defocus = Known{h - w, h + w}, Known{-h - w, w - h}
				s.Known.Spent = s.Known.Defocus
				known = append(known, [3]Known{s.Known.Height, s.Known.Defocus, s.Known.Spent})
			}
		}
		r := watched(t, job.Text, "", opt, d)
		sums(t, r, d, job.Text)
		worst := 0.0
		for i := range d.steps {
			s := &d.steps[i]
			if !s.Burns {
				if !math.IsInf(s.Height.Lo, 1) {
					t.Fatalf("line %d: extents of a travel\n%s", s.Line, job.Text)
				}
				continue
			}
			worst = max(worst, -s.Defocus.Lo, s.Defocus.Hi)
			was := [3]Known{unknown, unknown, unknown}
			if d.knows != nil && i > 0 && !s.Unknown {
				was = known[i-1]
			}
			dense(t, p, s, was, opt.DefocusMM, job.Text)
		}
		if r.Burns > 0 && math.Abs(worst-math.Abs(r.Defocus.MM)) > 1e-6 {
			t.Fatalf("at most %v told, %v found\n%s", worst, r.Defocus.MM, job.Text)
		}
	})
}

// Beside its original as well: lines of the original, c, and the share of its speed.
func TestWatchedBeside(t *testing.T) {
	opt := faithfulOptions(t)
	rapid.Check(t, func(t *rapid.T) {
		original, checked, _ := write(t)
		d := &diary{}
		r := watched(t, checked, original, opt, d)
		sums(t, r, d, checked)
		for i := range d.steps {
			s := &d.steps[i]
			if s.Burns {
				dense(t, opt.Surface, s, [3]Known{unknown, unknown, unknown}, 0, checked)
				if s.OriginalLine == 0 {
					t.Fatalf("line %d has no original\n%s", s.Line, checked)
				}
				// No burn of these jobs is slower, and the original runs at Z0.
				if math.Abs(s.Speed-1) > 0.01 || s.move.Length > 0 && s.C1 != s.move.To.Z {
					t.Fatalf("line %d: speed %v, c %v\n%s", s.Line, s.Speed, s.C1, checked)
				}
			}
		}
	})
}

// Stops and dwells come where they are in the path, with the comment beside them, as do
// travels that are judged once the first burn is known.
func TestWatchedInOrder(t *testing.T) {
	const program = "G21 G90\nM5\nG0 Z5\nG0 X10 Y10\nG4 P0.5 (settle)\n(turn the part)\nM0\nG0 Z0\nM3 S100\nG1 X20 F600\nM5\nM0 (take it out)\nM2\n"
	flat := surfacetest.Of(t, "bilinear", []float64{0, 100}, []float64{0, 100}, func(_, _ float64) float64 { return 0 })
	for _, original := range []string{"", program} {
		d := &diary{}
		watched(t, program, original, options(flat, 1, 1), d)
		type is struct {
			Line          int
			Burns, Stops  bool
			Remark        string
			Seconds, Z, C float64
		}
		var got []is
		for _, s := range d.steps {
			got = append(got, is{s.Line, s.Burns, s.Stops, strings.TrimSpace(s.Remark), math.Round(s.Seconds*1000) / 1000, s.move.To.Z, s.C1})
		}
		c := 5.0
		if original != "" {
			c = 0
		}
		want := []is{{3, false, false, "", 0.05, 5, c}, {4, false, false, "", got[1].Seconds, 5, c}, {5, false, false, "(settle)", 0.5, 5, c}, {7, false, true, "(turn the part)", 0, 5, 0},
			{8, false, false, "", 0.05, 0, 0}, {10, true, false, "", 1, 0, 0}, {12, false, true, "(take it out)", 0, 0, 0}}
		if !reflect.DeepEqual(got, want) {
			t.Errorf("against %q:\n%v\nwant\n%v", original, got, want)
		}
	}
}

// Where there is no height it is told; where the edge is held there is one beyond it.
func TestWatchedNoHeight(t *testing.T) {
	flat := surfacetest.Of(t, "bilinear", []float64{0, 100}, []float64{0, 100}, func(_, _ float64) float64 { return 0 })
	for _, hold := range []bool{false, true} {
		d := &diary{}
		opt := options(flat, 1, 1)
		opt.OutsideHold = hold
		watched(t, "M5\nG0 X50 Y50\nM3 S1\nG1 X90 F1000\nX110\nM5\n", "", opt, d)
		last := d.steps[len(d.steps)-1]
		if _, is := last.At(1); last.NoHeight == hold || is != hold || d.steps[len(d.steps)-2].NoHeight {
			t.Errorf("hold %v: no height %v, at the end %v", hold, last.NoHeight, is)
		}
	}
}
