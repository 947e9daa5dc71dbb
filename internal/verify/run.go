package verify

import (
	"fmt"
	"io"
	"math"

	"sagitta/internal/machine"
	"sagitta/internal/phrase"
	"sagitta/internal/verify/extremes"
)

// Run reads the checked program and holds it to opt and, where against is not
// nil, to the original it was made from. The names are for messages.
//
// What does not hold is in the Result. The error is that of a program that
// cannot be read: *diag.Error or the source's own; or of options that make no sense. Both programs stream: the
// memory needed does not grow with them.
func Run(checked io.Reader, name string, against io.Reader, againstName string, opt Options) (*Result, error) {
	if err := opt.check(); err != nil {
		return nil, err
	}
	c := &check{
		opt:     opt,
		f:       extremes.New(opt.Surface),
		res:     &Result{},
		checked: newStream(checked, name, opt.Machine, opt.Rehearsal),
		sigma:   opt.sigma(),
	}
	c.begin()
	var err error
	if against == nil {
		err = c.alone()
	} else {
		c.orig = newStream(against, againstName, opt.Machine, opt.Rehearsal)
		c.head.known = false
		err = c.beside()
	}
	if err != nil {
		return nil, err
	}
	c.finish()
	return c.res, nil
}

// check is one run.
type check struct {
	opt     Options
	f       *extremes.Field
	res     *Result
	sigma   float64
	head    headCheck
	checked *stream
	// twice tells that moves may have been cut, and their cuts rounded, twice.
	twice bool

	// Of the original, where there is one.
	orig  *stream
	ahead lookahead
	// z is the Z that the original has at this place of the path, and beam its
	// beam in the last step that was met.
	z    float64
	beam machine.Beam
	// begun tells that a part of the original's next move has been covered,
	// up to the fraction covered; almost, that its end has been reached
	// within the tolerance, but not exactly.
	begun, almost bool
	covered       float64

	// spareRapids and spareFeeds count the travels of Z alone that seemed to
	// be added since the last step of another kind.
	spareRapids, spareFeeds int

	s  step
	sp extremes.Span

	worst float64 // magnitude of res.Defocus, below 0 before the first burn
	// Of the unbroken run of burns under way: whether there is one, and c at
	// its start; whether its last burn moved over XY, and the Z speed there.
	inRun, joint  bool
	runC, zSpeed  float64
	handC         float64 // what c is, where it must not change
	unknownTravel int     // line of the first travel from an unknown place
	ownZRate      tolerated
	ownFeed       tolerated
	slowAtMax     tolerated
}

// tolerated counts what does not hold but is not this program's doing.
type tolerated struct{ count, line int }

func (t *tolerated) add(line int) {
	if t.count == 0 {
		t.line = line
	}
	t.count++
}

func (c *check) begin() {
	c.worst = -1
	c.head = c.newHeadCheck()
	c.res.Nearest.MM = math.Inf(1)
	c.res.Lowest.MM, c.res.Highest.MM = math.Inf(1), math.Inf(-1)
	c.res.ZMinMM, c.res.ZMaxMM = math.Inf(1), math.Inf(-1)
}

// alone walks a program without an original: the programmed offset counts as
// zero.
func (c *check) alone() error {
	c.handC = c.sigma * c.checked.ip.State().At.Z
	for {
		if err := c.checked.next(&c.s); err != nil {
			return err
		}
		switch c.s.kind {
		case atEnd:
			return nil
		case motion, dwell:
			m := &c.s.m
			c.judge(c.sigma*m.From.Z, c.sigma*m.To.Z, m.Burn, nil)
		}
	}
}

