package ladder

import (
	"math"

	"sagitta/internal/diag"
	"sagitta/internal/phrase"
	"sagitta/internal/program"
	"sagitta/internal/record"
	"sagitta/internal/setup"
)

// Rung is one figure.
type Rung struct {
	No       int     // in the order of burning, from 1
	OffsetMM float64 // from best focus; minus is nearer
	PowerPct float64
	// X, Y is the lower left corner of the figure, in mm from that of the
	// block.
	X, Y float64
}

// Label is a line of lettering.
type Label struct {
	Text        string
	X, Y, CapMM float64 // lower left corner and height of a capital, in mm
}

// Ladder is a ladder ready to be written.
type Ladder struct {
	// StepMM and ReachMM are what was made of the wishes: the bench may know
	// only certain steps.
	StepMM, ReachMM float64
	// Offsets are those of the rungs in the order of burning, best focus
	// again at the end.
	Offsets []float64
	Rungs   []Rung
	Labels  []Label
	// Width and Height are those of the block in mm; all burns lie within.
	Width, Height float64
	// ClippedMM are the offsets left out at the near side, where the head
	// would come too close; nil where none were.
	ClippedMM []float64
	// NearestMM is how much nearer to the stock than at best focus the head
	// comes; GapMM what gap that leaves, nil where that is not known.
	NearestMM float64
	GapMM     *float64

	opt Options
	// unit is the program's in mm, with so many decimals of Z.
	unit     float64
	decimals int
	columns  int     // of the block
	grain    float64 // what offsets are whole multiples of, in mm; 0: nothing
}

const (
	// slack is more than a few roundings put between two ways to a length,
	// and less than any part of one that counts.
	slack = 1e-9
	// fineGrain is the part of a step below which what the axis can be set
	// to counts as exact: half of it shifts no rung by more than a hundredth
	// of a step.
	fineGrain = 0.02
	// labelDecimals are the decimals that an offset is labelled with at most.
	labelDecimals = 3
)

// New lays out a ladder. Errors are *diag.Error: a setting that makes no
// ladder, or a limit of the bench that is not met.
func New(o Options) (*Ladder, error) {
	if err := o.check(); err != nil {
		return nil, err
	}
	l := &Ladder{StepMM: o.StepMM, opt: o}
	l.unit, l.decimals = o.Machine.Written()
	if err := l.snap(); err != nil {
		return nil, err
	}
	n := math.Floor(o.ReachMM/l.StepMM + slack)
	if (2*n+2)*float64(len(o.PowersPct)) > MostRungs {
		return nil, diag.Errorf(diag.Setting, "take larger steps, a smaller reach or fewer powers",
			"a step of %s mm, a reach of %s mm and %s make more than %d rungs", num(l.StepMM), num(o.ReachMM), phrase.Count(len(o.PowersPct), "power"), MostRungs)
	}
	l.ReachMM = n * l.StepMM
	if err := l.offsets(int(n)); err != nil {
		return nil, err
	}
	if err := l.checkRange(); err != nil {
		return nil, err
	}
	l.layout()
	return l, nil
}

// Setting is where and how the focus is set for it: in the middle of the block, and as
// the gauge has it, off which the ladder tells best focus.
func (l *Ladder) Setting() setup.Setting {
	o := &l.opt
	return setup.Setting{Turn: o.Turn, Lens: setup.Lens{Name: o.LensName, Height: o.FocusHeightMM}, Anywhere: true,
		Point: &setup.FocusPoint{X: l.Width / 2, Y: l.Height / 2}, Z: &o.StartZMM}
}

