package follow

import (
	"math"

	"sagitta/internal/machine"
	"sagitta/internal/surface"
)

// Head is the tip of the head, which must stay clear of the stock around the
// beam. Lengths are in mm.
type Head struct {
	// Radius is that of the tip, Standoff how high it stands over the stock
	// at best focus, and Gap the least that must stay free beneath it.
	Radius, Standoff, Gap float64
	// Boxes stand on the bench higher than the stock.
	Boxes []surface.Box
}

// The tip stands at c + Standoff over the datum while Z is programmed as at
// the first burn, and as much higher as the program lifts it over that: c
// counts from best focus on the plane of the datum, whatever the wanted
// defocus. So c is bounded below by the highest within the radius + Gap -
// Standoff, less that lift; no depth widens the bound.

// tipTolerance is how much higher than need be the bound may be on a slope,
// as a part of the depth: small against what the window leaves.
const tipTolerance = 0.01

// radiusKnown in mm is how well anybody knows the radius of a head: on a slope
// so steep that this makes more than the tolerance, finer bounds are work for
// nothing.
const radiusKnown = 0.05

// headroom is what must stay free under the head. It does not change.
type headroom struct {
	surface    *surface.Placed
	peaks      *surface.Peaks
	boxes      []surface.Box
	around     surface.Box // all boxes; its height is the highest of them
	radius     float64
	rise, tol  float64 // c must be this much over the highest
	sigma      float64
	free       float64 // c's lower bound from the depth, over a height
	everywhere float64 // the lift from which on all is clear everywhere
}

// newHeadroom gives nil where the head is not known.
func newHeadroom(o *Options) *headroom {
	h := o.Head
	if h == nil {
		return nil
	}
	decimal := max(o.Decimal(false), o.Decimal(true))
	r := &headroom{
		surface: o.Surface, peaks: o.Surface.Peaks(), boxes: h.Boxes, sigma: o.sigma(),
		// A cut may be off the path by rounding, and Z by half a step.
		radius: h.Radius + math.Sqrt2*decimal,
		rise:   h.Gap - h.Standoff,
		tol:    max(tipTolerance*(o.Depth.Near+o.Depth.Far)/2, radiusKnown*o.Surface.MaxSlope()),
		free:   o.Defocus - o.Depth.Near,
	}
	if o.ZMoves != ByHand {
		r.rise += max(decimal, o.ZResolution) / 2
	}
	r.around = surface.Box{X0: math.Inf(1), Y0: math.Inf(1), X1: math.Inf(-1), Y1: math.Inf(-1), Height: math.Inf(-1)}
	for _, b := range h.Boxes {
		a := &r.around
		a.X0, a.Y0, a.X1, a.Y1 = min(a.X0, b.X0), min(a.Y0, b.Y0), max(a.X1, b.X1), max(a.Y1, b.Y1)
		a.Height = max(a.Height, b.Height)
	}
	low, high, _, _ := o.Surface.Range()
	r.everywhere = max(high, r.around.Height) + r.rise - low - r.free
	return r
}

// clears tells that the depth's own bound keeps the tip clear wherever the
// beam is in a rectangle, with a lift.
func (r *headroom) clears(x0, y0, x1, y1, lift float64) bool {
	if lift >= r.everywhere {
		return true
	}
	low, _ := r.peaks.Bounds(x0, y0, x1, y1, 0)
	return r.highest(x0, y0, x1, y1)+r.rise-lift <= low+r.free
}

// highest bounds what stands within the radius of a rectangle.
func (r *headroom) highest(x0, y0, x1, y1 float64) float64 {
	_, high := r.peaks.Bounds(x0, y0, x1, y1, r.radius)
	if r.around.Height > high && r.around.Within(x0, y0, x1, y1, r.radius) {
		for k := range r.boxes {
			if b := &r.boxes[k]; b.Height > high && b.Within(x0, y0, x1, y1, r.radius) {
				high = b.Height
			}
		}
	}
	return high
}

