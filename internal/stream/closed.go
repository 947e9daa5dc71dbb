package stream

import (
	"math"

	"sagitta/internal/machine"
)

// Closed counts burns that close on themselves. Whether they cut is not known; if
// they do, what they enclose comes free, and may stand up in the way of the head.
type Closed struct {
	// Count is how many there are, and Line the last line of the first.
	Count, Line int

	// Of the burn under way: whether there is one, where it began, the area that
	// it and the chord back to there enclose, and its length.
	open         bool
	from         machine.Point
	area, length float64
}

// closesMM is how near to its start the end of a burn closes it, in mm: what a cut
// is wide at least (common practice, no source).
const closesMM = 0.1

// leastArea in mm² is that of a piece that is in nobody's way; roundedMM is more than
// the rounding of a place is off.
const leastArea, roundedMM = 0.1, 0.002

// Take takes the next item.
func (c *Closed) Take(it *Item) {
	m := &it.Move
	switch {
	case it.IsRun():
		k, lines := 0, it.Lines()
		for from, to := range it.Ends() {
			c.line(from, to, lines[k].Burn, 0, math.Hypot(to.X-from.X, to.Y-from.Y), it.Block.Line+k)
			k++
		}
	case m.Kind == machine.Line || m.Kind == machine.Arc:
		segment := 0.0 // between an arc and its chord
		if m.Kind == machine.Arc {
			segment = m.R1 * m.R1 / 2 * (m.Sweep - math.Sin(m.Sweep))
		}
		c.line(m.From, m.To, m.Burn, segment, m.Length, it.Block.Line)
	}
}

// line takes a line, or an arc that encloses a segment besides.
func (c *Closed) line(from, to machine.Point, burn bool, segment, length float64, line int) {
	switch {
	case !burn:
		if length > 0 {
			c.open = false
		}
		return
	case !c.open:
		c.open, c.from, c.area, c.length = true, from, 0, 0
	}
	c.area += ((from.X-c.from.X)*(to.Y-c.from.Y)-(to.X-c.from.X)*(from.Y-c.from.Y))/2 + segment
	c.length += length
	// To and fro on one line encloses nothing but what rounding does.
	if math.Hypot(to.X-c.from.X, to.Y-c.from.Y) > closesMM || math.Abs(c.area) < max(leastArea, roundedMM*c.length) {
		return
	}
	if c.Count++; c.Count == 1 {
		c.Line = line
	}
	c.open = false
}
