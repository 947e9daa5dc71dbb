package zone

import (
	"fmt"
	"math"

	"sagitta/internal/cover"
	"sagitta/internal/diag"
	"sagitta/internal/focus"
	"sagitta/internal/machine"
	"sagitta/internal/setup"
	"sagitta/internal/zone/sheet"
)

// MostZones is how many zones a lens may need. A bench is not set a thousand
// times: past it the lens is wrong, or its depth.
const MostZones = 1000

// Zone is what one setting of one lens serves. Split fills in what it is told
// of its burns and its program.
type Zone = sheet.Zone

// LensPlan is a lens and what it is to do.
type LensPlan struct {
	Lens
	// Usable is the lens's own depth, where zones that are followed within
	// are made as for a deeper one.
	Usable focus.Depth
	// Figures is how many unbroken runs of burns it is given, over heights
	// from Low to High.
	Figures   int
	Low, High float64
	// Zones is how many zones it needs, and Lows the heights that show that
	// none fewer do: each, or what lies just above it, is seen by a burn,
	// and any two are apart by SpacingMM, which is its width less what is
	// not certain of the heights.
	Zones     int
	Lows      []float64
	SpacingMM float64
}

// bands are the zones of one lens, lowest first. base is the number of the
// first among all zones.
type bands struct {
	base int
	of   cover.Settings
}

// Plan says how a job is divided.
type Plan struct {
	opt    Options
	Lenses []LensPlan
	Zones  []Zone

	// Burns and BurnLength are those of the whole job, Low and High the
	// heights that they see.
	Burns      int
	BurnLength float64
	Low, High  float64
	// Outside counts burns off the surface at the edge's height.
	Outside int
	// CutBurns and Cuts count the burns that are cut and the places;
	// JointChanges the changes of zone within unbroken runs of burns.
	// Split fills these.
	CutBurns, Cuts, JointChanges int

	// from is what the plan was made of, and extra what is taken off the
	// lenses' widths beyond what the survey found, see Split.
	from  *surveyor
	extra float64

	bands    []bands // by lens
	order    lensOrder
	marked   *setup.Marks
	lastBurn int // line of the last burn
	// clearZ is the height of the original's travels between burns, as a
	// programmed Z, where travels says that there are any.
	clearZ  float64
	travels bool
	// burnZ is the programmed Z of the highest burns: lower ones are meant to
	// be below the focus, so this is where it is set.
	burnZ float64
	// firstZ is the programmed Z of the first burn.
	firstZ float64
	// preamble is what the travels ask for before the beam is first put on, and
	// begins the first of them that says where the head is, if one does.
	preamble ask
	begins   machine.Move
	ending   ending
}

// focusZ is the programmed Z from which the head is counted, that of the first
// burn, away from the stock.
func (p *Plan) focusZ() float64 { return p.opt.Sigma() * p.firstZ }

// plan makes the plan.
func (s *surveyor) plan() (*Plan, error) {
	s.endRun()
	p := s.p
	if p.Burns == 0 {
		return nil, diag.NothingBurns[Failure](s.opt.Name)
	}
	if err := s.fails.Err(s.opt.Name); err != nil {
		return nil, err
	}
	if s.opt.Within != nil {
		if err := s.levels.err(s.opt.Name); err != nil {
			return nil, err
		}
	}
	p.travels = !math.IsInf(p.clearZ, 0)
	p.clearZ *= s.sigma
	p.burnZ *= s.sigma
	p.from = s
	return p, s.zones()
}

// zones makes the zones.
func (s *surveyor) zones() error {
	p := s.p
	p.Zones, p.Lenses, p.bands = nil, nil, nil
	for k := range s.opt.Lenses {
		if err := s.lens(k); err != nil {
			return err
		}
	}
	for _, bs := range p.bands {
		// The highest first: from one setting to the next the lens only comes
		// nearer, so that nothing has to be cleared on the way.
		for k := range bs.of {
			p.Zones[bs.base+k].Order = bs.base + len(bs.of) - k
		}
	}
	if h := s.opt.Head; h != nil {
		for _, b := range h.Boxes {
			p.marked.Box(b, h.Radius)
		}
	}
	for i := range p.Zones {
		z := &p.Zones[i]
		p.marked.Over = s.over(p.Lenses[z.Lens].Standoff)
		z.Point = p.marked.At(z.Focus)
		if !s.opt.Pause || p.marked.Over == nil {
			continue
		}
		if by := p.marked.Over(z.Point.X, z.Point.Y, z.Focus); by > rounding {
			s.fails.add(0, "there is no place to set the focus of zone %d where the head is clear: at X%.3f Y%.3f its tip would be too close to what stands about it by %.3f mm; split without --pause, and set it off the machine's path",
				z.Order, z.Point.X, z.Point.Y, by)
		}
	}
	return s.fails.Err(s.opt.Name)
}

