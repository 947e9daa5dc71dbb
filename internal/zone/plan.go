package zone

import (
	"math"

	"sagitta/internal/clearance"
	"sagitta/internal/cover"
	"sagitta/internal/diag"
	"sagitta/internal/setup"
	"sagitta/internal/stream"
	"sagitta/internal/zone/sheet"
)

// MostZones is how many zones a lens may need. A bench is not set a thousand
// times: past it the lens is wrong, or its depth.
const MostZones = 1000

// Zone is what one setting of one lens serves. Split fills in what it is told
// of its burns and its program.
type Zone = sheet.Zone

// lensBands are the zones of one lens, lowest first. base is the number of the
// first among all zones.
type lensBands struct {
	base int
	of   []cover.Bands // by the kind of what burns
}

// Plan says how a job is divided.
type Plan struct {
	// Set is what there is to tell of the zones. Split fills in what it is told
	// of their burns and programs, and of the cuts.
	sheet.Set
	// Closed are the burns that close on themselves.
	Closed stream.Closed
	// Remarks are on the original.
	stream.Remarks
	// Outside counts burns off the surface at the edge's height.
	Outside int
	// JointChanges counts the changes of zone within unbroken runs of burns.
	// Split fills it in.
	JointChanges int

	// Kept is why the original's order was kept where a better one was asked for, ""
	// where it was not. Split fills it in.
	Kept string

	opt *Options
	// from is what the plan was made of, and extra what is taken off the
	// lenses' widths beyond what the survey found, see Split.
	from  *surveyor
	extra float64

	bands    []lensBands // by lens
	order    lensOrder
	marked   *setup.Marks
	lastBurn int // line of the last burn
	// clearZ is the programmed Z of the highest travels between burns, away from
	// the stock; -Inf where there are none.
	clearZ float64
	// topBurn is the programmed Z of the highest burns, away from the stock.
	topBurn float64
	// travelsAtZero are the words of the beam under which there are travels at power 0
	// between burns.
	travelsAtZero []int
	// preamble is what the travels ask for before the beam is first put on, and
	// approach the motions up to where the program has said where the head is.
	preamble requirement
	approach clearance.Approach
	// firstRows are the lines on which rasters begin.
	firstRows []int
	// goes is what the moves go over.
	goes box
	// ending is what is behind the last burn, elsewhere what of it is other programs'
	// than that which burns it.
	ending, elsewhere ending
}

// focusZ is the programmed Z from which the head is counted, that of the first
// burn, away from the stock.
func (p *Plan) focusZ() float64 { return p.opt.Sigma() * p.FirstZ }

// plan makes the plan.
func (s *surveyor) plan() (*Plan, error) {
	if s.Burns == 0 {
		return nil, diag.NothingBurns[Obstacle](s.opt.Name)
	}
	s.endFigure()
	s.offTogether()
	if err := s.fails.Err(s.opt.Name); err != nil {
		return nil, err
	}
	if s.opt.Within != nil {
		if err := s.checkLevels(); err != nil {
			return nil, err
		}
	}
	s.from = s
	s.StartXY, s.Start = s.start.say(s.sigma, s.FirstZ)
	return s.Plan, s.zones()
}

// zones makes the zones.
func (s *surveyor) zones() error {
	s.Zones, s.Lenses, s.bands = nil, nil, nil
	for k := range s.opt.Lenses {
		if err := s.lens(k); err != nil {
			return err
		}
	}
	for _, b := range s.opt.Boxes {
		beside := 0.0
		if h := s.opt.Head; h != nil {
			beside = h.Beside(b.Height - s.Low)
		}
		s.marked.Box(b, beside)
	}
	if s.opt.Pause || s.opt.Original { // else, see orders
		setByHeight(s.Plan, &s.fails)
	}
	return s.fails.Err(s.opt.Name)
}

