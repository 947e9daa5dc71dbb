package verify

import (
	"io"
	"math"

	"sagitta/internal/focus"
	"sagitta/internal/machine"
	"sagitta/internal/phrase"
	"sagitta/internal/program"
	"sagitta/internal/verify/extremes"
)

// Run reads the checked program and holds it to opt and, where against is not
// nil, to the original it was made from. The names are for messages.
//
// What does not hold is in the Result. The error is that of a program that
// cannot be read: *diag.Error or the source's own; or of options that make no
// sense. Both programs stream: the memory needed does not grow with them.
func Run(checked io.Reader, name string, against io.Reader, againstName string, opt Options) (*Result, error) {
	if err := opt.Check(); err != nil {
		return nil, err
	}
	j := NewJudge(NewStream(checked, name, opt.Machine, opt.Rehearsal), extremes.New(opt.Surface), opt, against != nil)
	if opt.Watch != nil {
		opt.Watch.Begin(0)
	}
	var err error
	detail := ""
	if against != nil {
		c := &beside{Judge: j, orig: NewStream(against, againstName, opt.Machine, opt.Rehearsal), ahead: make([]Step, 0, lookaheadSteps), clock: NewClock(&opt)}
		if err = c.walk(); err == nil {
			j.Res.SecondsOriginal = c.clock.Seconds()
			end := c.orig.State()
			j.CompareModes(c.orig)
			j.CompareEnd(&end, false)
			c.orig.NoteBehind(j.Res, "original ")
			c.orig.NoteLit(j.Res, "the original")
		}
	} else {
		err = j.alone()
		if opt.Rehearsal {
			detail = "a rehearsal has no burns of its own; check it against its original"
		}
		j.src.NoteLit(j.Res, "the program")
		j.Res.Note("no original was given: the programmed offset counts as 0, and path, power, dwells and speed were not compared")
	}
	if err != nil {
		return nil, err
	}
	opt.NoteUnknown(j.Res)
	j.src.NoteFrame(j.Res)
	j.src.NoteLapses(j.Res, "")
	j.Finish(detail)
	if opt.Watch != nil {
		opt.Watch.End(j.Res)
	}
	return j.Res, nil
}

// alone walks a program without an original: the programmed offset counts as
// zero.
func (j *Judge) alone() error {
	j.handC = j.sigma * j.src.State().At.Z
	for {
		if err := j.Next(); err != nil {
			return err
		}
		switch j.S.Kind {
		case AtEnd:
			return nil
		case Motion, Dwell:
			m := &j.S.M
			if m.Burn {
				j.first(0)
			}
			j.Take(j.sigma*m.From.Z, j.sigma*m.To.Z, m.Burn, nil)
		case Word:
			j.TellWait()
		}
	}
}

// first notes where the first burn begins, that is programmed at a Z.
func (j *Judge) first(z float64) {
	if j.Res.First != nil {
		return
	}
	at := j.S.M.From
	at.Z = z
	j.Res.First = &at
	now := j.src.State()
	j.Res.Work, j.Res.Shifted = now.Work, now.Offset != machine.Point{}
}

// Finish makes the figures of an empty range zero and writes the notes; detail
// says more where nothing burns, and may be empty.
func (j *Judge) Finish(detail string) {
	r := j.Res
	j.lookBack()
	r.worstOf(&j.Opt)
	r.Blocks, r.Seconds = j.src.blocks, j.clock.Seconds()
	j.over.tell(r, j.Opt.Surface)
	if r.Lowest.MM > r.Highest.MM { // no burns, or in a rehearsal nothing but marks
		r.Lowest, r.Highest = focus.Extreme{}, focus.Extreme{}
	}
	if r.Burns == 0 {
		r.Fail(Violation{Kind: NoBurn, X: math.NaN(), Y: math.NaN(), Amount: math.NaN(), Detail: detail})
	}
	if math.IsInf(r.ZMinMM, 0) {
		r.ZMinMM, r.ZMaxMM = 0, 0
	}
	if math.IsInf(r.Nearest.MM, 0) {
		r.Nearest = focus.Extreme{}
	}
	if t := j.unknownWay; t.Count > 0 {
		r.Note("line %d: a travel from or to an unknown place: whether it is clear was not checked on its way", t.Line)
	}
	for _, t := range []struct {
		program.Tally
		what string
	}{
		{j.ownZRate, "of the original's own ask for a faster Z than the machine has"},
		{j.ownFeed, "of the original's own have a feed above the machine's"},
		{j.slowAtMax, "at the machine's greatest feed are slower than the original over XY"},
	} {
		if t.Count > 0 {
			r.Note("%s %s, the first on line %d", phrase.Count(t.Count, "move"), t.what, t.Line)
		}
	}
	if r.EdgeBurns > 0 {
		r.Note("burns off the surface: %d; they were checked against the height of its edge", r.EdgeBurns)
	}
	j.src.NoteBehind(r, "")
	for _, n := range j.src.ip.Notes() {
		r.Note("line %d: M%d is unknown; it counts as without effect on motion and beam", n.Place.Line, n.M)
	}
}

// beside is a program beside its original.
type beside struct {
	*Judge
	orig *Stream
	// ahead are its steps that were looked at and not yet taken, up to lookaheadSteps;
	// err is that of an original that cannot be read on: it seems to end there.
	ahead []Step
	err   error
	// z is the Z that the original has at this place of the path, and beam its
	// beam in the last step that was met; lit tells that this was a travel of Z alone
	// with the beam on.
	z    float64
	beam machine.Beam
	lit  bool
	// clock is the original's.
	clock *Clock
	// begun tells that a part of the original's next move has been covered,
	// up to the fraction covered; almost, that its end has been reached
	// within the tolerance, but not exactly.
	begun, almost bool
	covered       float64

	// spareRapids and spareFeeds count the travels of Z alone that seemed to
	// be added since the last step of another kind.
	spareRapids, spareFeeds int
}

// take takes the step under way, with c at its ends, as o or a step that the
// original has not.
func (c *beside) take(c0, c1 float64, burn bool, o *Step) {
	if burn {
		z := c.z
		if o != nil {
			z = o.M.From.Z
		}
		c.SetFocus(c.sigma * z)
		c.first(z)
	}
	c.Take(c0, c1, burn, o)
}
