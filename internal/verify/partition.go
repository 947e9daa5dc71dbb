package verify

import (
	"fmt"
	"io"
	"math"
	"slices"

	"sagitta/internal/focus"
	"sagitta/internal/machine"
)

// RunSet holds a set of zones to the original that it was made from: each burn
// of the original is burned once, by one zone or in parts by several, with the
// same power and speed and in focus at that zone's setting; nothing else is
// burned; and all travels are clear at the settings of their zones.
//
// A travel is clear where the lens is nowhere nearer than the depth allows
// over what lies below, Z being counted from the programmed Z of the burns on
// both sides of it (the lower of them): a retract counts. Where Z is moved by
// hand, travels between the stops at which the set says that the lens is raised
// are counted instead.
//
// open opens a program of the set; depth gives the usable depth of a zone's
// lens. What does not hold is in the result; the error is as Run's. All
// programs stream, side by side with the original: each zone's burns come in
// the original's order.
func RunSet(set *Set, open func(program string) (io.ReadCloser, error), depth func(lens string) (focus.Depth, error),
	against io.Reader, againstName string, opt Options) (*SetResult, error) {
	if err := opt.check(); err != nil {
		return nil, err
	}
	p := &partition{set: set, opt: opt, sigma: opt.sigma(), res: &SetResult{}, orig: newStream(against, againstName, opt.Machine, false)}
	defer p.close()
	for i := range set.Zones {
		if err := p.open(i, open, depth); err != nil {
			return nil, err
		}
	}
	if err := p.walk(); err != nil {
		return nil, err
	}
	p.ends()
	return p.res, nil
}

// partition is one run over a set.
type partition struct {
	set   *Set
	opt   Options
	sigma float64
	res   *SetResult
	orig  *stream
	zones []*zoneRun
	// hint is the zone that the last burn was found in.
	hint int
	// recent are burns that were found whole, and owed those of them that a
	// later one of the same shape is to pay for: see exchange.
	recent   []found
	at       int
	owed     []found
	exchange int
}

// found is a burn of the original, and the zone it was found in.
type found struct {
	o    step
	zone int
}

const (
	// keptFound is how many burns an exchange can go back to.
	keptFound = 1 << 14
	// mostExchanges bounds the work that a set can ask for.
	mostExchanges = 1000
)

// zoneRun is a zone on its way.
type zoneRun struct {
	c    *check
	file io.Closer
	// set is what the setting at the bench adds to c.
	set float64
	// from and to bound the lines that are the zone's.
	from, to int
	// live tells that c.s is a burn.
	live bool
	// begun tells that a burn was met, the last of them programmed at lastZ,
	// counted away from the stock.
	begun bool
	lastZ float64
	// gap is the least clearance of the travels since the last burn.
	gap clearance
	// lifted are the lines between which the lens is raised by hand, in
	// order, and raises counts the travels there.
	lifted [][2]int
	raises int
	// points are the places at which a program with stops has the focus set:
	// there the lens comes down to best focus, whatever defocus is wanted.
	points [][2]float64
}

// clearance is the least of Z written, counted away from the stock, less the
// height below it, and where it was met.
type clearance struct {
	least, open float64
	line        int
	x, y        float64
}

func (p *partition) open(i int, open func(string) (io.ReadCloser, error), depth func(string) (focus.Depth, error)) error {
	z := &p.set.Zones[i]
	d, err := depth(z.Lens)
	if err != nil {
		return err
	}
	f, err := open(z.Program)
	if err != nil {
		return err
	}
	opt := p.opt
	opt.Depth = d
	r := &zoneRun{file: f, to: math.MaxInt}
	if opt.ZMoves == ByHand {
		opt.ZMoves = BeamOff // what is set by hand is set before
		r.lifted = z.RaisedLines
	}
	r.c = &check{opt: opt, f: newField(opt.Surface), res: &Result{}, sigma: p.sigma,
		twice: p.set.Followed, checked: newStream(f, z.Program, opt.Machine, false)}
	r.c.begin()
	if !p.set.SetZ {
		r.set = z.FocusMM
	}
	if z.StopLine > 0 && i > 0 && p.set.Zones[i-1].Program == z.Program {
		r.from = z.StopLine
	}
	if z.StopLine > 0 {
		r.points = append(r.points, z.FocusPointMM)
	}
	if i+1 < len(p.set.Zones) && p.set.Zones[i+1].Program == z.Program {
		r.to = p.set.Zones[i+1].StopLine
		r.points = append(r.points, p.set.Zones[i+1].FocusPointMM)
	}
	r.forget()
	p.zones = append(p.zones, r)
	p.res.Zones = append(p.res.Zones, r.c.res)
	return r.next()
}

