package zone

import (
	"math"

	"sagitta/internal/clearance"
	"sagitta/internal/machine"
	"sagitta/internal/program"
	"sagitta/internal/rewrite"
	"sagitta/internal/stream"
	"sagitta/internal/zone/sheet"
)

// out is one zone's program as it is written: the original's burns that are the
// zone's at the zone's correction, and the ways between them.
type out struct {
	p    *Plan
	opt  *Options
	z    *sheet.Zone
	lens *Lens
	pen  *rewrite.Pen
	file sheet.Spool
	// c is the correction of the zone's burns, and set what the focus at the
	// bench adds to it: their sum is the zone's focus.
	c, set float64
	// lift is how far preamble and postamble are lifted over c, hand how far the
	// operator is to lift them, and up how far the lens stands up as told.
	lift, hand, up float64
	// risen: the preamble has come to the height of its travels.
	risen bool
	// gone are the axes that the preamble has sent to places that only the machine
	// knows.
	gone machine.AxisSet
	// aloft: behind its last burn it is at a safe height, at the original's own Z.
	aloft bool
	// ends: the program has come to what stands behind the last burn.
	ends bool
	// begun: a burn of the zone has been met; firstZ is the programmed Z at the begin
	// of its first one, lastZ at the end of its last one.
	begun         bool
	firstZ, lastZ float64
	// opened: the lens stands up since the program's opening wait.
	opened bool
	// stop is where a program with stops has the head at the zone's own, and
	// raisedBefore how often the lens is raised in what comes before its part.
	stop         machine.Point
	raisedBefore int

	// pieces is the end of the list of its pieces, the begin of which is in a file;
	// listed is why it could not be written there.
	pieces []byte
	listed error

	fails *failures
	kinds []kindFrom // of its burns, where it is followed
}

// newOut returns zone i's program before anything is written.
func newOut(p *Plan, i int) *out {
	z := &p.Zones[i]
	o := &out{p: p, opt: p.opt, z: z, lens: &p.opt.Lenses[z.Lens]}
	if p.opt.SetZ {
		o.c = z.Focus
	} else {
		o.set = z.Focus
	}
	return o
}

// own lets the zone write with this pen.
func (o *out) own(pen *rewrite.Pen) {
	o.pen = pen
	pen.Breached = func(b rewrite.Breach) { o.fails.add(b.Line, breached[b.Kind], o.z.Order, b.Amount) }
}

// breached are the pen's breaches in words, of the zone and the amount.
var breached = [...]string{
	rewrite.OutOfRange:  "the range of Z is exceeded by %.3[2]f mm in zone %[1]d",
	rewrite.TooLong:     "a line of zone %d is written with %.0f characters, more than the controller takes (line_max)",
	rewrite.NoWay:       "Z has no place to move by %.3[2]f mm before a burn of zone %[1]d",
	rewrite.TooSteep:    "Z cannot keep up in zone %[1]d",
	rewrite.PowerUnsaid: "a burn of zone %[1]d is slowed, and no power was said that could go with its feed",
	rewrite.PowerLow:    "a burn of zone %[1]d is slowed so far that its power would fall below the least that the source gives",
	rewrite.NoBeamWord:  "zone %[1]d comes to this with the beam put off, as programs of zones end and wait, and the program has no word that puts it on again: have it say one (beam_on of the profile), and a power",
}

func (o *out) sigma() float64 { return o.opt.Sigma() }

// off is what the zone adds to the programmed Z of its burns.
func (o *out) off() float64 { return o.sigma() * o.c }

// need is the lowest Z written, counted away from the stock, at which a way is
// clear that asks for so much, between burns programmed at zref (the higher of both,
// counted so too).
func (o *out) need(way requirement, zref float64) float64 {
	need := way.axis + o.lens.over() + zref
	if o.lens.Standoff != nil {
		need = max(need, way.tip-*o.lens.Standoff+o.p.focusZ())
	}
	return need - o.set
}

// requirement is what a way asks for: axis is the highest of the surface under the beam,
// and tip how high the tip of the head must stand, -Inf where nothing is asked.
type requirement struct{ axis, tip float64 }

func nothing() requirement { return requirement{math.Inf(-1), math.Inf(-1)} }

func (a *requirement) take(b requirement) { a.axis, a.tip = max(a.axis, b.axis), max(a.tip, b.tip) }

// less is what is left to ask of the correction where Z is lifted by z.
func (a requirement) less(z float64) requirement { return requirement{a.axis - z, a.tip - z} }

// travel is what a rapid asks for; of one from an unknown place its end.
func (o *Options) travel(from machine.Point, known bool, x, y float64) requirement {
	return o.asks(&machine.Move{Kind: machine.Line, Rapid: true, Loose: !o.Machine.RapidsStraight, FromUnknown: !known,
		From: from, To: machine.Point{X: x, Y: y}, Length: math.Hypot(x-from.X, y-from.Y)})
}

