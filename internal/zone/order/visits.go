package order

import (
	"cmp"
	"slices"
)

// mostTried is how many steps along a graph are spent at most on which zone to set
// next.
const mostTried = 300_000_000

// visits says in which order zones are set, and in which visit each node of a
// graph comes.
type visits struct {
	zones []int32
	of    []int32 // by node
}

// changes is how often the lens is changed.
func (o *Options) changes(zones []int32) (n int) {
	for i := 1; i < len(zones); i++ {
		if o.Lens[zones[i]] != o.Lens[zones[i-1]] {
			n++
		}
	}
	return
}

// settings is how often a zone is set, with what is burned last of all in zone
// late.
func settings(zones []int32, late int32) int {
	if n := len(zones); late >= 0 && (n == 0 || zones[n-1] != late) {
		return n + 1
	}
	return len(zones)
}

// plan finds visits for a graph, few of them. What is burned last of all comes
// behind them, in zone late if that is not -1.
func (o *Options) plan(g *graph, late int32) visits {
	best := newPlanner(o, g, late).run(nil)
	back := newPlanner(o, g.back(), late)
	back.backwards = true
	other := back.run(nil)
	if c := cmp.Compare(settings(other.zones, late), settings(best.zones, late)); c < 0 ||
		c == 0 && o.changes(other.zones) < o.changes(best.zones) {
		best = other
	}
	for {
		zones := o.search(g, late, settings(best.zones, late))
		if zones == nil {
			return best
		}
		best = newPlanner(o, g, late).run(zones)
	}
}

// mostSearched bounds the steps along a graph that a search takes, mostWide the
// ways that it follows side by side.
const mostSearched, mostWide = 100_000_000, 256

// search looks for fewer settings than most, following many ways side by side;
// nil where it finds none.
func (o *Options) search(g *graph, late int32, most int) []int32 {
	first := newPlanner(o, g, late)
	if first.least() >= most {
		return nil
	}
	width := min(mostWide, mostSearched/((len(g.zone)+len(g.next)+1)*len(o.Rank)*most))
	if width < 2 {
		return nil
	}
	now := []*planner{first}
	for len(now) > 0 {
		var next []*planner
		known := map[[2]uint64]bool{}
		for _, p := range now {
			for z := range p.left {
				if len(p.free[z])+len(p.idle[z]) == 0 {
					continue
				}
				q := p.clone()
				q.burn(int32(z), int32(len(q.zones)))
				q.zones = append(q.zones, int32(z))
				key := [2]uint64{q.key, uint64(z)}
				if known[key] || q.least() >= most {
					continue
				}
				if known[key] = true; slices.Max(q.left) == 0 {
					return q.zones
				}
				next = append(next, q)
			}
		}
		slices.SortStableFunc(next, func(a, b *planner) int {
			return cmp.Or(cmp.Compare(a.least(), b.least()), cmp.Compare(sum(a.left), sum(b.left)))
		})
		now = next[:min(len(next), width)]
	}
	return nil
}

func sum(of []int) (n int) {
	for _, k := range of {
		n += k
	}
	return n
}

// least is how many settings there will be at the least.
func (p *planner) least() int {
	n, ends := len(p.zones), false
	for z, left := range p.left {
		if left > 0 {
			n++
			ends = ends || int32(z) == p.late
		}
	}
	if p.late >= 0 && !ends && (n > len(p.zones) || n == 0 || p.zones[n-1] != p.late) {
		n++
	}
	return n
}

func (p *planner) clone() *planner {
	q := *p
	q.waits, q.left, q.zones = slices.Clone(p.waits), slices.Clone(p.left), slices.Clone(p.zones)
	q.free, q.idle = make([][]int32, len(p.free)), make([][]int32, len(p.idle))
	for z := range q.free {
		q.free[z], q.idle[z] = slices.Clone(p.free[z]), slices.Clone(p.idle[z])
	}
	q.queue, q.undo = nil, nil
	q.of = slices.Clone(p.of)
	return &q
}