// extent is a rectangle that a move stays in.
func extent(m *machine.Move) (x0, y0, x1, y1 float64) {
	x0, x1 = min(m.From.X, m.To.X), max(m.From.X, m.To.X)
	y0, y1 = min(m.From.Y, m.To.Y), max(m.From.Y, m.To.Y)
	if m.Kind == machine.Arc {
		// No point of it is further than half its length from the nearer end,
		// nor further than its radius from the centre.
		h, r := m.Length/2+samePlace, max(math.Abs(m.R0), math.Abs(m.R1))+samePlace
		x0, x1 = max(x0-h, m.CX-r), min(x1+h, m.CX+r)
		y0, y1 = max(y0-h, m.CY-r), min(y1+h, m.CY+r)
	}
	return x0, y0, x1, y1
}

// samePlace in mm is more than rounding makes of a place.
const samePlace = 1e-6

// ceilings appends the highest within the radius along the move from fraction
// from on to dst, or at its end, where it has no length.
func (r *headroom) ceilings(dst []surface.Ceiling, m *machine.Move, from float64) []surface.Ceiling {
	switch {
	case m.Length == 0 || m.FromUnknown:
		return r.surface.AppendLineCeiling(dst, r.boxes, m.To.X, m.To.Y, m.To.X, m.To.Y, r.radius, r.tol)
	case m.Kind == machine.Arc:
		return r.surface.AppendArcCeiling(dst, r.boxes, m.CX, m.CY, m.R0+from*(m.R1-m.R0), m.R1,
			m.A0+from*m.Sweep, (1-from)*m.Sweep, r.radius, r.tol)
	}
	at := m.XY(from)
	return r.surface.AppendLineCeiling(dst, r.boxes, at[0], at[1], m.To.X, m.To.Y, r.radius, r.tol)
}

// away is how far from the stock Z is programmed between two fractions of the
// move, at its nearest. A move of Z alone counts where it ends: before, it is
// where the one before it has ended, or on its way up from there.
func (r *headroom) away(m *machine.Move, s0, s1 float64) float64 {
	if m.Length == 0 || m.FromUnknown || m.ZUnknown {
		return r.sigma * m.To.Z
	}
	dz := m.To.Z - m.From.Z
	return min(r.sigma*(m.From.Z+s0*dz), r.sigma*(m.From.Z+s1*dz))
}

// tip holds the moves of the plan to the headroom.
type tip struct {
	*headroom
	// focus is the programmed Z, away from the stock, at which the focus is
	// set: that of the first burn. It is known once that is met.
	focus float64
	known bool
	ceil  []surface.Ceiling
	// Before it is known: the most that a travel has asked of c + focus, and
	// where; the last travel over XY; the highest Z programmed; and what the
	// travels that are written leave focus at most.
	most        float64
	mostAt      Failure
	lastTravel  machine.Move
	top, allows float64
}

func newTip(o *Options) tip {
	return tip{headroom: o.room, most: math.Inf(-1), top: math.Inf(-1), allows: math.Inf(1)}
}

// cut looks whether the head is in question on the move, and cuts the pieces
// where its bound changes.
func (tb *tubeBuilder) cut(m *machine.Move) {
	t := &tb.tip
	t.ceil = t.ceil[:0]
	if t.headroom == nil || !t.known || !tb.inQuestion(m) {
		return
	}
	low := math.Inf(1)
	if m.Length == 0 || m.FromUnknown {
		low, _ = t.surface.At(m.To.X, m.To.Y)
	} else {
		for k := range tb.pieces {
			low = min(low, min(tb.pieces[k].H0, tb.pieces[k].H1)-tb.pieces[k].Down)
		}
	}
	t.ceil = t.ceilings(t.ceil, m, 0)
	n := 0
	for _, c := range t.ceil {
		c.High += t.rise - t.away(m, c.S0, c.S1) + t.focus // a bound of c from here on
		if c.High <= low+t.free {
			c.High = math.Inf(-1)
		}
		if n > 0 && t.ceil[n-1].High == c.High {
			t.ceil[n-1].S1 = c.S1
			continue
		}
		t.ceil[n] = c
		n++
	}
	t.ceil = t.ceil[:n]
	for k := 0; k < n-1; k++ {
		tb.cutPiece(t.ceil[k].S1)
	}
}

