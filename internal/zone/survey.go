package zone

import (
	"io"
	"math"
	"slices"

	"sagitta/internal/cover"
	"sagitta/internal/follow"
	"sagitta/internal/machine"
	"sagitta/internal/setup"
	"sagitta/internal/stream"
	"sagitta/internal/zone/rows"
	"sagitta/internal/zone/sheet"
)

// Survey reads a program and says how it is divided. It writes nothing.
//
// Errors: *diag.Error for what is read, *BetweenError for what must not stand between
// the burns of a job that is divided, *UnmetError where the job cannot be divided, and
// those of r as they are.
func Survey(r io.Reader, opt Options) (*Plan, error) {
	p, err := survey(r, opt)
	if err == nil {
		err = p.undivided()
	}
	if err != nil {
		return nil, err
	}
	return p, nil
}

// survey is Survey of a job that may be divided.
func survey(r io.Reader, opt Options) (*Plan, error) {
	lenses, err := choose(&opt)
	if err != nil {
		return nil, err
	}
	opt.Lenses = lenses
	opt.widen()
	opt.prepare()
	s := newSurveyor(&opt)
	source := stream.New(r, opt.reading())
	err = source.Each(func(it *stream.Item) error {
		s.take(it)
		source.Done(it)
		return nil
	})
	if err != nil {
		return nil, err
	}
	s.Remarks = source.Remarks()
	return s.plan()
}

// surveyor gathers what a plan is made of.
type surveyor struct {
	*Plan
	fails  failures
	shares []share // by lens
	slack  float64 // the most that is not certain of the heights where a burn is cut
	sigma  float64
	lit    bool // the beam has been put on
	// between is the first that stands between burns and forbids several programs,
	// behind the first behind the last burn so far, as a *BetweenError.
	between, behind error
	start           start

	// seen are the heights of the figure under way, which has ended where broken, and
	// asked those that it asks for.
	seen   cover.Span
	asked  kindHeights
	broken bool
	rows   rows.Finder
	// certain are those of them that it burns for certain.
	certain certain
	// waiting are burns of it that count once its lens is known.
	waiting []waitingBurns
	// led tells that all behind the last burn so far leads out of it.
	led bool
	// dark are the words of the beam under which there were travels at power 0 since the
	// last burn.
	dark []int
	// travelZ is the highest Z of the travels since the last burn.
	travelZ float64
	// lowTravel is the lowest Z of any travel, offLevel the line of the first burn
	// that is not at the Z of the first of all.
	lowTravel float64
	offLevel  int
}

// waitingBurns are so many burns over the heights seen.
type waitingBurns struct {
	seen        cover.Span
	burns, kind int
}

// mostRasters bounds the rasters of which it is known where they begin: of any other the
// first row counts as a line.
const mostRasters = 1 << 16

// mostWaiting bounds the burns that wait, runs of them counted once.
const mostWaiting = 1 << 13

// share is what one lens has of the job.
type share struct {
	figures int
	seen    cover.Span
	heights []cover.Heights // those that are asked for, by kind
	burned  cover.Heights   // what of them is burned for certain
	whole   *cover.Whole
}

func newSurveyor(opt *Options) *surveyor {
	none := math.Inf(-1)
	set := sheet.Set{
		Name: opt.Name, SetZ: opt.SetZ, Followed: opt.Within != nil, Paused: opt.Pause, Rehearsal: opt.Rehearsal,
		Lead: opt.Lead, Overlap: opt.Overlap, Defocus: opt.Defocus, Turn: opt.Turn, Datum: opt.Datum, Boxes: opt.Boxes,
		Surface: opt.Surface, Low: -none, High: none, ByFeeds: opt.Inertia == nil,
	}
	s := &surveyor{
		Plan:  &Plan{Set: set, opt: opt, marked: setup.NewMarks(opt.Surface), clearZ: none, topBurn: none, preamble: nothing(), goes: noBox()},
		asked: opt.noHeights(), sigma: opt.Sigma(), slack: 2 * opt.pieceTol(), travelZ: none, lowTravel: -none,
	}
	for i := range opt.Lenses {
		// The zones will be narrower than the lens by about as much.
		alike := opt.Lenses[i].alike()
		width := alike.Width()
		s.shares = append(s.shares, share{heights: make([]cover.Heights, len(s.asked)), burned: cover.Heights{Sure: true}, whole: cover.NewWhole(max(width-s.slop(width), width/2))})
	}
	return s
}

func (s *surveyor) take(it *stream.Item) {
	m := &it.Move
	s.Closed.Take(it)
	s.takeBetween(it)
	if fail := follow.Beyond(it, s.opt.Reach); fail != nil {
		s.fails.add(fail.Line, "%s", fail.String())
	}
	s.lit = s.lit || lights(it)
	if s.Burns > 0 && !m.Burn {
		s.ending.take(s.opt, it)
		if s.led = s.led && leadsOut(it); !s.led {
			s.elsewhere.take(s.opt, it)
		}
	}
	if it.Moves() && it.Known() && m.Lost == 0 {
		if s.goes.take(m.To.X, m.To.Y, m.To.X, m.To.Y); !m.FromUnknown {
			s.goes.take(m.From.X, m.From.Y, m.From.X, m.From.Y)
		}
	}
	if it.Moves() && !s.approach.Placed {
		s.start.take(it)
		s.approach.Take(it, s.lit)
	}
	if !m.Burn && !it.Moves() {
		return
	}
	if m.Burn {
		s.burn(it)
		return
	}
	s.broken = s.broken || moves(it)
	if s.Burns > 0 && it.Travels() {
		if st := &it.During; st.BeamLit && st.PowerSaid && st.Power.Mant == 0 && !slices.Contains(s.dark, st.BeamWord) {
			s.dark = append(s.dark, st.BeamWord)
		}
	}
	s.level(m)
	if m.Length > 0 {
		s.travelZ = max(s.travelZ, min(s.sigma*m.From.Z, s.sigma*m.To.Z))
	}
	if s.Burns == 0 && !s.lit {
		s.preamble.take(s.opt.along(it))
	}
}

