package order

import "cmp"

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