// over tells by how many mm the head stands too low at a place, with the focus set
// at a height; nil where the head, or how high it stands, is not known.
func (s *surveyor) over(standoff *float64) func(x, y, height float64) float64 {
	model := s.opt.model
	if model == nil || standoff == nil {
		return nil
	}
	above := *standoff + s.sigma*s.p.burnZ - s.p.focusZ()
	return func(x, y, height float64) float64 { return max(0, model.Straight(x, y, x, y)-height-above) }
}

// slop is what is taken off a lens's width: what is not certain of heights
// and cut points, and the rounding of the focus.
func (s *surveyor) slop(width float64) float64 {
	o := s.opt
	slope := min(o.Surface.MaxSlope(), steepStock)
	sure := s.slack + 2*slope*o.Lateral() + 4*rounding
	return min(sure, width/20) + focusStep + s.p.extra
}

// steepStock bounds the slope that cuts are reckoned with at first. A single
// steeper cell, such as the wall of an engraving, must not narrow all zones
// where nothing is cut in it; where something is, Split finds out.
const steepStock = 0.5

// lens makes the zones of lens k.
func (s *surveyor) lens(k int) error {
	p, l := s.p, s.opt.Lenses[k]
	lp := LensPlan{Lens: l, Usable: s.usable[k], Figures: s.figs[k]}
	defer func() { p.Lenses = append(p.Lenses, lp) }()
	bs := bands{base: len(p.Zones)}
	defer func() { p.bands = append(p.bands, bs) }()
	if s.figs[k] == 0 {
		return nil
	}
	spans := s.sets[k].Spans()
	lp.Low, lp.High = spans[0].Lo, spans[len(spans)-1].Hi
	width := l.Width() - s.slop(l.Width())
	if n := cover.Count(spans, width); !(width > 0) || n > MostZones {
		return refused(s.opt.Name, "lens %s, with %.4g mm of usable depth for heights from %.3f to %.3f mm, would need %.0f zones; more than %d are refused",
			l.Name, l.Width(), lp.Low, lp.High, n, MostZones)
	}
	lp.Lows = cover.Fewest(spans, width)
	lp.Zones, lp.SpacingMM = len(lp.Lows), width
	d := s.opt.Defocus
	var focus []float64
	var own []cover.Span
	for _, low := range s.whole[k].Place(spans, width, lp.Lows) {
		band := cover.Span{Lo: low, Hi: low + width}
		got, any := cover.Within(spans, band)
		if !any {
			got = band
		}
		own = append(own, got)
		focus = append(focus, d+(got.Lo*l.Depth.Near+got.Hi*l.Depth.Far)/l.Width())
	}
	for i, f := range s.roundFocus(focus, spans, &l) {
		z := Zone{Lens: k, Focus: f, Seen: own[i], Band: cover.Span{Lo: f - d - l.Depth.Far, Hi: f - d + l.Depth.Near}}
		p.Zones = append(p.Zones, z)
		bs.of = append(bs.of, z.Band)
	}
	return nil
}

// roundFocus rounds focus heights to whole divisions of the crank, where all
// zones together still cover what is seen, or else to focusStep.
func (s *surveyor) roundFocus(focus []float64, spans []cover.Span, l *Lens) []float64 {
	if c := s.opt.CrankMM; c > 0 {
		slop := s.slop(l.Width()) - focusStep
		if out, covered := cover.ToSteps(focus, c, spans, -s.opt.Defocus-l.Depth.Far+slop/2, l.Width()-slop); covered {
			return out
		}
	}
	for i, f := range focus {
		focus[i] = math.Round(f/focusStep) / (1 / focusStep)
	}
	return focus
}

// focusStep is what a focus is rounded to, in mm: a tenth of what benches are
// set to, so that rounding costs no zone.
const focusStep = 1e-4

// String says how many zones there are for each lens.
func (p *Plan) String() string {
	text := ""
	for _, l := range p.Lenses {
		if l.Zones > 0 {
			if text != "" {
				text += ", "
			}
			text += fmt.Sprintf("%d with %s", l.Zones, l.Name)
		}
	}
	return text
}
