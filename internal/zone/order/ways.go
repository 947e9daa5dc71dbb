package order

import "math"

// cost is what a way of burning a visit's pieces takes.
type cost struct {
	lifts  int
	length float64 // travelled, in mm
}

func (c cost) less(d cost) bool {
	return c.lifts < d.lifts || c.lifts == d.lifts && c.length < d.length
}

// lifted reports whether the head is lifted from a place to another, and how far
// it travels.
func (t *trip) lifted(from, to point, sides [2]int) (bool, float64) {
	length := to.sub(from).length() / perMM
	switch {
	case length == 0 || sides[0] >= 0 && sides[0] == sides[1]:
		return false, length
	case t.j.opt.Clear == nil:
		return true, length
	}
	t.asked++
	return !t.j.opt.Clear(t.zone, from.mm(), to.mm()), length
}

// cost is that of burning the units one behind the other.
func (t *trip) cost(way []int32) (c cost) {
	last := int32(-1)
	for _, k := range way {
		for _, p := range t.units[k].pieces {
			if p != t.units[k].joined {
				c.add(t.step(last, p))
			}
			last = p
		}
	}
	return c
}

// plain is the cost of the original's order; where something is joined, or that
// order may not be had, it does not count.
func (t *trip) plain() (c cost) {
	for _, e := range t.edges {
		if gate := int(max(e.from, e.to)) >= len(t.pieces); e.from > e.to && !gate || gate && t.j.opt.MarksFirst {
			return cost{lifts: math.MaxInt}
		}
	}
	for i := range t.units {
		if t.units[i].joined >= 0 {
			return cost{lifts: math.MaxInt}
		}
	}
	for i := range t.pieces {
		c.add(t.step(int32(i)-1, int32(i)))
	}
	return c
}

func (c *cost) add(d cost) {
	c.lifts += d.lifts
	c.length += d.length
}

// step is what it takes to come from the end of a piece to the beginning of
// another; -1 is where the head comes from.
func (t *trip) step(a, b int32) cost {
	to, _ := t.j.ends(int(t.pieces[b]))
	if a < 0 {
		if at, ok := t.start(); ok {
			return cost{length: to.sub(at).length() / perMM}
		}
		return cost{}
	}
	_, from := t.j.ends(int(t.pieces[a]))
	up, length := t.lifted(from, to, [2]int{t.sides[a][1], t.sides[b][0]})
	if up {
		return cost{1, length}
	}
	return cost{0, length}
}

// start is where the head comes from, if that is known.
func (t *trip) start() (point, bool) {
	if t.j.opt.From == nil {
		return point{}, false
	}
	mm, ok := t.j.opt.From(t.zone)
	if !ok {
		return point{}, false
	}
	return at(mm[0], mm[1])
}

// fewUnits is of how many units at most several ways are made better, and not the
// best alone.
const fewUnits = 40

// way finds in which order the units are burned.
func (t *trip) way() []int32 {
	best := t.inOrder(true)
	if len(t.units) < 2 {
		return best
	}
	least := t.cost(best)
	try := func(way []int32) {
		if len(way) <= fewUnits {
			t.improve(way)
		}
		if c := t.cost(way); c.less(least) {
			best, least = way, c
		}
	}
	original := t.inOrder(false)
	first := original[0]
	try(original)
	if at, ok := t.start(); ok {
		try(t.nearest(&at, first))
	}
	try(t.nearest(nil, first))
	if len(t.units) <= fewUnits {
		var free []int32
		newFront(t, func(u int32) { free = append(free, u) })
		for _, u := range free {
			try(t.nearest(nil, u))
		}
	}
	t.improve(best)
	return best
}
