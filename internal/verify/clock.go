package verify

import (
	"math"

	"sagitta/internal/machine"
	"sagitta/internal/verify/inertia"
)

// Clock tells how long the steps of a program take: by their feeds, or where the bench's
// inertia is known as its axes move.
type Clock struct {
	opt     *Options
	seconds float64
	path    *inertia.Path // nil where inertia is not known
}

// NewClock returns a clock that stands at 0.
func NewClock(opt *Options) *Clock {
	c := &Clock{opt: opt}
	if l := opt.Inertia; l != nil {
		c.path = inertia.New(inertia.Limits{Speed: l.Speed, Accel: l.Accel, CornerMM: l.CornerMM, Step: l.Step, LinesPerS: l.LinesPerS})
	}
	return c
}

// Take takes the next step, a motion or a dwell.
func (c *Clock) Take(s *Step) {
	if c.path == nil {
		c.seconds += c.opt.takes(s)
		return
	}
	if s.Halted || s.Switched && c.opt.StopsAtBeam {
		c.path.Stop(0)
	}
	m := &s.M
	if s.Kind == Dwell {
		c.path.Stop(m.Seconds)
		return
	}
	rise := s.dz()
	if m.ZUnknown {
		rise = 0
	}
	if s.Unplaced || m.Lost != 0 { // how long that takes depends on where the head stands
		c.path.Stop(0)
		return
	}
	way := math.Hypot(m.Length, rise)
	if way == 0 || m.Seconds <= 0 {
		return
	}
	n := 1
	if m.Kind == machine.Arc {
		n = arcChords(m)
	}
	at := m.XY(0)
	for k := 1; k <= n; k++ {
		to := m.XY(float64(k) / float64(n))
		c.path.Move([3]float64{to[0] - at[0], to[1] - at[1], rise / float64(n)}, way/m.Seconds, way)
		at = to
	}
}

// Seconds comes to rest, and gives the time of all steps so far.
func (c *Clock) Seconds() float64 {
	if c.path == nil {
		return c.seconds
	}
	return c.path.Seconds()
}

// arcSagMM is how far the chords of an arc may leave it, as controllers have it (common
// practice, no source), and mostArcChords how many it has at most.
const (
	arcSagMM      = 0.002
	mostArcChords = 1 << 20
)

// arcChords is how many chords a controller goes an arc by: that many that the middle of
// each is no further from it.
func arcChords(m *machine.Move) int {
	r := max(m.R0, m.R1)
	if r <= arcSagMM {
		return 4 // as good as a point
	}
	return int(min(max(1, math.Ceil(math.Abs(m.Sweep)/(2*math.Acos(1-arcSagMM/r)))), mostArcChords))
}
