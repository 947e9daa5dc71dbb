package job

import (
	"bytes"
	"io"
	"math"
	"reflect"
	"strings"
	"testing"

	"sagitta/internal/record"
	"sagitta/internal/report/trace"
	"sagitta/internal/timing"
	"sagitta/internal/verify"
	"sagitta/internal/zone"
)

// text is what a program of n lines is.
func (w written) text(t testing.TB) []byte {
	text, err := io.ReadAll(&w)
	if err != nil {
		t.Fatal(err)
	}
	return text
}

// agrees holds a trace to the result of the same proof; alike tells that many places are the
// worst.
func agrees(t *testing.T, tr *trace.Trace, r *verify.Result, alike bool) {
	t.Helper()
	near := func(what string, got, want float64) {
		t.Helper()
		if math.Abs(got-want) > 1e-6*(1+math.Abs(want)) {
			t.Errorf("%s %v, want %v", what, got, want)
		}
	}
	w := tr.Worst[0]
	near("worst", w.Defocus, r.Defocus.MM)
	if !alike {
		near("worst x", w.At[0], r.Defocus.X)
		near("worst y", w.At[1], r.Defocus.Y)
		if d := w.Line - r.Defocus.Line; d < -1 || d > 1 { // where two lines meet it is either
			t.Errorf("worst on line %d, want %d", w.Line, r.Defocus.Line)
		}
	}
	near("seconds", tr.Seconds, r.Seconds)
	near("seconds of the original", tr.SecondsBefore, r.SecondsOriginal)
	near("burned", tr.Share.Total, r.BurnLengthMM)
	near("within", tr.Share.Within, r.BurnLengthMM)
	if tr.Bounds != r.Extent {
		t.Errorf("bounds %v, want %v", tr.Bounds, r.Extent)
	}
	low, high := math.Inf(1), math.Inf(-1)
	for _, s := range tr.Stretches {
		if s.Burns {
			low, high = min(low, s.Height.Lo), max(high, s.Height.Hi)
		}
	}
	near("lowest", low, r.Lowest.MM)
	near("highest", high, r.Highest.MM)
	if p := tr.Programs[0]; p.Lines != r.Blocks || p.Name != "job.nc" || !(p.Near > 0 && p.Far > 0) {
		t.Errorf("%+v", p)
	}
}

// steps holds the greatest step of the speed of Z to what the program is timed to, and its place
// to the line.
func steps(t *testing.T, j *Job, tr *trace.Trace, text string) {
	t.Helper()
	b, s := Timing(j.Machine, j.Config), tr.ZStep
	if tr.Inertia != (b != nil) {
		t.Errorf("inertia is told: %t", tr.Inertia)
	}
	if b == nil {
		if s.MMS != 0 {
			t.Errorf("%+v, by feeds alone", s)
		}
		return
	}
	of, err := timing.Of(strings.NewReader(text), "", *b)
	if err != nil {
		t.Fatal(err)
	}
	k := timing.NewClock(strings.NewReader(text), "", *b)
	before, _ := k.To(s.Line - 1)
	there, _ := k.To(s.Line)
	if s.MMS != of.ZStep || there.ZStep != s.MMS || !(s.MMS > 0) || math.Abs(before.Seconds-s.Seconds) > 1e-6 {
		t.Errorf("steps most by %+v, not by %v mm/s; its line is %+v, from %v s on", s, of.ZStep, there, before.Seconds)
	}
	fastest := 0.0
	for _, one := range tr.Stretches {
		fastest = max(fastest, one.ZSpeed)
	}
	all, _ := timing.NewClock(strings.NewReader(text), "", *b).To(math.MaxInt)
	if fastest != all.ZSpeed {
		t.Errorf("Z goes at up to %v mm/s, not %v", fastest, all.ZSpeed)
	}
}

// A trace agrees with what the proof that it was kept of has found, few lines or many,
// though what it knows already is not searched again; with rules about burns as well.
func TestTraceAgrees(t *testing.T) {
	for _, method := range []string{"bilinear", "bicubic", "bilinear, by rules", "bilinear, with inertia"} {
		method, ruled := strings.CutSuffix(method, ", by rules")
		method, inert := strings.CutSuffix(method, ", with inertia")
		j := tracedJob(t, method, inert)
		if ruled {
			wide, narrow, further := record.Sides{-5, 5}, record.Sides{-0.8, 0.9}, 0.1
			rules := record.Burns{{Lines: &record.LineSpans{{5, 9}}, DepthMM: &narrow}, {Lines: &record.LineSpans{{900, 25_000}}, DepthMM: &wide, DefocusMM: &further}}
			if err := j.TakeRules("burns.toml", rules); err != nil {
				t.Fatal(err)
			}
		}
		for name, line := range map[string]func(*written, []byte) []byte{"dots": dots, "mixed": mixed} {
			for _, n := range []int{10, 3000, 30_000} {
				checked, original := written{n: n, line: line, follow: true}.text(t), written{n: n, line: line}.text(t)
				r, tr, err := j.VerifyTraced(bytes.NewReader(checked), "dir/job.nc", bytes.NewReader(original), "", nil, false)
				if err != nil || !r.Holds() {
					t.Fatalf("%s %s %d: %v %v", method, name, n, err, r)
				}
				t.Logf("%s %s %d", method, name, n)
				agrees(t, tr, r, ruled)
				steps(t, j, tr, string(checked))
				if tr.Before == nil || math.Abs(tr.Before.Total-tr.Share.Total) > 1e-6*tr.Share.Total {
					t.Error("the original's share is not of the same burns")
				}
			}
		}
	}
}

