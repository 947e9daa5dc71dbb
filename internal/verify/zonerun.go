package verify

import (
	"io"
	"math"
	"sagitta/internal/verify/extremes"
	"slices"
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
	// lit are the steps since its last burn in which the beam is on while
	// nothing is burned, of which the first met have been found in the
	// original.
	lit []step
	met int
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

func (r *zoneRun) forget() { r.gap = clearance{least: math.Inf(1), open: math.Inf(1)} }

func (r *zoneRun) next() error {
	r.live = false
	for {
		if err := r.c.checked.next(&r.c.s); err != nil {
			return err
		}
		s := &r.c.s
		if s.lit() && s.line > r.from && s.line <= r.to {
			r.lit = append(r.lit, *s)
		}
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

func (r *zoneRun) raised(line int) bool {
	for len(r.lifted) > 0 && r.lifted[0][1] > 0 && r.lifted[0][1] < line {
		r.lifted = r.lifted[1:]
	}
	return len(r.lifted) > 0 && r.lifted[0][0] < line
}

func (r *zoneRun) travel() {
	c := r.c
	m, sp := &c.s.m, &c.sp
	unknown := m.FromUnknown || m.ZUnknown
	if unknown || !c.s.known {
		if c.unknownTravel == 0 {
			c.unknownTravel = c.s.line
		}
		if !c.s.known {
			return
		}
	}
	c0, c1 := c.sigma*m.From.Z, c.sigma*m.To.Z
	standing, gap := unknown || m.Length == 0, &r.gap
	if standing {
		if c.s.dz() == 0 && !unknown {
			return
		}
		c0 = c1 // it ends at its lowest, or comes from where it was not clear
		if d := c.opt.DefocusMM; d > 0 && slices.ContainsFunc(r.points, func(at [2]float64) bool {
			return math.Hypot(at[0]-m.To.X, at[1]-m.To.Y) <= c.tolerance()
		}) {
			c0, c1 = c0+d, c1+d
		}
	}
	if min(c0, c1)-c.f.High >= gap.least {
		return
	}
	sp.C0, sp.C1, sp.Watch = c0, c1, false
	sp.Focus.Begin(gap.least, math.Inf(1))
	sp.Height.Begin(math.Inf(-1), math.Inf(1))
	c.f.Along(sp, m, standing)
	if sp.Focus.Lo < gap.least {
		at := m.XY(sp.Focus.AtLo)
		if standing {
			at = m.XY(1)
		}
		gap.least, gap.line, gap.x, gap.y = sp.Focus.Lo, c.s.line, at[0], at[1]
	}
	gap.open = min(gap.open, sp.Focus.OpenLo)
}

// meet finds o, a step of the original in which the beam is on while nothing is
// burned, in the zone's: whole, or in parts.
func (r *zoneRun) meet(o *step) {
	for covered := 0.0; r.met < len(r.lit); r.met++ {
		s := &r.lit[r.met]
		if s.kind != o.kind || s.word != o.word || s.m.Power != o.m.Power || s.m.PowerFollows != o.m.PowerFollows {
			return
		}
		if s.kind == word {
			r.met++
			return
		}
		p := pieceOf(&s.m, &o.m, covered)
		if s.standing() != o.standing() || p.off > r.c.tolerance() {
			return
		}
		covered = p.to
	}
}

// unmet reports what of lit the original has not.
func (r *zoneRun) unmet() {
	now := r.c.s
	for i := r.met; i < len(r.lit); i++ {
		r.c.s = r.lit[i]
		r.c.res.fail(r.c.litFailure(nil))
	}
	r.c.s = now
	r.lit, r.met = r.lit[:0], 0
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
	case g.least < least-extremes.FoundMM:
		f.Amount = least - g.least
	case g.open < least-extremes.CertainMM:
		f.Amount, f.Unproven = least-g.open, true
	default:
		return
	}
	r.c.res.fail(f)
}

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

func (r *zoneRun) compare(o *step, l lies) {
	c := r.c
	zo := func(s float64) float64 { return o.m.From.Z + (o.m.To.Z-o.m.From.Z)*s }
	z0, z1 := zo(l.from), zo(l.to)
	if l.ends {
		z1 = o.m.To.Z
	}
	r.unmet()
	r.arrive(min(c.sigma*z0, c.sigma*z1), false)
	if c.s.m.Rapid != o.m.Rapid {
		c.res.fail(c.failure(Mode, o, 0, math.NaN()))
	}
	c.compareBeam(o)
	c.compareSpeed(o)
	c.judge(r.set+c.sigma*(c.s.m.From.Z-z0), r.set+c.sigma*(c.s.m.To.Z-z1), true, o)
	r.begun, r.lastZ = true, c.sigma*o.m.To.Z
}

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
		res.note("line %d: a travel from or to an unknown place: whether it is clear was not checked on its way", c.unknownTravel)
	}
	if r.raises > 0 {
		res.note("travels between stops at which the lens is raised by hand: %d; whether they are clear was not checked", r.raises)
	}
	if res.HeldBurns > 0 {
		res.note("burns off the surface: %d; they were checked against the height of its edge", res.HeldBurns)
	}
}
