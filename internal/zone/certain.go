package zone

import (
	"math"

	"sagitta/internal/cover"
	"sagitta/internal/machine"
	"sagitta/internal/stream"
)

// certain are heights that the burns of a figure see for certain. What is asked of
// settings takes in what is not: a job may need fewer settings than that asks for,
// but no fewer than these heights do.
type certain struct {
	// chain are heights that burns see which join, all of them, as heights do not
	// jump; to is where the last burn ends, and open tells that it may go on.
	chain cover.Span
	to    machine.Point
	open  bool
	// longest is the chain over most heights, ends the least and the greatest height
	// of all, whatever lies between.
	longest, ends cover.Span
	any           bool
}

// apart is by how much further apart than a setting serves two heights must be to
// show that they need two: they are certain to pieceTol, and are read to 0.001 mm.
func (o *Options) apart() float64 { return 2*o.pieceTol() + 0.002 }

// take takes the next burn, or a run of them.
func (c *certain) take(it *stream.Item) {
	if it.IsRun() && it.Burns < it.Count() { // travels among them
		if c.open = false; it.Burns > 0 {
			c.end(cover.Span{Lo: it.Low.H, Hi: it.High.H})
		}
		return
	}
	h := cover.Span{Lo: math.Inf(1), Hi: math.Inf(-1)}
	for _, pc := range it.Pieces() {
		h.Lo = min(h.Lo, min(pc.H0, pc.H1)+pc.Up-float64(pc.Less))
		h.Hi = max(h.Hi, max(pc.H0, pc.H1)-pc.Down+float64(pc.Less))
	}
	if h.Hi = max(h.Lo, h.Hi); math.IsInf(h.Lo, 0) {
		c.open = false
		return
	}
	if c.open && c.to == it.Move.From {
		h = cover.Span{Lo: min(h.Lo, c.chain.Lo), Hi: max(h.Hi, c.chain.Hi)}
	}
	c.chain, c.to, c.open = h, it.Move.To, true
	c.end(c.chain)
	if c.chain.Hi-c.chain.Lo >= c.longest.Hi-c.longest.Lo {
		c.longest = c.chain
	}
}

// end takes heights into the ends of all.
func (c *certain) end(h cover.Span) {
	if !c.any {
		c.any, c.ends = true, h
		c.longest = cover.Span{Lo: h.Lo, Hi: h.Lo}
		return
	}
	c.ends = cover.Span{Lo: min(c.ends.Lo, h.Lo), Hi: max(c.ends.Hi, h.Hi)}
}

// give gives what was taken, and begins anew.
func (c *certain) give(to *cover.Heights) {
	if c.any {
		to.Add(cover.Span{Lo: c.ends.Lo, Hi: c.ends.Lo})
		to.Add(c.longest)
		to.Add(cover.Span{Lo: c.ends.Hi, Hi: c.ends.Hi})
	}
	*c = certain{}
}