// A program that runs flat is told by the height that its focus is set at: as high as if its
// Z were written so.
func TestTraceAtAFocus(t *testing.T) {
	j := tracedJob(t, "bicubic", false)
	focus := 0.5
	flat := written{n: 500, line: dots}.text(t)
	r, tr, err := j.VerifyTraced(bytes.NewReader(flat), "job.nc", nil, "", &focus, false)
	if err != nil {
		t.Fatal(err)
	}
	if tr.Before != nil || tr.Programs[0].FocusMM != focus || math.Abs(tr.Worst[0].Defocus-r.Defocus.MM) > 1e-6 {
		t.Errorf("%+v, worst %+v, want %+v", tr.Programs[0], tr.Worst[0], r.Defocus)
	}
	for _, s := range tr.Stretches {
		if !s.Burns {
			continue
		}
		h, _ := j.Placed.At(s.From[0], s.From[1])
		if math.Abs(s.C.Lo-focus) > 1e-9 || math.Abs(s.C.Hi-focus) > 1e-9 || h < s.Height.Lo-1e-6 || h > s.Height.Hi+1e-6 {
			t.Fatalf("%+v over a height of %v", s, h)
		}
	}
}

// The trace of a set is of its programs one after the other, and agrees with what is found of
// each; its strokes are those of the programs.
func TestTraceOfASet(t *testing.T) {
	o := Defaults()
	o.Surface, o.Depth, o.Machine = "bow.csv", "0.5", "bench.toml"
	o.Note = func(string) {}
	j, err := New(folder{"bow.csv": bowed(), "bench.toml": inertBench}.open, &o, AllLenses)
	if err != nil {
		t.Fatal(err)
	}
	original := "G21 G90\nM5\nG0 X10 Y20\nM4 S100\nG1 X290 F1000\nM5\nG0 X60 Y100\nM4\nG2 I90 F2000\nG4 P0.5\nM5\nG0 X0 Y0\nM2\n"
	dir := t.TempDir()
	plan, err := zone.Survey(strings.NewReader(original), j.Zones("job.gcode"))
	if err == nil {
		plan.Made, err = j.Keep(dir, j.Options)
	}
	if err == nil {
		err = plan.Split(strings.NewReader(original), dir)
	}
	if err != nil {
		t.Fatal(err)
	}
	f, err := ReadFolder(onDisk, dir)
	if err != nil {
		t.Fatal(err)
	}
	bare, err := j.VerifySet(onDisk, f, strings.NewReader(original), "job.gcode")
	if err != nil {
		t.Fatal(err)
	}
	r, tr, err := j.VerifySetTraced(onDisk, f, strings.NewReader(original), "job.gcode")
	if err != nil || !r.Holds() || !reflect.DeepEqual(bare, r) {
		t.Fatalf("%v\n%+v\n%+v", err, bare, r)
	}
	if len(tr.Programs) != len(f.Zones) || len(f.Zones) < 2 || tr.SecondsBefore != r.SecondsOriginal || tr.Before == nil || !tr.Inertia {
		t.Fatalf("%d programs of %d zones, the original takes %v of %v s", len(tr.Programs), len(f.Zones), tr.SecondsBefore, r.SecondsOriginal)
	}
	seconds, mm, worst := 0.0, 0.0, 0.0
	for i, z := range r.Zones {
		p, of := tr.Programs[i], &f.Zones[i]
		if p.Name != of.Program || p.FocusMM != *of.FocusMM || p.Near != j.Lenses[0].Checking.Near || p.Lines != z.Blocks || math.Abs(p.Seconds-seconds) > 1e-9 {
			t.Errorf("program %d: %+v, %d lines, at %v s", i, p, z.Blocks, seconds)
		}
		seconds, mm, worst = seconds+z.Seconds, mm+z.BurnLengthMM, max(worst, math.Abs(z.Defocus.MM))
	}
	if math.Abs(tr.Seconds-seconds) > 1e-9 || math.Abs(tr.Share.Total-mm) > 1e-6 || math.Abs(math.Abs(tr.Worst[0].Defocus)-worst) > 1e-6 || math.Abs(tr.Share.Within-mm) > 1e-6 {
		t.Errorf("%v s, %v mm, worst %+v; want %v s, %v mm, %v", tr.Seconds, tr.Share.Total, tr.Worst[0], seconds, mm, worst)
	}
	if tr.Before.Within > 0.6*mm {
		t.Errorf("%v mm of %v are within the depth without the zones", tr.Before.Within, mm)
	}
	for _, s := range tr.Stretches {
		if focus := tr.Programs[s.Program].FocusMM; s.Burns && (math.Abs(s.C.Lo-focus) > 1e-6 || math.Abs(s.C.Hi-focus) > 1e-6) {
			t.Errorf("c of %+v, and the focus is set at %v", s, focus)
		}
	}
	for _, s := range tr.Above.Strokes {
		h, _ := j.Placed.At(s.Points[0][0], s.Points[0][1])
		p := tr.Programs[s.Program]
		if d := (p.FocusMM - h) / p.Near; math.Abs(d-s.Defocus) > 0.15 {
			t.Errorf("stroke at %v: %v of the depth, told %v", s.Points[0], d, s.Defocus)
		}
	}
}
