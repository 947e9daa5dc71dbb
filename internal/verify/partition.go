package verify

import (
	"fmt"
	"io"
	"math"
	"slices"

	"sagitta/internal/focus"
	"sagitta/internal/machine"
	"sagitta/internal/verify/extremes"
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
	r.c = &check{opt: opt, f: extremes.New(opt.Surface), res: &Result{}, sigma: p.sigma,
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

// next goes on to the zone's next burn.
// raised tells whether the lens is raised by hand at a line.
// travel takes the clearance of the travel under way.
// arrive holds the travels since the last burn to the zone's depth, as a burn
// programmed at z, counted away from the stock, comes next; with ends set
// none does.
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
		case o.lit():
			for _, r := range p.zones {
				r.meet(&o)
			}
			continue
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
// is covered, or from up to overlap mm before. Where several do, as short burns
// over longer ones may, it is one of the power of o that goes on to its end, or
// furthest.
func (p *partition) find(o *step, covered, overlap float64) (int, lies) {
	best, fit, score := -1, lies{}, -1.0
	for n := -1; n < len(p.zones); n++ {
		k := n
		if n < 0 {
			k = p.hint
		} else if n == p.hint {
			continue
		}
		r := p.zones[k]
		if !r.live {
			continue
		}
		l, ok := r.lies(o, covered, overlap)
		if !ok {
			continue
		}
		// Fractions are at most a little over 1.
		s := min(l.to, 1)
		if l.ends {
			s++
		}
		if m := &r.c.s.m; m.Power == o.m.Power && m.PowerFollows == o.m.PowerFollows {
			s += 3
			if l.ends {
				return k, l
			}
		}
		if s > score {
			best, fit, score = k, l, s
		}
	}
	return best, fit
}

// lies tells how the zone's next burn lies on o, and whether it goes on there.
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
		r.unmet()
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
	compareModes(&a, &b, differs)
	comparePlaces(&a, &b, r.c.opt.lastDecimal(a.Inches)+placeSlackMM, differs)
	// A program that was changed ends with the beam off.
	if a.Beam == machine.On && (b.Beam != machine.On || len(p.zones) > 1) {
		r.c.res.fail(r.c.litFailure(nil))
	}
}

// report makes the figures of an empty range zero, and the notes.
