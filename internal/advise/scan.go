package advise

import (
	"io"
	"math"
	"slices"

	"github.com/paulmach/orb"

	"sagitta/internal/bench"
	"sagitta/internal/clearance"
	"sagitta/internal/diag"
	"sagitta/internal/focus"
	"sagitta/internal/follow"
	"sagitta/internal/machine"
	"sagitta/internal/setup"
	"sagitta/internal/stream"
	"sagitta/internal/surface"
)

// scanTolerance in mm is how closely heights are bounded: finer than any
// height on a bench is known.
const scanTolerance = 1e-4

// collector takes what a program is read as, once.
type collector struct {
	opt    *follow.Options
	job    *Metrics
	fails  follow.UnmetError
	rows   rowsSeen
	slopes bool // the surface is steep enough somewhere to look
	// low and high are the surface's extremes.
	low, high float64
	sigma     float64
	early     []passing // travels before the first burn
}

// scan reads the program. Errors are those of follow.Run, so that whatever
// cannot be followed by anyone is told once and before the rest.
func scan(r io.ReadSeeker, all *Options) (*Metrics, error) {
	opt := &all.Follow
	if _, err := r.Seek(0, io.SeekStart); err != nil {
		return nil, err
	}
	s := &collector{opt: opt, job: &Metrics{marks: setup.NewMarks(opt.Surface),
		Low: focus.Extreme{MM: math.Inf(1)}, High: focus.Extreme{MM: math.Inf(-1)}, Travel: focus.Extreme{MM: math.Inf(-1)},
		Lowest: math.Inf(1), Highest: math.Inf(-1),
		ruled:  []span{{math.Inf(1), math.Inf(-1)}},
		detail: guess{burned: nowhere, figure: nowhere},
	}}
	s.low, s.high, _, _ = opt.Surface.Range()
	s.job.tip = clearance.New(opt.Surface, all.Zone.Head, clearance.Slack{Lateral: opt.Lateral(), Height: opt.Rounding(), Tolerance: scanTolerance})
	if s.job.whole = s.job.tip; s.job.tip.Frees() {
		whole := *s.job.tip
		s.job.whole, s.job.closed.Free = &whole, func(about orb.Bound) {
			s.job.tip.Free(about)
			s.job.pieces = append(s.job.pieces, clearance.Piece(opt.Surface, about.Pad(opt.Lateral()), *all.Zone.Head.FreedMM, scanTolerance))
		}
	}
	s.job.asked, s.sigma = math.Inf(-1), opt.Sigma()
	s.slopes = opt.Surface.MaxSlope() >= math.Tan(SteepDegrees*math.Pi/180)
	reading := stream.Options{Name: opt.Name, Machine: opt.Machine, Surface: opt.Surface, Tolerance: scanTolerance,
		Blocks: true, Check: opt.Check, Kinds: s.byRule()}
	source := stream.New(r, reading)
	err := source.Each(func(it *stream.Item) error {
		s.take(it)
		source.Done(it)
		return nil
	})
	if err != nil {
		return nil, err
	}
	j := s.job
	j.closed.End()
	j.Remarks = source.Remarks()
	j.Rows = s.rows.most()
	j.marks.Reach = opt.Reach
	if h := all.Zone.Head; h != nil {
		for _, b := range h.Boxes {
			j.marks.Box(b, h.Beside(b.Height-j.Low.MM))
		}
	}
	switch {
	case j.Burns == 0:
		return nil, diag.NothingBurns[follow.Failure](opt.Name)
	case s.fails.Count > 0:
		follow.OffTogether(&s.fails, int(follow.OffSurface), j.Burns, &j.closed, opt.Surface, follow.Failure.Together)
		return nil, s.fails.Err(opt.Name)
	}
	return j, nil
}

// byRule has each rule about burns be a kind of its own: what lenses make of them differs.
func (s *collector) byRule() *stream.Kinds {
	of := s.opt.Rules
	if of == nil {
		return nil
	}
	each := &stream.Kinds{Rule: of.Rule}
	for k := range of.Of {
		each.Of = append(each.Of, k)
	}
	s.job.ruled = slices.Repeat(s.job.ruled, len(of.Of))
	return each
}

