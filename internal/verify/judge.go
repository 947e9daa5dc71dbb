package verify

import (
	"math"

	"sagitta/internal/bench"
	"sagitta/internal/machine"
	"sagitta/internal/program"
	"sagitta/internal/verify/extremes"
)

const (
	// speedGrace is how far a speed may be off: half a percent, below what
	// any controller keeps or any mark shows.
	speedGrace = 0.005
	// roundingPart covers the rounding of float64 in a product of a few
	// figures.
	roundingPart = 1e-9
	// placeSlackMM covers the rounding of coordinates, which are known to
	// about 1e-10 mm, in distances made of them.
	placeSlackMM     = 1e-7
	secondsPerMinute = 60
	percent          = 100
)

// Judge holds the steps of one program to options, one step after the other,
// and gathers what is found in a Result. It knows nothing of another program
// but the step of it that the step under way is said to be.
type Judge struct {
	Opt Options
	Res *Result
	// S is the step under way.
	S Step
	// CutTwice tells that moves may have been cut, and their cuts rounded, twice.
	CutTwice bool
	// OwnStrokes tells that travels of Z alone at a feed are the original's own, though
	// no step of it is named for them.
	OwnStrokes bool
	// MayReorder tells that burns may come in another order than the original's. A
	// path control can be said, but not taken back: Unsaid has a burn under each
	// that the original had not yet said where it has that burn.
	MayReorder bool
	Unsaid     []Step

	over over

	src   *Stream
	sigma float64
	// byHand is what of the wanted defocus is set by hand: c counts from there.
	byHand float64
	f      *extremes.Field
	sp     extremes.Below
	head   headCheck
	lens   headCheck // the sharp lens, on rapids that do not go straight
	loop   loop
	pace   pace
	lifts  lifts
	// seen is what the watcher is told, under what is found for it, and found tells that
	// the focus had to be searched for on the step under way.
	seen  Seen
	clock *Clock
	under extremes.Below
	found bool

	asks asks
	// Of the unbroken run of burns under way: whether there is one, and c at
	// its start; whether its last burn moved over XY, and the Z speed there.
	inRun, joint bool
	runC, zSpeed float64
	handC        float64 // what c is, where it must not change
	unknownWay   program.Tally
	ownZRate     program.Tally
	ownFeed      program.Tally
	slowAtMax    program.Tally
}

// State is what is in force after the block of the step under way.
func (j *Judge) State() machine.State { return j.src.State() }

// Remark is the comment in the line of the step under way, or else in the line before;
// empty where there is none.
func (j *Judge) Remark() string {
	if j.src.remarkLine == 0 || j.src.remarkLine < j.S.Line-1 {
		return ""
	}
	return string(j.src.remark)
}

// NewJudge returns a judge of a program over a field. With original set it is
// to be told where the focus is set (SetFocus), else that is at Z0.
func NewJudge(src *Stream, f *extremes.Field, opt Options, original bool) *Judge {
	if opt.Less != nil {
		f = f.Narrowed(opt.Less)
	}
	j := &Judge{Opt: opt, Res: &Result{}, src: src, sigma: opt.Sigma(), f: f, over: newOver()}
	j.asks = newAsks(&j.Opt, j.Res, original)
	j.clock = NewClock(&j.Opt)
	j.head = headCheck{kind: HeadClose, known: !original, most: math.Inf(-1)}
	j.lens = headCheck{kind: NotClear, known: !original, most: math.Inf(-1)}
	if opt.ZMoves == bench.ByHand {
		j.byHand = opt.DefocusMM
	}
	j.lifts.known = !original
	if h := opt.Head; h != nil {
		for _, d := range h.Disks() {
			j.head.over = append(j.head.over, overDisk{extremes.NewOverhead(f, d.Radius, h.Boxes), d.Up})
		}
		j.head.room = h.Standoff - h.Gap + j.byHand
	}
	if !opt.Machine.RapidsStraight {
		j.lens.over, j.lens.room = []overDisk{{extremes.NewOverhead(f, 0, nil), 0}}, j.asks.travels.depth.Near-j.asks.travels.defocus+j.byHand
	}
	r := j.Res
	r.Nearest.MM = math.Inf(1)
	r.Lowest.MM, r.Highest.MM = math.Inf(1), math.Inf(-1)
	r.ZMinMM, r.ZMaxMM = math.Inf(1), math.Inf(-1)
	return j
}

// Lead is how far over a height the lens stays on travels by the depth alone.
func (j *Judge) Lead() float64 { return j.asks.travels.defocus - j.asks.travels.depth.Near }

// Next goes on to the next step.
func (j *Judge) Next() error { return j.src.Next(&j.S) }