// finish makes the figures of an empty range zero and writes the notes.
func (c *check) finish() {
	r, o := c.res, &c.opt
	r.Blocks = c.checked.blocks
	if r.Burns == 0 {
		r.Lowest, r.Highest = Extreme{}, Extreme{}
		f := Failure{Kind: NoBurn, X: math.NaN(), Y: math.NaN(), Amount: math.NaN()}
		if o.Rehearsal && c.orig == nil {
			f.Detail = "a rehearsal has no burns of its own; check it against its original"
		}
		r.fail(f)
	}
	if math.IsInf(r.ZMinMM, 0) {
		r.ZMinMM, r.ZMaxMM = 0, 0
	}
	if math.IsInf(r.Nearest.MM, 0) {
		r.Nearest = Extreme{}
	}
	if c.orig == nil {
		r.note("no original was given: the programmed offset counts as 0, and path, power, dwells and speed were not compared")
	} else {
		c.compareEnds()
	}
	if o.ZRateMMMin == 0 {
		r.note("no Z rate is known: the speed of Z was not checked")
	}
	if o.ZMinMM == nil && o.ZMaxMM == nil {
		r.note("no range of Z is known: it was not checked")
	}
	if c.unknownTravel > 0 {
		r.note("line %d: a travel from or to an unknown place: whether it is clear was not checked on its way", c.unknownTravel)
	}
	if t := c.ownZRate; t.count > 0 {
		r.note("%s of the original's own ask for a faster Z than the machine has, the first on line %d", phrase.Count(t.count, "move"), t.line)
	}
	if t := c.ownFeed; t.count > 0 {
		r.note("%s of the original's own have a feed above the machine's, the first on line %d", phrase.Count(t.count, "move"), t.line)
	}
	if t := c.slowAtMax; t.count > 0 {
		r.note("%s at the machine's greatest feed are slower than the original over XY, the first on line %d", phrase.Count(t.count, "move"), t.line)
	}
	if r.HeldBurns > 0 {
		r.note("burns off the surface: %d; they were checked against the height of its edge", r.HeldBurns)
	}
	for _, n := range c.checked.ip.Notes() {
		r.note("line %d: M%d is unknown; it counts as without effect on motion and beam", n.Place.Line, n.M)
	}
}

// compareModes holds the modes that every program and every part of one leave
// to the original's.
func compareModes(a, b *machine.State, differs func(what string)) {
	if a.Relative != b.Relative {
		differs("distance mode (G90, G91)")
	}
	if a.Inches != b.Inches {
		differs("units (G20, G21)")
	}
	if a.InverseTime != b.InverseTime {
		differs("feed mode (G93, G94)")
	}
}

// comparePlaces holds what every program leaves of places and offsets to the
// original's: where the head stands over XY, as far as that is known.
func comparePlaces(a, b *machine.State, tol float64, differs func(what string)) {
	if (a.Arcs == machine.AbsoluteArcs) != (b.Arcs == machine.AbsoluteArcs) {
		differs("arc distance mode (G90.1, G91.1)")
	}
	if d := math.Hypot(math.Hypot(a.Offset.X-b.Offset.X, a.Offset.Y-b.Offset.Y), a.Offset.Z-b.Offset.Z); d > tol {
		differs(fmt.Sprintf("the offset of G92, by %s mm", number(d)))
	}
	if a.XKnown != b.XKnown || a.YKnown != b.YKnown || a.ZKnown != b.ZKnown {
		differs("which axes are known")
	}
	var x, y float64
	if a.XKnown && b.XKnown {
		x = a.At.X - b.At.X
	}
	if a.YKnown && b.YKnown {
		y = a.At.Y - b.At.Y
	}
	if d := math.Hypot(x, y); d > tol {
		differs(fmt.Sprintf("the head stands %s mm from where the original leaves it", number(d)))
	}
}

// compareEnds holds the state after the last block to the original's.
func (c *check) compareEnds() {
	a, b := c.checked.ip.State(), c.orig.ip.State()
	differs := func(what string) {
		c.res.fail(Failure{Kind: EndDiffers, X: math.NaN(), Y: math.NaN(), Amount: math.NaN(), Detail: what})
	}
	// Where the original has said no motion word, none can be kept.
	if a.Motion != b.Motion && b.Motion >= 0 {
		differs(fmt.Sprintf("motion mode %s instead of %s", motionName(a.Motion), motionName(b.Motion)))
	}
	compareModes(&a, &b, differs)
	// In inverse time every feed move says its own F.
	if a.Feed.Cmp(b.Feed) != 0 && !a.InverseTime {
		differs(fmt.Sprintf("F%s instead of F%s", number(a.Feed.Float()), number(b.Feed.Float())))
	}
	switch {
	case c.opt.Rehearsal && a.Beam == machine.On:
		differs("the beam is on")
	case !c.opt.Rehearsal && a.Beam != b.Beam && !(a.Beam == machine.Off && b.Beam == machine.On):
		differs("beam")
	}
	tol := c.opt.lastDecimal(a.Inches) + placeSlackMM
	comparePlaces(&a, &b, tol, differs)
	rest := c.sigma * (a.At.Z - b.At.Z)
	if a.ZKnown && b.ZKnown && math.Abs(rest) > tol && math.Abs(rest-c.opt.DefocusMM) > tol {
		c.res.note("the program ends with the focus %s mm away from rest", number(rest))
	}
}

func motionName(m int8) string {
	if m == machineNoMotion {
		return "none"
	}
	return fmt.Sprintf("G%d", m)
}

// machineNoMotion is machine.State's motion before the first motion word.
const machineNoMotion = -1
