package timing

import (
	"errors"
	"io"
	"math"

	"sagitta/internal/bench"
	"sagitta/internal/machine"
	"sagitta/internal/motion"
	"sagitta/internal/program"
)

// Bench is what a program is timed for.
type Bench struct {
	Machine machine.Config
	motion.Limits
	// StopsAtBeam tells that the controller stops at words that switch the beam.
	StopsAtBeam bool
}

// On is what programs are timed for on a bench, nil where nothing is known of its inertia.
func On(b *bench.Bench) *Bench {
	if b.Inertia == nil {
		return nil
	}
	return &Bench{Machine: b.Machine, Limits: *b.Inertia, StopsAtBeam: b.StopsAtBeam}
}

// chordMM is how far the chords of an arc may leave it.
const chordMM = 0.002

// mostChords is how many one arc has at most: a thousand turns of a circle of 100 mm.
const mostChords = 1 << 20

// stretch is a part of a burn along which the spot's speed over XY goes evenly up or down
// with time, so that its square does with the length.
type stretch struct {
	line int
	// length is over XY, and from and to are the squares of the speeds at its ends, in
	// mm²/s².
	length, from, to float64
	// scaled tells that the power follows the speed.
	scaled bool
}

// course is the way of a program, stretch by stretch.
type course struct {
	Times
	bench   Bench
	r       *program.Reader
	ip      *machine.Interpreter
	planner *motion.Planner
	ended   bool
	// burns has what is known of the moves that are being planned, by their tags from first
	// on.
	burns []burn
	first int
	// ahead are stretches that are not taken yet, those before next are.
	ahead []stretch
	next  int
	stop  bool // what comes next begins from rest
	joint joint
	// lasts, where not nil, is told what each line takes, part by part.
	lasts func(line int, t Took)
}

// burn is a line that is being planned.
type burn struct {
	line   int
	burns  bool
	scaled bool
	// share is how much of the path's length is over XY, and wanted the seconds that all of
	// its line, of whose chords it may be one, is to take by its feed.
	share, wanted float64
	last          bool // of its line
}

// joint is what is known of the burn before.
type joint struct {
	burning bool
	z       float64 // of its direction
	share   float64 // of what its line is to take, how much its chords so far have taken
}

func newCourse(r io.Reader, name string, b Bench) *course {
	c := &course{bench: b, r: program.NewReader(r, name), ip: machine.New(b.Machine)}
	c.Times.SlowestShare, c.Times.SlowedShare = 1, 1
	c.planner = motion.New(b.Limits, c.planned)
	return c
}

// peek gives the next stretch that is not used up, nil at the end.
func (c *course) peek() (*stretch, error) {
	for c.next == len(c.ahead) {
		if c.ended {
			return nil, nil
		}
		c.ahead, c.next = c.ahead[:0], 0
		if err := c.read(); err != nil {
			return nil, err
		}
	}
	return &c.ahead[c.next], nil
}

// toEnd goes through all that is left.
func (c *course) toEnd() error {
	for {
		s, err := c.peek()
		if s == nil || err != nil {
			return err
		}
		c.next++
	}
}

// read takes the next block.
func (c *course) read() error {
	b, err := c.r.Next()
	if errors.Is(err, io.EOF) {
		c.ended = true
		c.planner.End()
		return nil
	}
	if err != nil {
		return err
	}
	var m machine.Move
	if err := c.ip.Step(b, &m); err != nil {
		return err
	}
	a := c.ip.Actions()
	c.stop = c.stop || a.Beam != 0 && c.bench.StopsAtBeam
	if m.Kind == machine.Dwell {
		c.planner.End()
		c.take(b.Line, Took{Seconds: m.Seconds})
		c.stop = true
	}
	if m.Kind == machine.Line || m.Kind == machine.Arc {
		c.add(b.Line, &m)
	}
	c.stop = c.stop || a.Stop != 0 // which acts after the motion
	return nil
}