// asks is what a move asks for, whatever Z is on it.
func (o *Options) asks(m *machine.Move) requirement {
	a := nothing()
	if m.Crosses() {
		x0, y0, x1, y1 := clearance.Extent(m)
		a.axis = o.Surface.HighestIn(x0, y0, x1, y1, 0, o.pieceTol())
	} else {
		a.axis = o.seen(stream.AppendHeights(nil, o.Surface, m, o.pieceTol(), 0)).Hi
	}
	if o.model != nil {
		a.tip = o.model.Highest(m)
	}
	return a
}

// along is what the move of an item asks for less what it lifts Z, counted away
// from the stock; nothing where its place is not known.
func (o *Options) along(it *stream.Item) requirement {
	if !it.Moves() || !it.Known() {
		return nothing()
	}
	if it.Move.Loose {
		return o.asks(&it.Move).less(clearance.Programmed(&it.Move, o.Sigma(), 0, 1))
	}
	return requirement{o.seen(it.Pieces()).Hi, o.model.HighestAlong(it, 0, 1)}.less(clearance.Programmed(&it.Move, o.Sigma(), 0, 1))
}

// way goes to a place at rapid rate, at a Z that is clear all the way, and comes
// down (or up) to the programmed Z z and correction c there. zref is the higher
// of the programmed Z of the burns on both sides, counted away from the stock. A
// lens that is to be raised by hand before stays up, any other is brought back.
func (o *out) way(like *program.Block, x, y, z, c, zref float64) {
	sigma := o.sigma()
	to := z + sigma*c
	at, known := o.at()
	if known && o.hand == 0 && math.Abs(x-at.X) < rounding && math.Abs(y-at.Y) < rounding {
		o.toZ(like, to)
		return
	}
	need := o.need(o.opt.travel(at, known, x, y), zref)
	top := max(sigma*at.Z, sigma*to)
	stays, raise := o.hand > 0, o.hand
	o.hand = 0
	if o.opt.byHand() {
		raise = max(raise, need-top)
	} else if top = max(top, o.p.clearZ); need > top+rounding {
		top = sigma * o.pen.ZStep(sigma*need)
	}
	o.handRaise(raise, like)
	if top > sigma*at.Z+rounding {
		o.toZ(like, sigma*top)
	}
	o.pen.MoveTo(like, x, y)
	o.toZ(like, to)
	if !stays {
		o.handLower(like)
	}
}

// toZ moves Z alone, where it may.
func (o *out) toZ(like *program.Block, z float64) {
	at, _ := o.pen.At()
	if o.opt.byHand() && math.Abs(z-at.Z) < rounding {
		return
	}
	o.pen.MoveZ(like, z)
}

// handRaise waits for the operator to raise the lens before a travel that is
// not clear otherwise, on a bench whose Z is moved by hand; not for nothing, nor
// where it stands up so far.
func (o *out) handRaise(by float64, like *program.Block) {
	if by <= o.up+rounding {
		return
	}
	o.z.Raise = max(o.z.Raise, by)
	by = math.Ceil(by*100-rounding) / 100 // to what is set by hand
	text := "raise the lens by %.2f mm or more, so that it clears the stock"
	if o.up > 0 {
		text = "raise the lens to %.2f mm or more over where it was, so that it clears the stock"
	}
	line := 0
	if o.opened {
		line = o.pen.Wait(like, "raise the focus to %.3f mm over the datum or more", o.settled()+by)
	} else {
		line = o.pen.Wait(like, text, by)
	}
	if n := len(o.z.Raised); o.up > 0 {
		o.z.Raised[n-1].To = line
	}
	o.up = by
	o.z.Raised = append(o.z.Raised, sheet.Raise{From: line, By: by})
}

// standsUp takes that the operator has been told, at a wait of a program with stops, to
// raise the lens before the focus is first set.
func (o *out) standsUp(line int, by float64) {
	if o.hand <= rounding {
		return
	}
	o.up, o.opened = by, true
	o.z.Raise = max(o.z.Raise, by)
	o.z.Raised = append(o.z.Raised, sheet.Raise{From: line, By: by})
}

// handLower waits for the lens to be lowered again, where it stands up. It must be
// clear there as it then stands. What was raised at the opening of a program with stops
// comes down as the focus is set.
func (o *out) handLower(like *program.Block) {
	if o.up > 0 {
		o.up = 0
		if o.opened {
			o.opened = false
			return
		}
		o.z.Raised[len(o.z.Raised)-1].To = o.pen.Wait(like, "bring the lens back to where it was")
	}
}

// checkHead notes a burn at which the head cannot stand at the zone's setting, on
// the way from fraction s0 to s1 of it.
func (o *out) checkHead(it *stream.Item, s0, s1 float64) {
	if o.opt.model == nil || o.lens.Standoff == nil {
		return
	}
	sigma, m := o.sigma(), &it.Move
	tip := *o.lens.Standoff + o.set + o.c + min(sigma*m.From.Z, sigma*m.To.Z) - o.p.focusZ()
	if out := o.opt.model.HighestAlong(it, s0, s1) - tip; out > rounding {
		o.fails.add(it.Block.Line, "the head cannot come here at the setting of zone %d: its tip would be too close to what stands about it by %.3f mm at X%.3f Y%.3f",
			o.z.Order, out, m.XY(s0)[0], m.XY(s0)[1])
	}
}