// slop is what is taken off a lens's width: what is not certain of heights
// and cut points, and the rounding of the focus.
func (s *surveyor) slop(width float64) float64 {
	o := s.opt
	slope := min(o.Surface.MaxSlope(), steepStock)
	sure := s.slack + 2*slope*o.Lateral() + 4*rounding
	return min(sure, width/20) + focusStep + s.extra
}

// steepStock bounds the slope that cuts are reckoned with at first. A single
// steeper cell, such as the wall of an engraving, must not narrow all zones
// where nothing is cut in it; where something is, Split finds out.
const steepStock = 0.5

// lens makes the zones of lens k.
func (s *surveyor) lens(k int) error {
	l, own := s.opt.Lenses[k], &s.shares[k]
	s.Lenses = append(s.Lenses, sheet.Lens{Name: l.Name, Unnamed: l.Unnamed, Standoff: l.Standoff, FocusHeight: l.FocusHeight, FocusShift: l.FocusShift, Usable: l.usable, Less: s.opt.Surface.MostLess(), SpotShift: l.SpotShift, Figures: own.figures})
	s.bands = append(s.bands, lensBands{base: len(s.Zones), of: make([]cover.Bands, 1+len(l.Kinds))})
	if own.figures == 0 {
		return nil
	}
	lens := &s.Lenses[k]
	lens.Low, lens.High = own.seen.Lo, own.seen.Hi
	spans := s.spans(k)
	if len(l.Kinds) > 0 {
		l = l.alike()
		at := s.settings(k)
		if width := l.Width() - s.slop(l.Width()); at != nil && (!(width > 0) || float64(len(at)) < cover.Count(spans, width)) {
			lens.Zones, lens.SpacingMM = len(at), l.Width()
			s.place(k, at)
			return nil
		}
	}
	width := l.Width() - s.slop(l.Width())
	if n := cover.Count(spans, width); !(width > 0) || n > MostZones {
		return refused(s.opt.Name, "lens %s, with %.4g mm of usable depth for heights from %.3f to %.3f mm, would need %.0f zones; more than %d are refused",
			l.Name, l.Width(), lens.Low, lens.High, n, MostZones)
	}
	lows := cover.Fewest(spans, width)
	lens.Zones = len(lows)
	lens.Lows, lens.SpacingMM = cover.Fewest(own.burned.Spans(), l.Width()+s.opt.apart()), l.Width()
	d := s.opt.Defocus
	var focus []float64
	for _, low := range own.whole.Place(spans, width, lows) {
		seen := cover.Span{Lo: low, Hi: low + width}
		if within, any := cover.Within(spans, seen); any {
			seen = within
		}
		focus = append(focus, d+(seen.Lo*l.Depth.Near+seen.Hi*l.Depth.Far)/l.Width())
	}
	s.place(k, s.roundFocus(focus, spans, &l))
	return nil
}

// place makes the zones of lens k, of these settings.
func (s *surveyor) place(k int, focus []float64) {
	l, bs := &s.opt.Lenses[k], &s.bands[k]
	for i, f := range focus {
		// The highest come first: from one setting to the next the lens only comes
		// nearer, so that nothing has to be cleared on the way.
		s.Zones = append(s.Zones, Zone{Order: bs.base + len(focus) - i, Lens: k, Focus: f, Band: s.serves(f, l)})
		for kind := range bs.of {
			bs.of[kind] = append(bs.of[kind], s.opt.band(l, kind, f))
		}
	}
}

// roundFocus rounds focus heights to whole divisions of the crank, where all
// zones together still cover what is seen, or else to focusStep.
func (s *surveyor) roundFocus(focus []float64, spans []cover.Span, l *Lens) []float64 {
	if c := s.opt.Turn.DivisionMM; c > 0 {
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

// undivided is the error where the plan needs several programs, or one with stops, and
// the original does not allow it.
func (p *Plan) undivided() error {
	if len(p.Zones) > 1 || p.opt.Pause {
		return p.from.between
	}
	return nil
}
