package order

import "slices"

// edge says that what one node stands for comes before what another does.
type edge struct{ from, to int32 }

// graph is what must come before what. Its nodes are the pieces, and behind them
// others, of no zone, which stand between many pieces and many.
type graph struct {
	zone  []int32 // of each node; -1 of those that are no piece
	start []int32 // of each node's successors
	next  []int32
}

func newGraph(zone []int32, edges []edge) *graph {
	g := &graph{zone: zone, start: make([]int32, len(zone)+1), next: make([]int32, len(edges))}
	for _, e := range edges {
		g.start[e.from+1]++
	}
	for i := range zone {
		g.start[i+1] += g.start[i]
	}
	at := slices.Clone(g.start)
	for _, e := range edges {
		g.next[at[e.from]] = e.to
		at[e.from]++
	}
	return g
}

// after are the successors of a node.
func (g *graph) after(n int32) []int32 { return g.next[g.start[n]:g.start[n+1]] }

// waits is how many come directly before each node.
func (g *graph) waits() []int32 {
	w := make([]int32, len(g.zone))
	for _, n := range g.next {
		w[n]++
	}
	return w
}

// back is the graph the other way round.
func (g *graph) back() *graph {
	edges := make([]edge, 0, len(g.next))
	for n := range g.zone {
		for _, to := range g.after(int32(n)) {
			edges = append(edges, edge{to, int32(n)})
		}
	}
	return newGraph(g.zone, edges)
}

// stuck are the nodes that wait for themselves, or stand between such: none of
// a graph that can be put in order.
func (g *graph) stuck() map[int32]bool {
	stuck := map[int32]bool{}
	for n := range g.left() {
		stuck[n] = true
	}
	if len(stuck) > 0 {
		left := g.back().left()
		for n := range stuck {
			if !left[n] {
				delete(stuck, n)
			}
		}
	}
	return stuck
}

// left are the nodes that never become free.
func (g *graph) left() map[int32]bool {
	waits := g.waits()
	var free []int32
	for n, w := range waits {
		if w == 0 {
			free = append(free, int32(n))
		}
	}
	for len(free) > 0 {
		n := free[len(free)-1]
		free = free[:len(free)-1]
		waits[n] = -1
		for _, to := range g.after(n) {
			if waits[to]--; waits[to] == 0 {
				free = append(free, to)
			}
		}
	}
	left := map[int32]bool{}
	for n, w := range waits {
		if w >= 0 {
			left[int32(n)] = true
		}
	}
	return left
}