func (p *partition) close() {
	for _, r := range p.zones {
		_ = r.file.Close()
	}
}

func (r *zoneRun) forget() { r.gap = clearance{least: math.Inf(1), open: math.Inf(1)} }

// next goes on to the zone's next burn.
func (r *zoneRun) next() error {
	r.live = false
	for {
		if err := r.c.checked.next(&r.c.s); err != nil {
			return err
		}
		s := &r.c.s
		switch {
		case s.kind == atEnd || s.line > r.to:
			return nil
		case s.line <= r.from || s.kind == word:
		case s.m.Burn:
			r.live = true
			return nil
		case s.kind == motion:
			r.c.figures(false)
			r.c.limits(0, 0, false, nil)
			r.c.inRun = false
			if r.raised(s.line) {
				r.raises++
			} else {
				r.travel()
			}
		}
	}
}

// raised tells whether the lens is raised by hand at a line.
func (r *zoneRun) raised(line int) bool {
	for len(r.lifted) > 0 && r.lifted[0][1] > 0 && r.lifted[0][1] < line {
		r.lifted = r.lifted[1:]
	}
	return len(r.lifted) > 0 && r.lifted[0][0] < line
}

// travel takes the clearance of the travel under way.
func (r *zoneRun) travel() {
	c := r.c
	m, sp := &c.s.m, &c.sp
	if m.FromUnknown || !c.s.known {
		if c.unknownTravel == 0 {
			c.unknownTravel = c.s.line
		}
		if !c.s.known {
			return
		}
	}
	c0, c1 := c.sigma*m.From.Z, c.sigma*m.To.Z
	standing, gap := m.FromUnknown || m.Length == 0, &r.gap
	if standing {
		if c.s.dz() == 0 && !m.FromUnknown {
			return
		}
		c0 = c1 // it ends at its lowest, or comes from where it was not clear
		if d := c.opt.DefocusMM; d > 0 && slices.ContainsFunc(r.points, func(at [2]float64) bool {
			return math.Hypot(at[0]-m.To.X, at[1]-m.To.Y) <= c.tolerance()
		}) {
			c0, c1 = c0+d, c1+d
		}
	}
	if min(c0, c1)-c.f.high >= gap.least {
		return
	}
	sp.c0, sp.c1, sp.watch = c0, c1, false
	sp.focus.begin(gap.least, math.Inf(1))
	sp.height.begin(math.Inf(-1), math.Inf(1))
	switch {
	case standing:
		c.f.point(sp, m.To.X, m.To.Y)
	case m.Kind == machine.Arc:
		c.f.arc(sp, m)
	default:
		c.f.line(sp, m.From.X, m.From.Y, m.To.X, m.To.Y)
	}
	if sp.focus.lo < gap.least {
		at := m.XY(sp.focus.sLo)
		if standing {
			at = m.XY(1)
		}
		gap.least, gap.line, gap.x, gap.y = sp.focus.lo, c.s.line, at[0], at[1]
	}
	gap.open = min(gap.open, sp.focus.openLo)
}

// arrive holds the travels since the last burn to the zone's depth, as a burn
// programmed at z, counted away from the stock, comes next; with ends set
// none does.
func (r *zoneRun) arrive(z float64, ends bool) {
	g, o := r.gap, &r.c.opt
	r.forget()
	switch {
	case ends && !r.begun:
		return
	case ends:
		z = r.lastZ
	case r.begun:
		z = min(z, r.lastZ)
	}
	least := o.DefocusMM - o.Depth.Near - r.set + z
	f := Failure{Kind: NotClear, Line: g.line, X: g.x, Y: g.y}
	switch {
	case g.least < least-foundMM:
		f.Amount = least - g.least
	case g.open < least-certainMM:
		f.Amount, f.Unproven = least-g.open, true
	default:
		return
	}
	r.c.res.fail(f)
}

// walk takes the original burn by burn.
func (p *partition) walk() error {
	var o step
	for {
		if err := p.orig.next(&o); err != nil {
			return err
		}
		switch {
		case o.kind == atEnd:
			return nil
		case o.kind == word || !o.m.Burn:
			continue
		}
		p.res.Burns++
		p.res.BurnLengthMM += o.m.Length
		if err := p.burn(&o); err != nil {
			return err
		}
	}
}

