package verify

import (
	"fmt"
	"math"
	"slices"

	"sagitta/internal/bench"
	"sagitta/internal/machine"
)

// FailUnlit reports a beam that is on where nothing is burned, in the step under
// way, which is the original's step o or has none there.
func (j *Judge) FailUnlit(o *Step) {
	s := &j.S
	f := j.violation(BeamDiffers, o, 0, math.NaN())
	switch s.Kind {
	case Word:
		f.Detail = "on at " + s.String()
	case AtEnd:
		f.Detail = "on at the end"
		f.X, f.Y = math.NaN(), math.NaN()
	default:
		f.Detail = "on in a travel"
	}
	j.Res.Fail(f)
}

// CompareBeam holds the beam and the power of the step under way to those of
// the original's step o. In a rehearsal there is no beam.
func (j *Judge) CompareBeam(o *Step) {
	s := &j.S
	switch {
	case j.Opt.Rehearsal && (s.M.Burn || s.Lit()):
		j.Fail(BeamDiffers, o, 0, math.NaN(), "the beam can fire in a rehearsal")
	case j.Opt.Rehearsal:
	case s.InPlace() && s.M.Rapid && !s.M.Burn && s.Beam == machine.Off && o.Beam == machine.Unsaid:
		// Of Z alone it may stand behind the word that puts the beam off.
	case s.M.Burn != o.M.Burn || !s.M.Burn && s.Beam != o.Beam:
		j.Fail(BeamDiffers, o, 0, math.NaN(), beamName(s)+" instead of "+beamName(o))
	case !s.M.Burn && s.Beam == machine.Off:
	case s.M.PowerFollows != o.M.PowerFollows:
		j.Fail(PowerDiffers, o, 0, math.NaN(), "whether it follows the speed")
	default:
		j.comparePower(o)
	}
}

// Dark holds a program to having the beam off throughout.
func (j *Judge) Dark(src *Stream) error {
	for {
		if err := src.Next(&j.S); err != nil {
			return err
		}
		if j.S.M.Burn || j.S.Lit() || j.S.Kind == AtEnd && j.S.Beam == machine.On {
			j.Fail(BeamDiffers, nil, 0, math.NaN(), "the beam can fire in a rehearsal")
		}
		if j.S.Kind == AtEnd {
			return nil
		}
	}
}

func beamName(s *Step) string {
	switch {
	case s.M.Burn:
		return "burning"
	case s.Beam == machine.On:
		return "on"
	case s.Beam == machine.Off:
		return "off"
	}
	return "not yet said"
}

// SameTime reports whether two dwells last as long, in s.
func SameTime(a, b float64) bool { return math.Abs(a-b) <= roundingPart*(1+b) }

// CompareMove holds what the step under way is as a move to the original's.
func (j *Judge) CompareMove(o *Step) {
	if j.S.M.Rapid != o.M.Rapid {
		j.Fail(Mode, o, 0, math.NaN(), "")
	}
	s := &j.S
	if s.Work != o.Work {
		j.Fail(WordDiffers, o, 0, math.NaN(), fmt.Sprintf("under the work offset G%s instead of G%s", s.Work.Number(), o.Work.Number()))
	}
	switch {
	case s.SamePath(o):
	case j.MayReorder && o.Path == 0 && len(j.Unsaid) < mostUnsaid:
		if !slices.ContainsFunc(j.Unsaid, func(u Step) bool { return s.SamePath(&u) }) {
			j.Unsaid = append(j.Unsaid, *s)
		}
	default:
		j.FailPath(o)
	}
	j.CompareBeam(o)
	j.compareSpeed(o)
}

// FailPath reports the path control of the step under way.
func (j *Judge) FailPath(o *Step) {
	j.Fail(WordDiffers, o, 0, math.NaN(), "another path control (G61, G64)")
}

// mostUnsaid bounds the steps that are kept for what the original may say of them:
// of each path control one.
const mostUnsaid = 16

// compareSpeed holds the speed over XY of a feed move to that of the
// original.
func (j *Judge) compareSpeed(o *Step) {
	s := &j.S
	if s.M.Rapid || o.M.Rapid || !timed(s) || !timed(o) {
		return
	}
	j.speed(o, s.M.Length/s.M.Seconds/(o.M.Length/o.M.Seconds), s.M.Length)
}

// timed reports whether the step has a speed over XY.
func timed(s *Step) bool { return !s.M.FromUnknown && s.M.Length > 0 && s.M.Seconds > 0 }

// compareRise does the same for the speed of Z in a motion without XY length.
func (j *Judge) compareRise(o *Step) {
	dz, odz := math.Abs(j.S.dz()), math.Abs(o.dz())
	if j.S.M.Rapid || j.S.M.ZUnknown || j.S.M.Seconds == 0 || dz == 0 || o.M.Seconds == 0 || odz == 0 {
		return
	}
	j.speed(o, dz/j.S.M.Seconds/(odz/o.M.Seconds), dz)
}

// speed judges a speed that is part of the programmed one, over so many mm.
func (j *Judge) speed(o *Step, part, length float64) {
	grace, least := j.speeds(o, length)
	if part > 1+grace {
		j.Fail(TooFast, o, 0, (part-1)*percent, "")
	}
	if !o.M.Burn || part >= least*(1-grace) {
		return
	}
	if most := j.Opt.FeedMax; most > 0 && pathFeed(&j.S) >= most*(1-speedGrace) {
		j.slowAtMax.Add(j.S.Line)
		return
	}
	j.Fail(TooSlow, o, 0, (least-part)*percent, "")
}

