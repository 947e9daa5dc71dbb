package advise

import (
	"errors"
	"io"
	"math"

	"sagitta/internal/diag"
	"sagitta/internal/follow"
	"sagitta/internal/machine"
	"sagitta/internal/program"
	"sagitta/internal/setup"
	"sagitta/internal/surface"
)

// Spot is a height in mm and where it was met. Line is 0 where there was none.
type Spot struct {
	MM   float64
	Line int
	X, Y float64
}

// Job is what a program and its surface are like.
type Job struct {
	// Burns and BurnLength are the number and length (mm) of burns, Seconds
	// the time of the program.
	Burns      int
	BurnLength float64
	Seconds    float64
	// Low and High are the extremes of the heights that burns see, and
	// Travel the highest that travels pass, in mm over the datum: all as
	// certified bounds.
	Low, High, Travel Spot
	// Outside counts burns off the surface, at the height of its edge.
	Outside int
	// Steep is where a burn meets the steepest stock, Degrees how much the
	// stock is tilted there; SteepLength is the length of burns on stock
	// tilted by SteepDegrees or more. All are of the gradients at the ends
	// and in the middle of stretches.
	Steep       Spot
	Degrees     float64
	SteepLength float64
	// Rows is what the rows of a raster are like, Rows.Length of them 0
	// where there is none.
	Rows Rows

	detail guess
	marks  *setup.Marks
}

// Range is the difference of the heights that burns see, in mm.
func (j *Job) Range() float64 { return j.High.MM - j.Low.MM }

// SteepDegrees is from which tilt of the stock on a beam is pointed out: the
// spot is stretched by 1/cos, 3.5 percent there (common practice, no source).
const SteepDegrees = 15

// Stretch is by how much the spot is longer where the beam meets stock that is
// tilted by so many degrees.
func Stretch(degrees float64) float64 { return 1 / math.Cos(degrees*math.Pi/180) }

// scanTolerance in mm is how closely heights are bounded: finer than any
// height on a bench is known.
const scanTolerance = 1e-4

// scanner reads a program once.
type scanner struct {
	opt    *follow.Options
	job    *Job
	fails  follow.UnmetError
	pieces []surface.Piece
	leg    leg
	rows   rowsSeen
	slopes bool // the surface is steep enough somewhere to look
	// low and high are the surface's extremes.
	low, high float64
}

// leg is a straight run of burns, or of travels, along an axis, of which the
// heights are read at once. Gathering legs and reading heights along them is
// what one reading of programs, in batches with their heights, takes off this
// room: then only what is made of the heights stays.
type leg struct {
	along byte // 'X', 'Y', or 0 for none
	burn  bool
	ahead bool
	m     machine.Move // from its beginning to its end
	line  int
	burns int
}

// scan reads the program. Errors are those of follow.Run, so that whatever
// cannot be followed by anyone is told once and before the rest.
func scan(r io.ReadSeeker, opt *follow.Options) (*Job, error) {
	if _, err := r.Seek(0, io.SeekStart); err != nil {
		return nil, err
	}
	s := &scanner{opt: opt, job: &Job{marks: setup.NewMarks(opt.Surface),
		Low: Spot{MM: math.Inf(1)}, High: Spot{MM: math.Inf(-1)}, Travel: Spot{MM: math.Inf(-1)},
		detail: guess{burned: nowhere, figure: nowhere},
	}}
	s.low, s.high, _, _ = opt.Surface.Range()
	s.slopes = opt.Surface.MaxSlope() >= math.Tan(SteepDegrees*math.Pi/180)
	rd, ip := program.NewReader(r, opt.Name), machine.New(opt.Machine)
	var m machine.Move
	for {
		b, err := rd.Next()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return nil, err
		}
		if err := ip.Step(b, &m); err != nil {
			return nil, err
		}
		if err := follow.CheckOriginal(opt.Name, b, &m, opt.KeepRamps); err != nil {
			return nil, err
		}
		if m.Kind == machine.Still {
			continue
		}
		known := true
		if m.FromUnknown {
			st := ip.State()
			known = st.XKnown && st.YKnown
		}
		s.move(b.Line, &m, known)
	}
	s.close()
	j := s.job
	j.detail.finish()
	j.Rows = s.rows.sum()
	switch {
	case j.Burns == 0:
		return nil, diag.NothingBurns[follow.Failure](opt.Name)
	case s.fails.Count > 0:
		return nil, s.fails.Err(opt.Name)
	}
	return j, nil
}

