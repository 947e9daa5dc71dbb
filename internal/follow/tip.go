package follow

import (
	"math"
	"slices"

	"sagitta/internal/clearance"
	"sagitta/internal/machine"
	"sagitta/internal/surface"
)

// The tip stands at c + Standoff over the datum while Z is programmed as at
// the first burn, and as much higher as the program lifts it over that: c
// counts from best focus on the plane of the datum, whatever the wanted
// defocus. So c is bounded below by the highest within the radius + Gap -
// Standoff, less that lift; no depth widens the bound.

// tip keeps the moves of the plan to the model of the head, nil where that is not
// known.
type tip struct {
	*clearance.Model
	sigma, lead float64 // see Options
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
	return tip{Model: o.model, sigma: o.Sigma(), lead: o.lead(), most: math.Inf(-1), top: math.Inf(-1), allows: math.Inf(1)}
}

// cut looks whether the head is in question on the move, and cuts the pieces
// where its bound changes.
func (tb *tubeBuilder) cut(m *machine.Move) {
	t := &tb.tip
	t.ceil = t.ceil[:0]
	if t.Model == nil || !t.known {
		return
	}
	counted := 0.0 // what of the lift the depth alone leaves to c
	if !m.Burn {
		from, to := tb.counted(m)
		counted = max(from, to)
	}
	x0, y0, x1, y1 := clearance.Extent(m)
	if t.Clears(x0, y0, x1, y1, t.lead, clearance.Programmed(m, t.sigma, 0, 1)-t.focus-counted) {
		return // the depth alone keeps the tip clear
	}
	low := math.Inf(1)
	for k := range tb.pieces {
		low = min(low, min(tb.pieces[k].H0, tb.pieces[k].H1)-tb.pieces[k].Down)
	}
	t.ceil = t.Append(t.ceil, m, 0)
	n := 0
	for _, c := range t.ceil {
		c.High += t.focus - clearance.Programmed(m, t.sigma, c.S0, c.S1) // a bound of c from here on
		if c.High <= low+t.lead-counted {
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
			tb.pieces = slices.Insert(tb.pieces, k, pc)
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

// headAsk is what makes a gate's Min what it is: the head, at a fraction of the move
// of a line.
type headAsk struct {
	gate, line int
	at         float64
}

// keepUp takes a bound of c that is the head's into gate k.
func (tb *tubeBuilder) keepUp(k int, c float64, line int, at float64) {
	if c > tb.gates[k].Min {
		tb.gates[k].Min = c
		tb.asks = append(tb.asks, headAsk{k, line, at})
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
			asks = append(asks, headAsk{a.gate - n, a.line, a.at})
		}
	}
	tb.asks = asks
}

// askOf is what the head asks of gate k, nil for nothing.
func (tb *tubeBuilder) askOf(k int) *headAsk {
	for i := len(tb.asks) - 1; i >= 0; i-- {
		if tb.asks[i].gate == k {
			return &tb.asks[i]
		}
	}
	return nil
}

// failLimit notes that the limits leave nothing at gate k, by what the head asks
// for, or else by the range of Z.
func (p *horizon) failLimit(k int, amount float64) {
	a := p.tube.askOf(k)
	if a == nil {
		p.fail(k, OutOfRange, amount)
		return
	}
	for _, h := range p.blocks {
		if h.Block.Line == a.line {
			p.fails.at(a.line, h.Move.XY(a.at), HeadClose, amount)
			return
		}
	}
	p.fail(k, HeadClose, amount) // it is written already
}