// inQuestion tells that the depth alone may not keep the tip clear.
func (tb *tubeBuilder) inQuestion(m *machine.Move) bool {
	t := &tb.tip
	if t.headroom == nil || !t.known {
		return false
	}
	lift := t.away(m, 0, 1) - t.focus
	if lift >= t.everywhere {
		return false
	}
	if m.Length == 0 || m.FromUnknown {
		return !t.clears(m.To.X, m.To.Y, m.To.X, m.To.Y, lift)
	}
	x0, y0, x1, y1 := extent(m)
	return !t.clears(x0, y0, x1, y1, lift)
}

// cutPiece cuts the piece that the fraction s lies within. What bounds its
// excess over its chord bounds that of its parts.
func (tb *tubeBuilder) cutPiece(s float64) {
	for k := len(tb.pieces) - 1; k >= 0; k-- {
		pc := tb.pieces[k]
		if s <= pc.S0 {
			continue
		}
		if s < pc.S1 {
			h := pc.H0 + (pc.H1-pc.H0)*((s-pc.S0)/(pc.S1-pc.S0))
			tb.pieces = append(tb.pieces, surface.Piece{})
			copy(tb.pieces[k+1:], tb.pieces[k:])
			tb.pieces[k].S1, tb.pieces[k].H1 = s, h
			tb.pieces[k+1].S0, tb.pieces[k+1].H0 = s, h
		}
		return
	}
}

// raise takes the bounds that cut has found into the gates of the move, from
// its first on: into both gates of each stretch.
func (tb *tubeBuilder) raise(first int) {
	ceil, last := tb.tip.ceil, len(tb.gates)-1
	if first == last { // one c serves all of it
		for k := range ceil {
			tb.raiseGate(last, &ceil[k])
		}
		return
	}
	c, from := 0, 0.0
	for k := first; k < last; k++ {
		to := tb.gates[k+1].S
		for ; c < len(ceil) && ceil[c].S0 < to; c++ {
			if ceil[c].S1 > from {
				tb.raiseGate(k, &ceil[c])
				tb.raiseGate(k+1, &ceil[c])
			}
			if ceil[c].S1 > to {
				break // it goes on behind the gate
			}
		}
		from = to
	}
}

// ask is what makes a gate's Min what it is: the head, at a fraction of the move
// of a line.
type ask struct {
	gate, line int
	at         float64
}

// keepUp takes a bound of c that is the head's into gate k.
func (tb *tubeBuilder) keepUp(k int, c float64, line int, at float64) {
	if c > tb.gates[k].Min {
		tb.gates[k].Min = c
		tb.asks = append(tb.asks, ask{k, line, at})
	}
}

// raiseGate takes what a piece of the move asks into gate k.
func (tb *tubeBuilder) raiseGate(k int, p *surface.Ceiling) {
	tb.keepUp(k, p.High, tb.line, (p.S0+p.S1)/2)
}

// dropAsks drops those of the gates before gate n, which becomes the first.
func (tb *tubeBuilder) dropAsks(n int) {
	asks := tb.asks[:0]
	for _, a := range tb.asks {
		if a.gate >= n {
			asks = append(asks, ask{a.gate - n, a.line, a.at})
		}
	}
	tb.asks = asks
}

// askOf is what the head asks of gate k, nil for nothing.
func (tb *tubeBuilder) askOf(k int) *ask {
	for i := len(tb.asks) - 1; i >= 0; i-- {
		if tb.asks[i].gate == k {
			return &tb.asks[i]
		}
	}
	return nil
}

// failHead notes that the head cannot do what it asks of gate k.
func (p *window) failHead(k int, a *ask, amount float64) {
	for _, h := range p.blocks {
		if h.block.Line == a.line {
			at := h.mv.XY(a.at)
			p.fails.add(Failure{Line: h.block.Line, X: at[0], Y: at[1], Kind: HeadClose, Amount: amount})
			return
		}
	}
	p.fail(k, HeadClose, amount) // it is written already
}