// move takes a move or a dwell; known tells that its end is.
func (s *scanner) move(line int, m *machine.Move, known bool) {
	s.job.Seconds += m.Seconds
	if m.Burn {
		s.job.Burns++
		s.job.BurnLength += m.Length
	}
	s.job.detail.move(m)
	if !known {
		return
	}
	along, ahead := direction(m)
	if l := &s.leg; l.burns > 0 && l.along != 0 && along == l.along && ahead == l.ahead && m.Burn == l.burn && m.Feed == l.m.Feed {
		l.m.To, l.m.Length = m.To, l.m.Length+m.Length
		l.burns++
		return
	}
	s.close()
	s.leg = leg{along: along, burn: m.Burn, ahead: ahead, m: *m, line: line, burns: 1}
}

// direction gives the axis along which a straight move goes, 0 for another.
func direction(m *machine.Move) (axis byte, ahead bool) {
	switch {
	case m.Kind != machine.Line || m.Length == 0 || m.FromUnknown:
	case m.From.Y == m.To.Y:
		return 'X', m.To.X > m.From.X
	case m.From.X == m.To.X:
		return 'Y', m.To.Y > m.From.Y
	}
	return 0, false
}

// close takes the leg's heights.
func (s *scanner) close() {
	if s.leg.burns == 0 {
		return
	}
	l, p := &s.leg, s.opt.Surface
	m := &l.m
	l.burns = 0
	switch {
	case m.Length == 0 || m.FromUnknown:
		h, where := p.At(m.To.X, m.To.Y)
		s.pieces = append(s.pieces[:0], surface.Piece{S1: 1, H0: h, H1: h, Where: where})
	case m.Kind == machine.Arc:
		s.pieces = p.AppendArc(s.pieces[:0], m.CX, m.CY, m.R0, m.R1, m.A0, m.Sweep, scanTolerance, 0)
	default:
		s.pieces = p.AppendLine(s.pieces[:0], m.From.X, m.From.Y, m.To.X, m.To.Y, scanTolerance, 0)
	}
	for k := range s.pieces { // nothing is beyond the surface's own extremes
		pc := &s.pieces[k]
		pc.Up = max(0, min(pc.Up, s.high-max(pc.H0, pc.H1)))
		pc.Down = max(0, min(pc.Down, min(pc.H0, pc.H1)-s.low))
	}
	highest := &s.job.Travel
	if m.Burn {
		highest = &s.job.High
	}
	low, high := math.Inf(1), math.Inf(-1)
	for k := range s.pieces {
		pc := &s.pieces[k]
		lo, hi := min(pc.H0, pc.H1)-pc.Down, max(pc.H0, pc.H1)+pc.Up
		low, high = min(low, lo), max(high, hi)
		if hi > highest.MM {
			*highest = l.spot(hi, pc, pc.H1 > pc.H0)
		}
		if m.Burn && lo < s.job.Low.MM {
			s.job.Low = l.spot(lo, pc, pc.H1 < pc.H0)
		}
	}
	if m.Burn {
		s.job.marks.Move(m)
		s.cover(l)
		s.tilt(l)
		s.rows.row(l, high-low, p, s.pieces)
	}
}

// spot is a height at the end of a piece, or at its beginning.
func (l *leg) spot(h float64, pc *surface.Piece, end bool) Spot {
	s := pc.S0
	if end {
		s = pc.S1
	}
	at := l.m.XY(s)
	return Spot{h, l.line, at[0], at[1]}
}

// cover notes burns over no surface.
func (s *scanner) cover(l *leg) {
	for k := range s.pieces {
		pc := &s.pieces[k]
		kind := follow.OverHole
		switch {
		case pc.Where == surface.On:
			continue
		case pc.Where == surface.Outside && s.opt.OutsideHold:
			s.job.Outside++
			return
		case pc.Where == surface.Outside:
			kind = follow.OffSurface
		}
		at := l.m.XY(pc.S0)
		s.fails.Add(int(kind), follow.Failure{Line: l.line, X: at[0], Y: at[1], Kind: kind})
		return
	}
}

// tilt looks how steep the stock is under the leg.
func (s *scanner) tilt(l *leg) {
	if !s.slopes {
		return
	}
	m, j := &l.m, s.job
	steep := math.Tan(SteepDegrees * math.Pi / 180)
	for k := range s.pieces {
		pc := &s.pieces[k]
		worst := 0.0
		for _, at := range [3]float64{pc.S0, (pc.S0 + pc.S1) / 2, pc.S1} {
			xy := m.XY(at)
			gx, gy := s.opt.Surface.Grad(xy[0], xy[1])
			if g := math.Hypot(gx, gy); g > worst {
				worst = g
				if deg := math.Atan(g) * 180 / math.Pi; deg > j.Degrees {
					h, _ := s.opt.Surface.At(xy[0], xy[1])
					j.Degrees, j.Steep = deg, Spot{h, l.line, xy[0], xy[1]}
				}
			}
		}
		if worst >= steep {
			j.SteepLength += (pc.S1 - pc.S0) * m.Length
		}
	}
}
