package verify

import (
	"math"

	"sagitta/internal/focus"
	"sagitta/internal/machine"
	"sagitta/internal/verify/extremes"
)

// Watcher is told of the path of a checked program as it is judged.
type Watcher interface {
	// Begin tells that a program begins: the zone of a set by its number from 0. The first
	// may begin again: then all that was told before is void.
	Begin(zone int)
	// See is told each motion, each dwell and each stop in the order of the path.
	See(s *Seen)
	// End tells that the program has ended, and what was found of it.
	End(r *Result)
}

// Seen is a step of the checked program for a watcher. It holds until See returns.
type Seen struct {
	// Line is in the checked program, OriginalLine in the original, 0 where there is none.
	Line, OriginalLine int
	// M is the motion or dwell; of a stop only where it stands.
	M *machine.Move
	// Depth and WantedMM are what is asked of its focus: the usable depth, and the wanted
	// defocus.
	Depth    focus.Depth
	WantedMM float64
	// Burns tells that it burns, Stops that it waits for the operator, and Unknown that it
	// comes from a place, or leads to one, that is not known: only its end counts.
	Burns, Stops, Unknown bool
	// C0 and C1 are the correction at its ends; of a stop they say nothing.
	C0, C1 float64
	// Middle is the height at its middle, and Within how far heights on it leave that at
	// most: +Inf where that is not bounded.
	Middle, Within float64
	// Height is that of the surface and Defocus c - h - D; Spent is that with what heights
	// are less sure by. Of a burn they are exact where it is beyond what the watcher knows,
	// or beyond all burns before; what is within need not be in them. Else they are empty.
	Height, Defocus, Spent Extent
	// Less is by how much the depth is less at most, either side, for heights that are less
	// sure there.
	Less float64
	// NoHeight tells that some of it is off the surface, or over missing heights.
	NoHeight bool
	// Seconds is how long it takes, ZRate how fast Z goes in mm/min, and Speed the share of
	// the original's speed over XY that it goes at, 1 where there is none to compare with.
	Seconds, ZRate, Speed float64
	// Text is the line of the program as it is, and Remark the comment at a stop, or
	// at a dwell with the beam off.
	Text   []byte
	Remark string

	// Known are ranges that the watcher sets for the steps to come that ask for the same of
	// the focus: what lies within them is of no interest. Empty ones ask for all.
	Known struct{ Height, Defocus, Spent Known }

	f    *extremes.Field
	hold bool
}

// Extent is the range of a quantity over a step, Lo > Hi where it is empty.
type Extent struct {
	Lo, Hi float64
	// AtLo and AtHi are where, as fractions of the move, and LessLo and LessHi by how much
	// heights are less sure there.
	AtLo, AtHi, LessLo, LessHi float64
}

// Known is a range of values.
type Known struct{ Lo, Hi float64 }

// At gives the height at a fraction of the move, and whether there is one.
func (s *Seen) At(part float64) (mm float64, is bool) {
	at := s.M.XY(part)
	return s.f.Height(at[0], at[1], s.hold)
}

// XY gives the place at a fraction of the move.
func (s *Seen) XY(part float64) [2]float64 { return s.M.XY(part) }

// unknown is a range of which nothing is known.
var unknown = Known{math.Inf(1), math.Inf(-1)}

// begin begins what is told of the step under way, which is the original's step o or has
// none.
func (s *Seen) begin(j *Judge, o *Step) {
	known := s.Known
	if s.f == nil || s.Depth != j.asks.now.depth || s.WantedMM != j.asks.now.defocus {
		known.Height, known.Defocus, known.Spent = unknown, unknown, unknown
	}
	*s = Seen{Line: j.S.Line, M: &j.S.M, Within: math.Inf(1), Speed: 1, Text: j.src.text, Known: known, f: j.f, hold: j.Opt.OutsideHold}
	s.Depth, s.WantedMM = j.asks.now.depth, j.asks.now.defocus
	s.Height, s.Defocus, s.Spent = nothing, nothing, nothing
	if o != nil {
		s.OriginalLine = o.Line
	}
}

// nothing is an empty extent.
var nothing = Extent{Lo: math.Inf(1), Hi: math.Inf(-1)}

// tell tells the watcher of the step under way, with c at its ends.
func (s *Seen) tell(j *Judge, c0, c1 float64, burn bool, o *Step) {
	s.begin(j, o)
	m := &j.S.M
	s.Burns, s.C0, s.C1, s.Seconds = burn, c0+j.byHand, c1+j.byHand, j.Opt.takes(&j.S)
	s.Unknown = m.FromUnknown || m.ZUnknown || !j.S.Known
	if j.S.Kind == Dwell && !burn {
		s.Remark = j.Remark()
	}
	if s.Seconds > 0 && !m.ZUnknown {
		s.ZRate = math.Abs(j.S.dz()) / s.Seconds * secondsPerMinute
	}
	if burn && o != nil && o.Kind == Motion && timed(&j.S) && timed(o) {
		s.Speed = m.Length / m.Seconds * o.M.Seconds / o.M.Length
	}
	if burn && j.S.Known {
		s.extents(j)
	} else if burn {
		s.NoHeight = true // where it is nobody knows
	}
	j.Opt.Watch.See(s)
}

// extents finds what there is of a burn beyond what the watcher knows.
func (s *Seen) extents(j *Judge) {
	sp, known, d := &j.under, s.Known, j.asks.now.defocus
	if s.Unknown {
		s.C0 = s.C1
		known.Height, known.Defocus, known.Spent = unknown, unknown, unknown
	}
	*sp = extremes.Below{C0: s.C0 - d, C1: s.C1 - d, Watch: true, Uneven: j.f.Uneven()}
	sp.Focus.Begin(known.Defocus.Lo, known.Defocus.Hi)
	sp.Spent.Begin(known.Spent.Lo, known.Spent.Hi)
	sp.Height.Begin(known.Height.Lo, known.Height.Hi)
	found := false
	if s.Unknown {
		found = j.f.Along(sp, s.M, true)
		s.Middle, s.Within = sp.Height.Lo, 0
	} else {
		sp.Middle, sp.Within = j.sp.Middle, j.sp.Within // the judge has looked there
		found = j.f.Again(sp, s.M)
		s.Middle, s.Within = sp.Middle, sp.Within
	}
	if sp.Uneven {
		at := s.M.XY(0.5)
		s.Less = j.f.LessAbout(at[0], at[1], reachOf(s.M)/2)
	}
	if found {
		s.take(sp)
		s.NoHeight = sp.Holes || sp.Off > j.Opt.lastDecimal(j.S.Inches) && !s.hold
	}
	if j.found {
		s.take(&j.sp)
	}
}

// take takes what was found.
func (s *Seen) take(sp *extremes.Below) {
	s.Height.take(&sp.Height)
	s.Defocus.take(&sp.Focus)
	if sp.Uneven {
		s.Spent.take(&sp.Spent)
	} else {
		s.Spent = s.Defocus
	}
}

func (e *Extent) take(r *extremes.Range) {
	if r.Lo < e.Lo {
		e.Lo, e.AtLo, e.LessLo = r.Lo, r.AtLo, r.LessLo
	}
	if r.Hi > e.Hi {
		e.Hi, e.AtHi, e.LessHi = r.Hi, r.AtHi, r.LessHi
	}
}

// reachOf is how far apart in mm two places on a move are at most.
func reachOf(m *machine.Move) float64 {
	return max(m.Length, math.Hypot(m.To.X-m.From.X, m.To.Y-m.From.Y))
}
