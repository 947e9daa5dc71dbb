package order

import "slices"

// planner goes through a graph zone by zone. Going backwards it has the graph the
// other way round.
type planner struct {
	opt       *Options
	g         *graph
	late      int32 // a zone that is best visited last, or -1
	backwards bool
	waits     []int32
	left      []int     // pieces by zone that are not burned yet
	free      [][]int32 // those of them that wait for nothing
	idle      [][]int32 // those that nothing waits for either, not among them
	queue     []int32   // nodes of no zone that wait for nothing
	of        []int32   // the visit of each node
	zones     []int32   // of the visits
	key       uint64    // of what is burned
	work      int
	undo      []int32
}

func newPlanner(o *Options, g *graph, late int32) *planner {
	n := len(o.Rank)
	p := &planner{
		opt: o, g: g, late: late, waits: g.waits(),
		left: make([]int, n), free: make([][]int32, n), idle: make([][]int32, n), of: make([]int32, len(g.zone)),
	}
	for i, z := range g.zone {
		if z >= 0 {
			p.left[z]++
		}
		if p.waits[i] == 0 {
			p.release(int32(i))
		}
	}
	p.drain(-1)
	return p
}

// release has a node free to be burned.
func (p *planner) release(n int32) {
	switch z := p.g.zone[n]; {
	case z < 0:
		p.queue = append(p.queue, n)
	case len(p.g.after(n)) == 0:
		p.idle[z] = append(p.idle[z], n)
	default:
		p.free[z] = append(p.free[z], n)
	}
}

// run visits zones until all is burned: those that are given, and then such as it
// chooses.
func (p *planner) run(given []int32) visits {
	now := int32(-1)
	for {
		if now = p.choose(now); now < 0 {
			break
		}
		if n := len(p.zones); n < len(given) {
			now = given[n]
		}
		p.burn(now, int32(len(p.zones)))
		p.zones = append(p.zones, now)
	}
	if p.backwards {
		for i := range p.of {
			p.of[i] = int32(len(p.zones)) - 1 - p.of[i]
		}
		slices.Reverse(p.zones)
	}
	return visits{p.zones, p.of}
}

// burn burns all of a zone that can be, in a visit.
func (p *planner) burn(z, visit int32) {
	for len(p.free[z]) > 0 {
		last := len(p.free[z]) - 1
		n := p.free[z][last]
		p.free[z] = p.free[z][:last]
		p.left[z]--
		p.pass(n, visit)
		p.drain(visit)
	}
	for _, n := range p.idle[z] {
		p.set(n, visit)
	}
	p.left[z] -= len(p.idle[z])
	p.idle[z] = p.idle[z][:0]
}

// drain passes the nodes of no zone that are free.
func (p *planner) drain(visit int32) {
	for len(p.queue) > 0 {
		n := p.queue[len(p.queue)-1]
		p.queue = p.queue[:len(p.queue)-1]
		p.pass(n, visit)
	}
}

// set has a node in a visit.
func (p *planner) set(n, visit int32) {
	p.of[n] = visit
	h := (uint64(n) + 1) * 0x9e3779b97f4a7c15
	p.key += (h ^ h>>29) * 0xbf58476d1ce4e5b9
}

func (p *planner) pass(n, visit int32) {
	p.set(n, visit)
	for _, to := range p.g.after(n) {
		if p.waits[to]--; p.waits[to] == 0 {
			p.release(to)
		}
	}
}

// choice is a zone that may be set next.
type choice struct {
	zone    int32
	whole   bool // nothing of it is left then
	late    bool // it is set again at the end in any case
	changes bool // it wants another lens
	gain    int  // how many pieces are burned or become free
	rank    int
}

// choose says which zone is set behind another, -1 where nothing is left.
func (p *planner) choose(now int32) int32 {
	best := choice{zone: -1}
	for i, left := range p.left {
		z := int32(i)
		if left == 0 || len(p.free[z])+len(p.idle[z]) == 0 {
			continue
		}
		burned, freed := p.try(z)
		c := choice{
			zone: z, whole: burned == left, late: z == p.late, gain: burned + freed, rank: p.opt.Rank[z],
			changes: now >= 0 && p.opt.Lens[z] != p.opt.Lens[now],
		}
		if p.backwards {
			c.rank, c.late = -c.rank, now < 0 && p.late >= 0 && !c.late
		}
		if best.zone < 0 || c.before(&best) {
			best = c
		}
	}
	return best.zone
}

// before reports whether c is better set first.
func (c *choice) before(d *choice) bool {
	switch {
	case c.late != d.late:
		return d.late
	case c.whole != d.whole:
		return c.whole
	case !c.whole && c.gain != d.gain:
		return c.gain > d.gain
	case c.changes != d.changes:
		return d.changes
	}
	return c.rank < d.rank
}

// try is how many pieces of a zone would be burned, and how many of others would
// become free.
func (p *planner) try(z int32) (burned, freed int) {
	free := p.free[z]
	burned = len(p.idle[z]) + len(free)
	if p.work > mostTried {
		return
	}
	p.undo = p.undo[:0]
	n, begun := len(free), len(p.queue)
	for k := 0; k < n || len(p.queue) > begun; {
		var next int32
		if q := len(p.queue); q > begun {
			next = p.queue[q-1]
			p.queue = p.queue[:q-1]
		} else {
			next = free[k]
			k++
		}
		for _, to := range p.g.after(next) {
			p.undo = append(p.undo, to)
			if p.waits[to]--; p.waits[to] > 0 {
				continue
			}
			switch p.g.zone[to] {
			case z:
				burned++
				p.queue = append(p.queue, to)
			case -1:
				p.queue = append(p.queue, to)
			default:
				freed++
			}
		}
	}
	for _, to := range p.undo {
		p.waits[to]++
	}
	p.work += len(p.undo) + n
	return burned, freed
}
