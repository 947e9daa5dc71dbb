package stream

import (
	"math"

	"github.com/paulmach/orb"

	"sagitta/internal/machine"
)

// Closed finds burns that close on themselves. Whether they cut is not known; if
// they do, what they enclose comes free, and may stand up in the way of the head.
type Closed struct {
	// Count is how many there are, and Line the last line of the first.
	Count, Line int
	// Free, where not nil, takes the rectangle about each, before the first motion
	// that leads away from it is taken: from there on the piece counts.
	Free func(orb.Bound)

	// Of the burn under way: whether there is one, and whether it has come back to
	// where it began; where that is, the area that it and the chord back to there
	// enclose, its length, and the rectangle about it.
	open, back   bool
	from         machine.Point
	area, length float64
	around       orb.Bound

	// unbroken counts the unbroken burns, all is the rectangle about those before that
	// under way, and inches tells that the program counts in them there.
	unbroken int
	all      orb.Bound
	inches   bool
}

// Burned is the rectangle about all burns that were taken, in program XY, mm.
func (c *Closed) Burned() orb.Bound {
	if c.unbroken > 1 {
		return c.all.Union(c.around)
	}
	return c.around
}

// Inches reports whether the program counts in inches where it burns.
func (c *Closed) Inches() bool { return c.inches }

// closesMM is how near to its start the end of a burn closes it, in mm: what a cut
// is wide at least (common practice, no source).
const closesMM = 0.1

// leastArea in mm² is that of a piece that is in nobody's way; roundedMM is more than
// the rounding of a place is off.
const leastArea, roundedMM = 0.1, 0.002

// Take takes the next item.
func (c *Closed) Take(it *Item) {
	m := &it.Move
	if m.Burn || it.IsRun() {
		c.inches = it.During.Inches
	}
	switch {
	case it.IsRun():
		k, lines := 0, it.Lines()
		for from, to := range it.Ends() {
			c.line(from, to, lines[k].Burn, 0, math.Hypot(to.X-from.X, to.Y-from.Y), it.Block.Line+k)
			k++
		}
	case m.Kind == machine.Line:
		c.line(m.From, m.To, m.Burn, 0, m.Length, it.Block.Line)
	case m.Kind == machine.Arc:
		segment := m.R1 * m.R1 / 2 * (m.Sweep - math.Sin(m.Sweep)) // between it and its chord
		c.line(m.From, m.To, m.Burn, segment, m.Length, it.Block.Line)
		if c.open {
			for s := range m.Furthest() {
				c.around = c.around.Extend(m.XY(s))
			}
		}
	}
}

// End tells that there are no more items.
func (c *Closed) End() {
	if c.back && c.Free != nil {
		c.Free(c.around)
	}
	c.open, c.back = false, false
}

// away is how far a place is from where the burn began.
func (c *Closed) away(p machine.Point) float64 { return math.Hypot(p.X-c.from.X, p.Y-c.from.Y) }

// line takes a line, or an arc that encloses a segment besides.
func (c *Closed) line(from, to machine.Point, burn bool, segment, length float64, line int) {
	if c.back && !(burn && c.away(to) <= closesMM) {
		c.End()
	}
	switch {
	case !burn:
		if length > 0 {
			c.open = false
		}
		return
	case !c.open:
		c.all = c.Burned()
		c.unbroken++
		at := orb.Point{from.X, from.Y}
		c.open, c.from, c.area, c.length, c.around = true, from, 0, 0, orb.Bound{Min: at, Max: at}
	}
	c.area += ((from.X-c.from.X)*(to.Y-c.from.Y)-(to.X-c.from.X)*(from.Y-c.from.Y))/2 + segment
	c.length += length
	c.around = c.around.Extend(orb.Point{to.X, to.Y})
	// To and fro on one line encloses nothing but what rounding does.
	if c.back || c.away(to) > closesMM || math.Abs(c.area) < max(leastArea, roundedMM*c.length) {
		return
	}
	if c.Count++; c.Count == 1 {
		c.Line = line
	}
	c.back = true
}