// Take takes the step under way, a motion or dwell: its figures, the
// machine's limits, the focus and the head, with the corrections c0 and c1 at
// its ends. o is the step of the original that it belongs to, or nil.
func (j *Judge) Take(c0, c1 float64, burn bool, o *Step) {
	j.Res.Corrected = j.Res.Corrected || burn && max(math.Abs(c0), math.Abs(c1)) > placeSlackMM
	if burn && j.Opt.Burned != nil {
		j.Opt.Burned(&j.S.M)
	}
	j.asks.of(&j.S, burn, o)
	j.cutsFree(burn)
	j.Count(c0, c1, burn, o)
	j.across(c0, c1, o)
	j.look(c0, c1, burn, o)
	j.Clear(0, burn, o)
	if j.Opt.Watch != nil {
		j.seen.tell(j, c0, c1, burn, o)
	}
}

// TellWait tells the watcher of the step under way, where it waits for the operator.
func (j *Judge) TellWait() {
	if j.Opt.Watch != nil && j.S.Waits() {
		j.seen.begin(j, nil)
		j.seen.Stops, j.seen.Remark = true, j.Remark()
		j.Opt.Watch.See(&j.seen)
	}
}

// TellTravel tells the watcher of the step under way, a travel or a dwell with the beam off,
// where it is not taken: its correction is c.
func (j *Judge) TellTravel(c float64) {
	if j.Opt.Watch != nil {
		j.seen.tell(j, c, c, false, nil)
	}
}

// Count takes what does not depend on the surface: figures and limits.
func (j *Judge) Count(c0, c1 float64, burn bool, o *Step) {
	j.figures(burn)
	j.limits(burn, o)
	j.runs(c0, c1, burn, o)
}

// violation is one of the step under way, at the fraction s of its move.
func (j *Judge) violation(kind Kind, o *Step, s, amount float64) Violation {
	at := j.S.M.XY(s)
	f := Violation{Kind: kind, Line: j.S.Line, X: at[0], Y: at[1], Amount: amount}
	if o != nil {
		f.OriginalLine = o.Line
	}
	return f
}

// Fail reports that the step under way does not hold; detail may be empty.
func (j *Judge) Fail(kind Kind, o *Step, s, amount float64, detail string) {
	f := j.violation(kind, o, s, amount)
	f.Detail = detail
	j.Res.Fail(f)
}

// Tolerance is how far the path may be off at the step under way: one last
// decimal in mm for each time that a move may have been cut.
func (j *Judge) Tolerance() float64 {
	d := j.Opt.lastDecimal(j.S.Inches)
	if j.CutTwice {
		d *= 2
	}
	return d + placeSlackMM
}

// LastZ is how far one Z that is written may be off another, in mm, in whichever
// units each was.
func (j *Judge) LastZ() float64 { return max(j.Opt.lastZ(false), j.Opt.lastZ(true)) }

// figures adds the step to the figures of the program.
func (j *Judge) figures(burn bool) {
	r, m := j.Res, &j.S.M
	dz := math.Abs(j.S.dz())
	if m.ZUnknown {
		dz = 0
	}
	switch {
	case burn:
		j.extend()
		r.Burns++
		r.BurnLengthMM += m.Length
	case j.S.Kind == Motion:
		r.Travels++
	}
	r.ZTravelMM += dz
	if j.S.Kind == Motion && m.ZUnknown {
		if j.S.Known {
			r.ZMinMM, r.ZMaxMM = min(r.ZMinMM, m.To.Z), max(r.ZMaxMM, m.To.Z)
		}
	} else if j.S.Kind == Motion {
		r.ZMinMM = min(r.ZMinMM, m.From.Z, m.To.Z)
		r.ZMaxMM = max(r.ZMaxMM, m.From.Z, m.To.Z)
	}
	j.clock.Take(&j.S)
}

// takes is how long a step takes on the bench, in s: by its feed, a rapid by its way over XY,
// and what does not burn as long as Z needs, whatever its feed.
func (o *Options) takes(s *Step) float64 {
	m := &s.M
	if o.ZRate == 0 {
		return m.Seconds
	}
	t, z := m.Seconds, 0.0
	if m.Rapid {
		t = m.Length / o.Machine.RapidMMMin * secondsPerMinute
	}
	if !m.ZUnknown && (m.Rapid || s.Kind == Motion && !m.Burn) {
		z = math.Abs(s.dz()) / o.ZRate
	}
	return max(t, z)
}