// take takes an item: a move or a dwell.
func (s *collector) take(it *stream.Item) {
	if it.Move.Kind == machine.Still {
		return
	}
	if fail := follow.Beyond(it, s.opt.Reach); fail != nil {
		s.fails.Add(int(fail.Kind), *fail)
	}
	j, m, pieces := s.job, &it.Move, it.Pieces()
	j.Seconds += m.Seconds
	s.keeps(it)
	early := focus.Extreme{MM: math.Inf(-1)}
	highest, lift := &j.Travel, 0.0
	switch {
	case m.Burn:
		if j.Burns == 0 {
			s.landed()
		}
		j.Burns++
		j.BurnLength += m.Length
		highest = &j.High
	case s.opt.ZMoves == bench.ByHand:
	case j.Burns > 0:
		lift = max(0, clearance.Programmed(m, s.sigma, 0, 1)-j.firstZ)
	case len(s.early) < mostEarly:
		highest = &early
	}
	j.detail.move(m)
	low, high := math.Inf(1), math.Inf(-1)
	for k := range pieces {
		pc := &pieces[k]
		if m.Burn && s.slopes {
			s.tilt(it, pc)
		}
		// Nothing is beyond the surface's own extremes.
		lo, hi := max(min(pc.H0, pc.H1)-pc.Down, s.low), min(max(pc.H0, pc.H1)+pc.Up, s.high)
		low, high = min(low, lo), max(high, hi)
		if hi-lift > highest.MM {
			*highest = spot(it, hi-lift, pc, pc.H1 > pc.H0)
		}
		if !m.Burn {
			continue
		}
		if lo < j.Low.MM {
			j.Low = spot(it, lo, pc, pc.H1 < pc.H0)
		}
		j.less = max(j.less, float64(pc.Less))
		lo, hi = lo-float64(pc.Less), hi+float64(pc.Less)
		j.Lowest, j.Highest = min(j.Lowest, lo), max(j.Highest, hi)
		r := &j.ruled[it.Kind]
		r.low, r.high = min(r.low, lo), max(r.high, hi)
	}
	if early.Line > 0 {
		s.early = append(s.early, passing{early, clearance.Programmed(m, s.sigma, 0, 1)})
	}
	s.rows.row(m, pieces, low, high, s.opt.Surface)
	if m.Burn && len(pieces) > 0 {
		j.marks.Move(m)
		if fail, outside := follow.Uncovered(it, s.opt.OutsideHold); fail != nil {
			s.fails.Add(int(fail.Kind), *fail)
		} else if outside {
			j.Outside++
		}
	}
}

// passing is the highest that a travel passes, and its programmed Z away from the stock.
type passing struct {
	focus.Extreme
	z float64
}

// mostEarly bounds the travels before the first burn of which the lift is looked at: more
// than jobs have, to home, rise and go there.
const mostEarly = 64

// landed takes the travels before the first burn, whose lift is known now.
func (s *collector) landed() {
	for _, p := range s.early {
		if p.MM -= max(0, p.z-s.job.firstZ); p.MM > s.job.Travel.MM {
			s.job.Travel = p.Extreme
		}
	}
}

// keeps takes of an item what matters to keep clear at one focus.
func (s *collector) keeps(it *stream.Item) {
	j, m := s.job, &it.Move
	j.closed.Take(it)
	j.approach.Take(it, false)
	if m.Burn && j.Burns == 0 {
		j.First, j.firstZ = m.From, s.sigma*m.From.Z
	}
	if it.Known() {
		low := min(s.sigma*m.From.Z, s.sigma*m.To.Z)
		up := m.Burn || s.opt.ZMoves == bench.ByHand
		j.OffZ = j.OffZ || low < 0 || up && max(s.sigma*m.From.Z, s.sigma*m.To.Z) > 0
		if it.Moves() || m.Burn {
			j.asked = max(j.asked, j.tip.HighestAlong(it, 0, 1)-clearance.Programmed(m, s.sigma, 0, 1))
		}
	}
}

// spot is a height at the end of a piece, or at its beginning.
func spot(it *stream.Item, h float64, pc *surface.Piece, end bool) focus.Extreme {
	s := pc.S0
	if end {
		s = pc.S1
	}
	at := it.Move.XY(s)
	return focus.Extreme{MM: h, Line: it.Block.Line, X: at[0], Y: at[1]}
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

// tilt looks how steep the stock is under a burn.
func (s *collector) tilt(it *stream.Item, pc *surface.Piece) {
	m, j, worst := &it.Move, s.job, 0.0
	for _, at := range [3]float64{pc.S0, (pc.S0 + pc.S1) / 2, pc.S1} {
		xy := m.XY(at)
		degrees := math.Atan(math.Hypot(s.opt.Surface.Grad(xy[0], xy[1]))) * 180 / math.Pi
		worst = max(worst, degrees)
		if degrees > j.Degrees {
			h, _ := s.opt.Surface.At(xy[0], xy[1])
			j.Degrees, j.Steep = degrees, focus.Extreme{MM: h, Line: it.Block.Line, X: xy[0], Y: xy[1]}
		}
	}
	if worst >= SteepDegrees {
		j.SteepLength += (pc.S1 - pc.S0) * m.Length
	}
}
