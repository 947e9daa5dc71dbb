package set

import (
	"math"
	"sort"

	"sagitta/internal/machine"
	"sagitta/internal/verify"
	"sagitta/internal/verify/set/touch"
)

// cursor stands at a burn of the original.
type cursor struct {
	of     *original
	stream *verify.Stream
	// there tells that there is a burn, o, which begins at from.
	there bool
	o     verify.Step
	from  place
	// between are the steps before it since the burn before which a program may
	// owe, and air is the air meanwhile.
	between []verify.Step
	air     air
	// broken tells that the burn before does not go over into it, but for white in line.
	broken bool
	// steps counts all that were read.
	steps int
}

func newCursor(of *original) *cursor {
	c := &cursor{of: of, stream: verify.NewStream(nil, of.name, of.cfg, false)}
	c.seek(0)
	return c
}

// seek goes to where a section begins, before its first burn.
func (c *cursor) seek(section int) {
	s := &c.of.sections[section]
	c.stream.Resume(c.of.src, &s.mark)
	c.there, c.o, c.from = false, verify.Step{}, s.from
}

// next goes on to the next burn.
func (c *cursor) next() error {
	last := c.o.M
	if c.there {
		c.from = c.from.behind(&c.o)
	}
	c.broken = !c.there
	c.there, c.between, c.air = false, c.between[:0], 0
	for {
		if err := c.stream.Next(&c.o); err != nil {
			return err
		}
		c.steps++
		c.air |= airOf(&c.o)
		switch o := &c.o; {
		case o.Kind == verify.AtEnd:
			return nil
		case o.Lit() || o.Kind == verify.Word:
			c.broken = c.broken || o.Kind == verify.Motion
			if len(c.between) < mostOwed {
				c.between = append(c.between, *o)
			}
		case o.M.Burn:
			c.there = true
			return nil
		case o.Kind == verify.Motion && !c.broken:
			c.broken = !white(&last, &o.M)
		}
	}
}

// burn goes to the burn of a number.
func (c *cursor) burn(n int32) error {
	if !c.there || n < c.from.burn || n > c.from.burn+firstSection {
		c.seek(c.of.section(n))
	}
	for !c.there || c.from.burn < n {
		if err := c.next(); err != nil || !c.there {
			return err
		}
	}
	return nil
}

// sectionOf is the last section before the first of which beyond reports true.
func (g *original) sectionOf(beyond func(*section) bool) int {
	return max(0, sort.Search(len(g.sections), func(i int) bool { return beyond(&g.sections[i]) })-1)
}

// white reports whether a dark move goes on in line with a burn, as the white in a row of
// a raster does.
func white(burn, m *machine.Move) bool {
	dx, dy := burn.To.X-burn.From.X, burn.To.Y-burn.From.Y
	x, y := m.To.X-burn.To.X, m.To.Y-burn.To.Y
	return !m.Rapid && burn.Kind == machine.Line && m.Kind == machine.Line && m.From.Z == m.To.Z &&
		math.Abs(dx*y-dy*x) <= touch.Near*burn.Length && dx*x+dy*y >= 0
}