// limits holds the step to the machine's.
func (j *Judge) limits(burn bool, o *Step) {
	m, opt := &j.S.M, &j.Opt
	j.rated(burn, o)
	if j.S.Kind != Motion {
		return
	}
	if by, at := j.beyond(); by > j.Tolerance() {
		f := j.violation(OutOfReach, o, 1, by)
		f.X, f.Y = at[0], at[1]
		j.Res.Fail(f)
	}
	dz := math.Abs(j.S.dz())
	if dz > 0 && !m.ZUnknown || j.S.FindsZ {
		if z := opt.ZMin; z != nil && m.To.Z < *z-placeSlackMM {
			j.Fail(ZBelow, o, 1, *z-m.To.Z, "")
		}
		if z := opt.ZMax; z != nil && m.To.Z > *z+placeSlackMM {
			j.Fail(ZAbove, o, 1, m.To.Z-*z, "")
		}
	}
	if m.Rapid || m.FromUnknown || m.ZUnknown {
		return
	}
	if most := opt.FeedMax; most > 0 {
		slack := roundingPart
		if j.S.Inverse && m.Length > 0 {
			slack += 2 * j.Tolerance() / m.Length // as it is for its speed
		}
		if f := pathFeed(&j.S); f > most*(1+slack) {
			if o != nil && f <= pathFeed(o)*(1+slack) {
				j.ownFeed.Add(j.S.Line)
			} else {
				j.Fail(FeedTooHigh, o, 0, f, "")
			}
		}
	}
}

// rated holds the step under way to the rate of Z. What the original itself asks of Z on
// a travel, or where Z moves alone, is said, not failed.
func (j *Judge) rated(burn bool, o *Step) {
	p, m := &j.pace, &j.S.M
	if p.rate = j.Opt.ZRate; p.rate <= 0 || j.S.Kind != Motion && j.S.Kind != Dwell {
		return
	}
	if m.FromUnknown || m.ZUnknown || !j.S.Known {
		p.restart(m.To.Z)
		return
	}
	if len(p.vertices) == 0 {
		p.restart(m.From.Z)
	}
	dz, seconds, last := math.Abs(j.S.dz()), m.Seconds, j.Opt.lastZ(j.S.Inches)
	switch {
	case m.Rapid:
		seconds = max(m.Length/j.Opt.Machine.RapidMMMin*secondsPerMinute, dz/p.rate)
	case dz > p.rate*seconds && j.ownStroke(burn, o):
		if dz > p.rate*seconds+2*last {
			j.ownZRate.Add(j.S.Line)
		}
		seconds = dz / p.rate
	}
	if seconds <= 0 {
		return // nothing moves
	}
	if from, to, over := p.take(seconds, m.To.Z, last); over > placeSlackMM {
		j.Fail(ZTooFast, o, 1, math.Abs(to.z-from.z)/(to.t-from.t)*secondsPerMinute, "")
		p.restart(m.To.Z)
	}
}

// ownStroke reports whether the original asks for as fast a Z as the step under way.
func (j *Judge) ownStroke(burn bool, o *Step) bool {
	m := &j.S.M
	if o == nil {
		return j.OwnStrokes && !burn && m.Length == 0
	}
	most := zSpeed(o)*m.Seconds*(1+roundingPart) + j.Opt.lastZ(j.S.Inches)
	return (!burn || m.Length == 0) && math.Abs(j.S.dz()) <= most
}

// zSpeed is how fast Z goes on a step, in mm/s; 0 where it takes no time.
func zSpeed(s *Step) float64 {
	if s.M.Seconds <= 0 {
		return 0
	}
	return math.Abs(s.dz()) / s.M.Seconds
}

// pathFeed is the F of a feed move in mm/min; in inverse time that of its
// path.
func pathFeed(s *Step) float64 {
	if !s.Inverse {
		return s.M.Feed
	}
	return math.Hypot(s.M.Length, s.dz()) / s.M.Seconds * secondsPerMinute
}

// runs follows the unbroken runs of burns: the speed of Z in them, and
// whether the focus moves where it must not.
func (j *Judge) runs(c0, c1 float64, burn bool, o *Step) {
	m := &j.S.M
	if !burn {
		j.inRun, j.joint = false, false
	} else {
		if !j.inRun {
			j.inRun, j.runC = true, c0
		}
		moving := j.S.Kind == Motion && m.Length > 0 && m.Seconds > 0
		if moving {
			speed := j.S.dz() / m.Seconds * secondsPerMinute
			j.Res.PeakZRate = max(j.Res.PeakZRate, math.Abs(speed))
			if j.joint {
				j.Res.ZSpeedStep = max(j.Res.ZSpeedStep, math.Abs(speed-j.zSpeed))
			}
			j.zSpeed = speed
		}
		j.joint = moving
	}
	at := &j.handC
	switch {
	case j.Opt.ZMoves == bench.ByHand:
	case j.Opt.ZMoves == bench.BeamOff && burn:
		at = &j.runC
	default:
		return
	}
	// A cut piece's Z is rounded.
	d := max(math.Abs(c0-*at), math.Abs(c1-*at))
	if d > j.Opt.lastZ(j.S.Inches) {
		j.Fail(ZMoved, o, 1, d, "")
		*at = c1 // each change is reported once
	}
}