// burn takes a burn, or a run of them.
func (s *surveyor) burn(it *stream.Item) {
	m, n := &it.Move, it.Count()
	seen, h := s.opt.burned(it.Pieces())
	if _, _ = s.rows.Take(m, it.Block.Line); s.rows.Beside == 1 && len(s.firstRows) < mostRasters {
		if k := len(s.firstRows); k == 0 || s.firstRows[k-1] < s.rows.Before {
			s.firstRows = append(s.firstRows, s.rows.Before)
		}
	}
	switch {
	case s.Burns == 0:
		s.FirstZ, s.seen = m.From.Z, seen
	case s.broken:
		s.endFigure()
		s.seen = seen
		s.asked.clear()
	default:
		s.seen = both(s.seen, seen)
	}
	s.asked[it.Kind] = both(s.asked[it.Kind], h)
	if len(s.asked) == 1 {
		s.certain.take(it)
	}
	if s.offLevel == 0 && max(math.Abs(m.From.Z-s.FirstZ), math.Abs(m.To.Z-s.FirstZ)) > rounding {
		s.offLevel = it.Block.Line
	}
	if s.Burns > 0 {
		s.clearZ = max(s.clearZ, s.travelZ)
	}
	s.broken, s.travelZ = false, math.Inf(-1)
	s.ending, s.elsewhere, s.led = ending{asked: nothing()}, ending{asked: nothing()}, true
	for _, word := range s.dark {
		if !slices.Contains(s.travelsAtZero, word) {
			s.travelsAtZero = append(s.travelsAtZero, word)
		}
	}
	s.dark = s.dark[:0]
	s.Burns += n
	s.BurnLength += m.Length
	s.topBurn = max(s.topBurn, s.sigma*m.From.Z, s.sigma*m.To.Z)
	s.Low, s.High = min(s.Low, seen.Lo), max(s.High, seen.Hi)
	s.lastBurn = it.Block.Line + n - 1
	if s.opt.Pause && it.Actions.Ends {
		s.fails.add(it.Block.Line, "this line burns and ends the program, which goes on with the next zone: put what ends it in a line of its own")
	}
	if !it.IsRun() {
		s.marked.Move(m)
	}
	for a, b := range it.Ends() { // of a run
		s.marked.Line(a.X, a.Y, b.X, b.Y)
		s.goes.take(a.X, a.Y, b.X, b.Y)
	}
	s.covered(it)
	s.waiting = append(s.waiting, waitingBurns{h, n, it.Kind})
	if len(s.shares) == 1 || len(s.waiting) == mostWaiting {
		s.count() // so long a figure needs the deepest lens
	}
}

// both are the heights from the least to the greatest of two.
func both(a, b cover.Span) cover.Span { return cover.Span{Lo: min(a.Lo, b.Lo), Hi: max(a.Hi, b.Hi)} }

// count counts the burns that wait to the lens for what the figure asks for so far.
func (s *surveyor) count() {
	lens := s.opt.lensFor(s.asked)
	for _, b := range s.waiting {
		s.shares[lens].whole.Count(s.opt.counted(b.seen, &s.opt.Lenses[lens], b.kind), b.burns)
	}
	s.waiting = s.waiting[:0]
}

// covered notes a burn over no surface, or over heights that no lens is sure to serve, and
// how far its heights are not certain.
func (s *surveyor) covered(it *stream.Item) {
	deepest := 0.0
	for i := range s.opt.Lenses {
		deepest = max(deepest, s.opt.Lenses[i].Width())
	}
	for _, pc := range it.Pieces() {
		if over := float64(pc.Less) - deepest/2; over >= 0 {
			at := it.PlaceAt((pc.S0 + pc.S1) / 2)
			s.fails.add(it.LineAt((pc.S0+pc.S1)/2), "heights are too unsure at X%.3f Y%.3f: even in best focus a burn may be out by %.3f mm", at[0], at[1], over)
			break
		}
	}
	for _, pc := range it.Pieces() {
		if apart := pc.Up + pc.Down; apart > 2*s.opt.arcTol() {
			s.slack = max(s.slack, apart)
		}
	}
	line, from := it.Block.Line, it.Move.From
	switch fail, outside := follow.Uncovered(it, s.opt.OutsideHold); {
	case outside:
		s.Outside++
	case fail == nil:
	case fail.Kind == follow.OverHole:
		s.fails.add(line, "a burn passes over a hole in the surface, from X%.3f Y%.3f", from.X, from.Y)
	default:
		s.fails.off(line, from)
	}
}

// lights reports whether the beam is on, by the item or one before it.
func lights(it *stream.Item) bool {
	return it.Actions.Beam != 0 && it.Actions.BeamOn || it.After.Beam == machine.On
}

// endFigure gives the figure that has ended its lens.
func (s *surveyor) endFigure() {
	k := s.opt.lensFor(s.asked)
	own := &s.shares[k]
	if own.figures == 0 {
		own.seen = s.seen
	}
	own.seen = both(own.seen, s.seen)
	for kind, h := range s.asked {
		if h.Lo <= h.Hi {
			own.heights[kind].Add(h)
		}
	}
	s.certain.give(&own.burned)
	own.figures++
	s.count()
	s.order.add(k)
}