// burn finds the burn o of the original in the zones.
func (p *partition) burn(o *step) error {
	if i := slices.IndexFunc(p.owed, func(f found) bool { return sameBurn(&f.o, o) }); i >= 0 {
		p.owed = slices.Delete(p.owed, i, i+1)
		return nil
	}
	covered := 0.0
	for {
		k, fit := p.find(o, covered, p.set.OverlapMM)
		if k < 0 && covered > 0 {
			k, fit = p.find(o, covered, o.m.Length) // burned twice is not lost
		}
		if k < 0 && covered == 0 {
			if swapped, err := p.swap(); err != nil {
				return err
			} else if swapped {
				continue
			}
		}
		if k < 0 {
			p.lose(o, covered)
			return nil
		}
		r := p.zones[k]
		p.hint = k
		r.compare(o, fit)
		p.twice(r, o, covered-fit.from)
		whole := covered == 0 && fit.ends
		if err := r.next(); err != nil {
			return err
		}
		if fit.ends {
			if whole {
				p.remember(found{*o, k})
			}
			return nil
		}
		covered = max(covered, fit.to)
	}
}

// lies is how a burn of a zone lies on one of the original: it covers the
// fractions from and to of it, and with ends set up to its end.
type lies struct {
	from, to float64
	ends     bool
}

// find finds the zone whose next burn goes on with o from the fraction that
// is covered, or from up to overlap mm before.
func (p *partition) find(o *step, covered, overlap float64) (int, lies) {
	for n := -1; n < len(p.zones); n++ {
		k := n
		if n < 0 {
			k = p.hint
		} else if n == p.hint {
			continue
		}
		if r := p.zones[k]; r.live {
			if l, ok := r.lies(o, covered, overlap); ok {
				return k, l
			}
		}
	}
	return -1, lies{}
}

// lies tells how the zone's next burn lies on o, and whether it goes on there.
func (r *zoneRun) lies(o *step, covered, overlap float64) (lies, bool) {
	s := &r.c.s
	m, om := &s.m, &o.m
	tol := r.c.tolerance()
	if s.kind != o.kind {
		return lies{}, false
	}
	if om.Length == 0 || m.Length == 0 {
		same := om.Length == m.Length && math.Hypot(m.To.X-om.To.X, m.To.Y-om.To.Y) <= tol &&
			(o.kind != dwell || math.Abs(m.Seconds-om.Seconds) <= roundingPart*(1+om.Seconds))
		return lies{0, 1, true}, same
	}
	from := startOn(m, om, covered)
	slack := tol / om.Length
	if from > covered+slack || from < covered-slack-overlap/om.Length {
		return lies{}, false
	}
	if math.Abs(from-covered) <= slack && overlap == 0 {
		from = covered
	}
	if math.Abs(from) <= slack {
		from = 0
	}
	p := pieceOf(m, om, from)
	if p.off > tol || p.to <= from || p.to <= covered {
		return lies{}, false
	}
	return lies{from, p.to, p.ends(o, tol)}, true
}

// startOn is the fraction of o at which m begins, near to what is covered.
func startOn(m, o *machine.Move, covered float64) float64 {
	if o.Kind == machine.Arc {
		a := math.Atan2(m.From.Y-o.CY, m.From.X-o.CX) - o.A0 - o.Sweep*covered
		return covered + math.Remainder(a, 2*math.Pi)/o.Sweep
	}
	dx, dy := o.To.X-o.From.X, o.To.Y-o.From.Y
	return ((m.From.X-o.From.X)*dx + (m.From.Y-o.From.Y)*dy) / (o.Length * o.Length)
}

// compare holds the zone's burn under way, which lies on o, to it.
func (r *zoneRun) compare(o *step, l lies) {
	c := r.c
	zo := func(s float64) float64 { return o.m.From.Z + (o.m.To.Z-o.m.From.Z)*s }
	z0, z1 := zo(l.from), zo(l.to)
	if l.ends {
		z1 = o.m.To.Z
	}
	r.arrive(min(c.sigma*z0, c.sigma*z1), false)
	if c.s.m.Rapid != o.m.Rapid {
		c.res.fail(c.failure(Mode, o, 0, math.NaN()))
	}
	c.compareBeam(o)
	c.compareSpeed(o)
	c.judge(r.set+c.sigma*(c.s.m.From.Z-z0), r.set+c.sigma*(c.s.m.To.Z-z1), true, o)
	r.begun, r.lastZ = true, c.sigma*o.m.To.Z
}

// twice reports a part of a burn that was burned before, beyond what may
// overlap at a seam.
func (p *partition) twice(r *zoneRun, o *step, part float64) {
	by := part * o.m.Length
	if by <= p.set.OverlapMM+r.c.tolerance() {
		return
	}
	f := r.c.failure(AddedBurn, o, 0, by)
	f.Detail = fmt.Sprintf("%s mm are burned twice", number(by))
	r.c.res.fail(f)
}

