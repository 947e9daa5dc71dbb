package job

import (
	"io"
	"math"

	"sagitta/internal/machine"
	"sagitta/internal/report/trace"
	"sagitta/internal/timing"
	"sagitta/internal/verify"
)

// Tracing has the path of what is verified kept as a trace.
type Tracing struct {
	keeper   *trace.Keeper
	programs []trace.Program
	original bool
	// raised is by how much heights and corrections are raised: as much as the surface that
	// is verified with was lowered.
	raised float64
	step   trace.Step
	higher raisedWay
	// bench is what times along the path are worked out for, nil where they are by feeds alone.
	// open opens a program by its number once more, to be timed beside its proof: a controller
	// looks ahead, and a proof does not.
	bench *timing.Bench
	open  func(zone int) (io.ReadCloser, error)
	clock *timing.Clock
	file  io.Closer
	err   error
}

// Trace is what was kept. The error is that of a program that could not be read once more.
func (t *Tracing) Trace() (*trace.Trace, error) {
	t.close()
	tr := t.keeper.Trace()
	tr.Inertia = t.bench != nil
	return tr, t.err
}

// Begin begins a program.
func (t *Tracing) Begin(zone int) {
	if zone == 0 {
		t.keeper, t.err = trace.NewKeeper(t.original), nil
	}
	t.keeper.Begin(t.programs[zone])
	if t.bench == nil || zone > 0 && t.programs[zone].Name == t.programs[zone-1].Name {
		return // by feeds, or another zone of the same program
	}
	t.close()
	file, err := t.open(zone)
	if err != nil {
		t.err = err
		return
	}
	t.file, t.clock = file, timing.NewClock(file, t.programs[zone].Name, *t.bench)
}

// close closes the program that is timed.
func (t *Tracing) close() {
	if t.file != nil {
		t.file.Close() // of which nothing more is wanted
	}
	t.file, t.clock = nil, nil
}

// took is what a step takes. By feeds nothing is known of steps of the speed of Z.
func (t *Tracing) took(s *verify.Seen) timing.Took {
	if t.clock == nil {
		return timing.Took{Seconds: s.Seconds, ZSpeed: s.ZRate / 60}
	}
	took, err := t.clock.To(s.Line)
	if err != nil {
		t.err = err
		t.close()
	}
	return took
}

// See takes a step.
func (t *Tracing) See(s *verify.Seen) {
	m, up, took := s.M, t.raised, t.took(s)
	t.step = trace.Step{
		Line: s.Line, OriginalLine: s.OriginalLine, Burns: s.Burns, Waits: m.Kind == machine.Dwell && !s.Burns, Stops: s.Stops, Unknown: s.Unknown,
		Way: t.way(s), LengthMM: m.Length, C0: s.C0 + up, C1: s.C1 + up, Middle: s.Middle + up, Within: s.Within,
		Height: t.extent(&s.Height, up), Defocus: t.extent(&s.Defocus, 0), Spent: t.extent(&s.Spent, 0),
		Less: s.Less, Near: s.Depth.Near, Far: s.Depth.Far, WantedMM: s.WantedMM, NoHeight: s.NoHeight,
		Seconds: took.Seconds, ZSpeed: took.ZSpeed, ZStep: took.ZStep, Speed: s.Speed, Text: s.Text, Remark: s.Remark,
	}
	if m.Kind == machine.Arc {
		t.step.Turn = math.Abs(m.Sweep)
	}
	t.keeper.Take(&t.step)
	h, d, spent := t.keeper.Known()
	s.Known.Height = verify.Known{Lo: h.Lo - up, Hi: h.Hi - up}
	s.Known.Defocus, s.Known.Spent = verify.Known(d), verify.Known(spent)
}

func (t *Tracing) extent(e *verify.Extent, up float64) trace.Extent {
	return trace.Extent{Lo: e.Lo + up, Hi: e.Hi + up, AtLo: e.AtLo, AtHi: e.AtHi, LessLo: e.LessLo, LessHi: e.LessHi}
}

// End ends a program.
func (t *Tracing) End(r *verify.Result) {
	t.keeper.End(r.Blocks, r.Extent)
	if len(t.programs) == 1 {
		t.keeper.Original(r.SecondsOriginal)
	}
}

// way is that of a step, with heights raised.
func (t *Tracing) way(s *verify.Seen) trace.Way {
	if t.raised == 0 {
		return s
	}
	t.higher = raisedWay{s, t.raised}
	return &t.higher
}

type raisedWay struct {
	*verify.Seen
	up float64
}

// At is the height that much over that of the way.
func (w *raisedWay) At(part float64) (float64, bool) {
	h, is := w.Seen.At(part)
	return h + w.up, is
}
