package rewrite

import (
	"math"

	"sagitta/internal/stream"
)

// inTime gives the correction nearest to c to which the rate of Z lets a burn
// come from fraction s0 of its move to s1, which is the part ds as written. Where
// Z is written in steps coarser than its decimals, a short move may have no time
// for one: Z then waits, as far as it may lag, for a move that has.
func (p *Pen) inTime(it *stream.Item, c, s0, s1, ds float64) float64 {
	o, m, st := p.opt, &it.Move, &it.During
	if o.ZRate <= 0 || !p.coarse[of(st)] || o.ZMoves != Always || !m.Burn || m.Length == 0 || m.FromUnknown || m.ZUnknown {
		return c
	}
	p.lag = 0
	step := o.ZResolution
	start, end := m.From.Z+(m.To.Z-m.From.Z)*s0+p.off, m.From.Z+(m.To.Z-m.From.Z)*s1
	rise := end + math.Round(o.Sigma()*c/step)*step - start
	// Half a decimal is what spelling may add.
	most := o.ZRate*m.Seconds*ds + o.Decimal(st.Inches)/2
	if math.Abs(rise) <= most {
		return c
	}
	off := p.off // there is no time at all
	if rise > 0 {
		off = max(off, math.Floor((start+most-end)/step+rounding)*step)
	} else {
		off = min(off, math.Ceil((start-most-end)/step-rounding)*step)
	}
	late := o.Sigma() * off
	lag := max(0, math.Abs(late-c)-step/2)
	if lag > p.mayLag {
		return c // it takes longer, or cannot be
	}
	p.lag, p.lagged = lag, max(p.lagged, lag)
	return late
}

// Lagged returns by how much more than half a step Z was late on the last item, in
// mm.
func (p *Pen) Lagged() float64 { return p.lagged }

// GoOn returns the correction from which the next plan goes on where the last one
// has come to c: another where Z is late.
func (p *Pen) GoOn(c float64) float64 {
	if p.lag > 0 {
		p.lag, c = 0, p.c
	}
	return c
}