// lose reports what of a burn no zone has.
func (p *partition) lose(o *step, covered float64) {
	at := o.m.XY(covered)
	f := Failure{Kind: Missing, OriginalLine: o.line, X: at[0], Y: at[1], Amount: (1 - covered) * o.m.Length}
	f.Detail = fmt.Sprintf("no zone has this burn of %s mm", number(o.m.Length))
	if covered > 0 {
		f.Detail = fmt.Sprintf("no zone has the last %s mm of this burn", number(f.Amount))
	}
	p.res.Whole.fail(f)
}

// remember keeps a burn that was found whole.
func (p *partition) remember(f found) {
	if len(p.recent) < keptFound {
		p.recent = append(p.recent, f)
		return
	}
	p.recent[p.at] = f
	p.at = (p.at + 1) % keptFound
}

// sameBurn tells two burns that nothing but their place in the program tells
// apart.
func sameBurn(a, b *step) bool {
	m, o := &a.m, &b.m
	return a.kind == b.kind && m.Kind == o.Kind && m.From == o.From && m.To == o.To && m.CX == o.CX && m.CY == o.CY &&
		m.Sweep == o.Sweep && m.Power == o.Power && m.PowerFollows == o.PowerFollows && m.Seconds == o.Seconds
}

// swap finds a zone that waits with a burn that the original has burned
// already, and that was found in another zone: that zone has it for a later
// burn of the same shape. It takes the burn from the zone that waits, and lets
// the later one be owed.
func (p *partition) swap() (bool, error) {
	if p.exchange >= mostExchanges {
		return false, nil
	}
	p.exchange++
	for k, r := range p.zones {
		if !r.live {
			continue
		}
		for i := range p.recent {
			f := &p.recent[i]
			l, ok := lies{}, false
			if f.zone != k {
				l, ok = r.lies(&f.o, 0, 0)
			}
			if !ok || !l.ends {
				continue
			}
			r.compare(&f.o, l)
			p.owed = append(p.owed, *f)
			f.zone = k
			return true, r.next()
		}
	}
	return false, nil
}

// ends reports what the zones have beyond the original, and how they end.
func (p *partition) ends() {
	for _, f := range p.owed {
		r := p.zones[f.zone]
		x := Failure{Kind: AddedBurn, OriginalLine: f.o.line, X: f.o.m.From.X, Y: f.o.m.From.Y, Amount: f.o.m.Length, Detail: "burned twice"}
		r.c.res.fail(x)
	}
	for _, r := range p.zones {
		c := r.c
		if r.live {
			f := c.failure(AddedBurn, nil, 0, c.s.m.Length)
			f.Detail = fmt.Sprintf("a burn of %s mm, burned before or not in the original here", number(f.Amount))
			c.res.fail(f)
		}
		r.arrive(0, true)
		if r.to == math.MaxInt && !r.live {
			p.compareEnd(r)
		}
		r.report()
	}
}

// compareEnd holds the state after a program to the original's.
func (p *partition) compareEnd(r *zoneRun) {
	a, b := r.c.checked.ip.State(), p.orig.ip.State()
	differs := func(what string) {
		r.c.res.fail(Failure{Kind: EndDiffers, X: math.NaN(), Y: math.NaN(), Amount: math.NaN(), Detail: what})
	}
	if a.Relative != b.Relative {
		differs("distance mode (G90, G91)")
	}
	if a.Inches != b.Inches {
		differs("units (G20, G21)")
	}
	if a.InverseTime != b.InverseTime {
		differs("feed mode (G93, G94)")
	}
	if d := math.Hypot(a.At.X-b.At.X, a.At.Y-b.At.Y); d > r.c.opt.lastDecimal(a.Inches)+placeSlackMM {
		differs(fmt.Sprintf("the head stands %s mm from where the original leaves it", number(d)))
	}
}

// report makes the figures of an empty range zero, and the notes.
func (r *zoneRun) report() {
	c := r.c
	res := c.res
	res.Blocks = c.checked.blocks
	if res.Burns == 0 {
		res.Lowest, res.Highest = Extreme{}, Extreme{}
		res.fail(Failure{Kind: NoBurn, X: math.NaN(), Y: math.NaN(), Amount: math.NaN()})
	}
	if math.IsInf(res.ZMinMM, 0) {
		res.ZMinMM, res.ZMaxMM = 0, 0
	}
	if c.unknownTravel > 0 {
		res.note("line %d: a travel from an unknown X and Y: whether it is clear was not checked on its way", c.unknownTravel)
	}
	if r.raises > 0 {
		res.note("travels between stops at which the lens is raised by hand: %d; whether they are clear was not checked", r.raises)
	}
	if res.HeldBurns > 0 {
		res.note("burns off the surface: %d; they were checked against the height of its edge", res.HeldBurns)
	}
}