// speeds gives how far the speed of the step under way, over so many mm, may be off, and
// the least part of that of o that it may have.
func (j *Judge) speeds(o *Step, length float64) (grace, least float64) {
	grace = speedGrace + roundingPart
	if j.S.Inverse {
		// There the time is programmed, and the length rounded.
		grace += 2 * j.Tolerance() / length
	}
	if j.Opt.Slow == bench.SlowBurns || j.Opt.Slow == bench.SlowScaled && o.M.PowerFollows {
		return grace, j.Opt.Slowest
	}
	return grace, 1
}

// SameSpeed reports whether the step under way goes as fast as it may as the original's
// step o.
func (j *Judge) SameSpeed(o *Step) bool {
	s := &j.S
	if s.M.Rapid != o.M.Rapid || s.M.Rapid || !timed(s) || !timed(o) {
		return s.M.Rapid == o.M.Rapid
	}
	grace, least := j.speeds(o, s.M.Length)
	part := s.M.Length / s.M.Seconds / (o.M.Length / o.M.Seconds)
	most := j.Opt.FeedMax
	return part <= 1+grace && (part >= least*(1-grace) || most > 0 && pathFeed(s) >= most*(1-speedGrace))
}

// CompareModes reports modes that the original says before it first moves and the
// program does not: which are in force is then for the controller to say.
func (j *Judge) CompareModes(orig *Stream) {
	for _, mode := range []struct {
		said, wanted bool
		what         string
	}{{j.src.unitsSaid, orig.unitsSaid, "units (G20, G21)"}, {j.src.distanceSaid, orig.distanceSaid, "distance mode (G90, G91)"}} {
		if mode.wanted && !mode.said && j.src.moved > 0 {
			j.Res.Fail(Violation{Kind: WordDiffers, Line: j.src.moved, X: math.NaN(), Y: math.NaN(), Amount: math.NaN(),
				Detail: "it moves before it says the " + mode.what + ", as the original does not"})
		}
	}
}

// CompareEnd holds the state that the program ends in to b, the original's. A
// part of the original need not end in its motion mode and feed, but with the beam put
// off by its word. Where the original leaves the beam on, a rehearsal must not; another
// whole program may.
func (j *Judge) CompareEnd(b *machine.State, part bool) {
	a := j.src.State()
	differs := func(is bool, format string, args ...any) {
		if is {
			j.Res.Fail(Violation{Kind: EndDiffers, X: math.NaN(), Y: math.NaN(), Amount: math.NaN(), Detail: fmt.Sprintf(format, args...)})
		}
	}
	// Where the original has said no motion word, none can be kept.
	differs(!part && a.Motion != b.Motion && b.Motion >= 0, "motion mode %s instead of G%d", motionName(a.Motion), b.Motion)
	differs(a.Relative != b.Relative, "distance mode (G90, G91)")
	differs(a.Inches != b.Inches, "units (G20, G21)")
	differs(a.InverseTime != b.InverseTime, "feed mode (G93, G94)")
	differs(!part && !j.Opt.Rehearsal && a.Power.Cmp(b.Power) != 0 && a.Power.Sign() > 0,
		"power %s instead of %s", Number(a.Power.Float()), Number(b.Power.Float()))
	// In inverse time every feed move says its own F.
	differs(!part && a.Feed.Cmp(b.Feed) != 0 && !a.InverseTime, "F%s instead of F%s", Number(a.Feed.Float()), Number(b.Feed.Float()))
	differs((a.Arcs == machine.AbsoluteArcs) != (b.Arcs == machine.AbsoluteArcs), "arc distance mode (G90.1, G91.1)")
	differs(a.Mist && !b.Mist || a.Flood && !b.Flood, "the air (M7, M8) is on")
	tol := j.Opt.lastDecimal(a.Inches) + placeSlackMM
	d := math.Hypot(math.Hypot(a.Offset.X-b.Offset.X, a.Offset.Y-b.Offset.Y), a.Offset.Z-b.Offset.Z)
	differs(d > tol, "the offset of G92, by %s mm", Number(d))
	differs(a.XKnown != b.XKnown || a.YKnown != b.YKnown || a.ZKnown != b.ZKnown, "which axes are known")
	var x, y float64
	if a.XKnown && b.XKnown {
		x = a.At.X - b.At.X
	}
	if a.YKnown && b.YKnown {
		y = a.At.Y - b.At.Y
	}
	d = math.Hypot(x, y)
	differs(d > tol, "the head stands %s mm from where the original leaves it", Number(d))
	rest := j.sigma * (a.At.Z - b.At.Z)
	if !part && a.ZKnown && b.ZKnown && math.Abs(rest) > tol && math.Abs(rest-j.Opt.DefocusMM) > tol {
		j.Res.Note("the program ends with the focus %s mm from where the original leaves it", Number(rest))
	}
	switch {
	case a.Beam == machine.On && (part || j.Opt.Rehearsal || b.Beam != machine.On):
		j.FailUnlit(nil)
	case part:
		differs(!putsOff(&a), "no word puts the beam off")
	case !j.Opt.Rehearsal:
		differs(a.Beam != b.Beam && b.Beam != machine.On, "beam")
	}
}

func motionName(m int8) string {
	if m < 0 {
		return "none"
	}
	return fmt.Sprintf("G%d", m)
}