// snap makes the step a whole number of what the axis can be set to.
func (l *Ladder) snap() error {
	m, step := l.opt.Machine, l.opt.StepMM
	decimal, resolution := l.unit/math.Pow10(l.decimals), record.Known(m.ZResolutionMM)
	grain, what := 0.0, ""
	switch {
	case l.opt.byHand():
		grain, what = record.Known(m.ZStepMM), "a division of the crank"
	case resolution > decimal:
		grain, what = resolution, "the smallest step of Z"
	case decimal > fineGrain*step:
		grain, what = decimal, "the last decimal of Z"
	}
	if l.grain = grain; grain == 0 {
		return nil
	}
	k := math.Ceil(step/grain - 0.5 - slack) // a half goes down, and leaves the rungs as many
	if k < 1 || math.Floor(l.opt.ReachMM/(k*grain)+slack) < 1 {
		return diag.Errorf(diag.Unmet, "take larger steps and a larger reach",
			"a step of %s mm within a reach of %s mm cannot be set: %s is %s mm", num(step), num(l.opt.ReachMM), what, num(grain))
	}
	if grain > fineGrain*step || l.opt.byHand() {
		l.StepMM = k * grain
	}
	return nil
}

// offsets fills the offsets, from far to near and then best focus again.
func (l *Ladder) offsets(n int) error {
	o := &l.opt
	gapMin := record.Known(o.Machine.GapMinMM)
	clear := func(off float64) bool {
		if o.StandoffMM == nil {
			return true
		}
		gap := *o.StandoffMM + off
		return gap >= gapMin-slack && gap > slack
	}
	if !clear(0) {
		return diag.Errorf(diag.Unmet, "", "at best focus the head is %s mm from the stock, nearer than gap_min_mm, %s mm: no rung can be marked", num(*o.StandoffMM), num(gapMin))
	}
	for k := n; k >= -n; k-- {
		off := float64(k) * l.StepMM
		if !clear(off) {
			l.ClippedMM = append(l.ClippedMM, off)
			continue
		}
		l.Offsets = append(l.Offsets, off)
	}
	l.NearestMM = math.Abs(l.Offsets[len(l.Offsets)-1])
	if o.StandoffMM != nil {
		l.GapMM = new(*o.StandoffMM - l.NearestMM)
	}
	l.Offsets = append(l.Offsets, 0)
	return nil
}

// z gives the Z word of an offset in mm, in the program's unit.
func (l *Ladder) z(off float64) program.Number {
	if l.grain > 0 {
		off = math.Round(off/l.grain) * l.grain
	}
	return program.Round((l.opt.StartZMM+l.opt.Machine.Sigma()*off)/l.unit, int8(l.decimals)).Trim()
}

// inRange reports whether the Z of an offset may be written.
func (l *Ladder) inRange(off float64) bool {
	z, m := l.z(off).Float()*l.unit, l.opt.Machine
	return !(m.ZMinMM != nil && z < *m.ZMinMM-slack || m.ZMaxMM != nil && z > *m.ZMaxMM+slack)
}

func (l *Ladder) checkRange() error {
	if l.opt.byHand() {
		return nil
	}
	for _, off := range l.Offsets {
		if !l.inRange(off) {
			return diag.Errorf(diag.Unmet, "take a smaller --reach, or say with --start-z which Z is best focus",
				"the rung at %s mm asks for a Z of %s mm, outside the profile's z_min_mm and z_max_mm", l.offsetText(off), num(l.z(off).Float()*l.unit))
		}
	}
	return nil
}

// takeUp is how far past an offset the lens goes, in mm, when it has to rise to
// it: it then comes down to it as to all others.
func (l *Ladder) takeUp(off float64) float64 {
	// Half a millimetre is more than the lost motion of a screw that is
	// still of use for focusing.
	up := math.Max(0.5, 2*record.Known(l.opt.Machine.ZBacklashMM))
	if l.grain > 0 {
		up = math.Ceil(up/l.grain-slack) * l.grain
	}
	if !l.opt.byHand() && !l.inRange(off+up) {
		return 0
	}
	return up
}

// offsetText writes an offset as it is labelled: with its sign, and with the
// decimals of a step.
func (l *Ladder) offsetText(off float64) string {
	dec := program.Round(l.StepMM, labelDecimals).Trim().Dec
	n := program.Round(off, dec)
	switch n.Sign() {
	case 0:
		return "0"
	case 1:
		return "+" + n.String()
	}
	return n.String()
}

// powerText writes a power as it is labelled.
func powerText(pct float64) string { return num(pct) + "%" }

// num writes a number for people: three decimals at most.
func num(v float64) string { return phrase.Trimmed(v, 3) }