// add has a move planned, an arc by its chords.
func (c *course) add(line int, m *machine.Move) {
	rise := m.To.Z - m.From.Z
	if m.ZUnknown {
		rise = 0
	}
	n := 1
	if m.Kind == machine.Arc {
		n = chords(m)
	}
	path := math.Hypot(m.Length, rise)
	if m.FromUnknown || m.Lost != 0 { // how long that takes depends on where the head stands
		c.stop = true
		return
	}
	if path == 0 || m.Seconds <= 0 {
		return
	}
	from := m.XY(0)
	for k := 1; k <= n; k++ {
		to := m.XY(float64(k) / float64(n))
		by := motion.Vector{to[0] - from[0], to[1] - from[1], rise / float64(n)}
		from = to
		over := math.Hypot(by[0], by[1])
		part := math.Hypot(over, by[2])
		share := 0.0
		if part > 0 {
			share = over / part
		}
		c.burns = append(c.burns, burn{line, m.Burn && m.Length > 0, m.PowerFollows, share, m.Seconds, k == n})
		c.planner.Add(motion.Move{By: by, Speed: path / m.Seconds, Stop: c.stop, Line: path, Tag: c.first + len(c.burns) - 1})
		c.stop = false
	}
}

// chords is how many chords an arc is gone by.
func chords(m *machine.Move) int {
	r := max(m.R0, m.R1)
	if r <= chordMM { // however few, they leave it by no more
		return 4
	}
	step := 2 * math.Acos(1-chordMM/r)
	return int(min(max(1, math.Ceil(math.Abs(m.Sweep)/step)), mostChords))
}

// planned takes a move as it is planned.
func (c *course) planned(m *motion.Planned) {
	if m.Length == 0 { // what ends the path, and has no burn
		c.joint.burning = false
		return
	}
	at := m.Tag - c.first
	b := c.burns[at]
	if at > len(c.burns)/2 { // what lies before is planned
		c.burns = c.burns[:copy(c.burns, c.burns[at:])]
		c.first = m.Tag
	}
	z := m.By[2] / m.Length
	t := Took{Seconds: m.Seconds, ZSpeed: math.Abs(z) * m.Peak}
	if j := &c.joint; b.burns {
		if j.burning {
			t.ZStep = math.Abs(z-j.z) * m.In
		}
		j.burning, j.z = true, z
		c.burned(&b, m)
	} else {
		c.joint = joint{}
	}
	c.take(b.line, t)
}

// take adds what a line takes, or a part of it.
func (c *course) take(line int, t Took) {
	c.Seconds += t.Seconds
	c.ZStep = max(c.ZStep, t.ZStep)
	if c.lasts != nil {
		c.lasts(line, t)
	}
}

// burned adds a burn that is planned.
func (c *course) burned(b *burn, m *motion.Planned) {
	c.BurnMM += m.Length * b.share
	if m.By[2] != 0 && b.last {
		c.ZBurns++
	}
	j := &c.joint
	j.share += m.Seconds / b.wanted
	if b.last {
		if share := 1 / j.share; share < c.SlowestShare*(1-1e-9) { // and not by rounding
			c.SlowestShare, c.SlowestLine = share, b.line
		}
		j.share = 0
	}
	sq := func(v float64) float64 { v *= b.share; return v * v }
	in, peak, out := sq(m.In), sq(m.Peak), sq(m.Out)
	perMM := 2 * m.Accel * b.share // by how much the square grows in a mm over XY
	var up, down float64
	if !math.IsInf(m.Accel, 1) && perMM > 0 {
		up, down = (peak-in)/perMM, (peak-out)/perMM
	}
	length := m.Length * b.share
	for _, s := range [...]stretch{{b.line, up, in, peak, b.scaled}, {b.line, length - up - down, peak, peak, b.scaled}, {b.line, down, peak, out, b.scaled}} {
		if s.length > 0 {
			c.ahead = append(c.ahead, s)
		}
	}
}
