package order

import "slices"

// pair is a figure that lies inside of another, both cut, which the original cuts
// later: it may go first.
type pair struct{ in, around int32 }

// rules gather what must come before what.
type rules struct {
	j     *Job
	figs  []figure
	zone  []int32
	edges []edge
	begin []int32 // by figure: the node before all of its pieces, -1 where there is none yet
	end   []int32 // the node behind them
	// turned are pairs that go against the original.
	turned map[pair]bool
	// late are marks that have to wait for a cut.
	late []bool
}

// precedence is the graph of what must come before what; why is not empty where
// finding it would be too much.
func precedence(j *Job) (g *graph, why string) {
	r := &rules{j: j, figs: j.figures(), turned: map[pair]bool{}}
	loops := loops(j, r.figs)
	t := &touches{pl: newPlane(j), figs: r.figs}
	if !t.find() {
		return nil, tooManyTouches
	}
	var pairs []pair
	n := &inside{t: t, loops: loops}
	many := false
	ok := n.each(func(fig int32, l loop) {
		if many = many || len(pairs)+len(l.sides) > mostEdges; many {
			return
		}
		for _, s := range l.sides {
			p := pair{fig, s / 2}
			if j.opt.MarksFirst && !r.cut(p.around) {
				continue // what it goes around comes loose by others, if at all
			}
			pairs = append(pairs, p)
			if j.opt.MarksFirst && p.around < p.in && r.cut(p.in) && r.cut(p.around) {
				r.turned[p] = true
			}
		}
	})
	if !ok || many {
		return nil, tooMuchInside
	}
	t.pl, t.crossings = nil, nil
	// Two that lie inside of one another, or touch, keep the original's order.
	for _, p := range pairs {
		delete(r.turned, pair{p.around, p.in})
	}
	for i := range j.pieces {
		for _, o := range t.pred[t.start[i]:t.start[i+1]] {
			delete(r.turned, pair{j.pieces[i].figure, j.pieces[o].figure})
		}
	}
	r.late = make([]bool, len(j.pieces))
	for {
		g := r.graph(t, pairs)
		if j.opt.MarksFirst && r.delay(g) {
			continue
		}
		if len(r.turned) == 0 {
			return g, ""
		}
		stuck := g.stuck()
		if len(stuck) == 0 {
			return g, ""
		}
		if !r.turnBack(stuck) {
			clear(r.turned)
		}
	}
}

// delay finds the marks that have to wait for a cut, and reports whether there are
// more than before.
func (r *rules) delay(g *graph) (more bool) {
	seen := make([]bool, len(g.zone))
	var queue []int32
	for i, p := range r.j.pieces {
		if p.cuts {
			seen[i] = true
			queue = append(queue, int32(i))
		}
	}
	for len(queue) > 0 {
		n := queue[len(queue)-1]
		queue = queue[:len(queue)-1]
		for _, to := range g.after(n) {
			if seen[to] {
				continue
			}
			seen[to] = true
			queue = append(queue, to)
			if int(to) < len(r.late) && !r.late[to] {
				r.late[to], more = true, true
			}
		}
	}
	return more
}

// turnBack gives pairs that stand in one another's way the original's order, and
// reports whether there are any.
func (r *rules) turnBack(stuck map[int32]bool) (any bool) {
	has := make([]bool, len(r.figs))
	for n := range stuck {
		if int(n) < len(r.j.pieces) {
			has[r.j.pieces[n].figure] = true
		}
	}
	for p := range r.turned {
		if has[p.in] && has[p.around] {
			delete(r.turned, p)
			any = true
		}
	}
	return any
}

// cut reports whether a figure cuts.
func (r *rules) cut(fig int32) bool {
	f := &r.figs[fig]
	for i := f.first; i <= f.last; i++ {
		if r.j.pieces[i].cuts {
			return true
		}
	}
	return false
}

// waits reports whether a figure has a mark that waits for a cut.
func (r *rules) waits(fig int32) bool {
	f := &r.figs[fig]
	return slices.Contains(r.late[f.first:f.last+1], true)
}

// graph puts together what touches ask, what lies inside of what, and that marks
// go first.
func (r *rules) graph(t *touches, pairs []pair) *graph {
	j := r.j
	r.zone = make([]int32, len(j.pieces))
	for i, p := range j.pieces {
		if r.zone[i] = p.zone; p.last {
			r.zone[i] = -1
		}
	}
	r.edges = make([]edge, 0, len(t.pred)+len(pairs))
	r.begin, r.end = make([]int32, len(r.figs)), make([]int32, len(r.figs))
	for f := range r.figs {
		r.begin[f], r.end[f] = -1, -1
	}
	for i := range j.pieces {
		for _, o := range t.pred[t.start[i]:t.start[i+1]] {
			r.add(o, int32(i))
		}
	}
	for _, p := range pairs {
		first, then := min(p.in, p.around), max(p.in, p.around)
		if r.turned[p] || r.turned[pair{p.around, p.in}] {
			first, then = then, first
		}
		if !j.opt.MarksFirst || r.cut(first) == r.cut(then) || r.waits(first) || r.waits(then) {
			r.add(r.behind(first), r.before(then))
		}
	}
	if j.opt.MarksFirst {
		r.marksFirst()
	}
	return newGraph(r.zone, r.edges)
}

// add has one before another, but for what is burned last in any case.
func (r *rules) add(from, to int32) {
	for _, n := range []int32{from, to} {
		if int(n) < len(r.j.pieces) && r.j.pieces[n].last {
			return
		}
	}
	r.edges = append(r.edges, edge{from, to})
}

// node is a new one of no zone.
func (r *rules) node() int32 {
	r.zone = append(r.zone, -1)
	return int32(len(r.zone) - 1)
}

// before is the node before all pieces of a figure, behind the one behind them.
func (r *rules) before(fig int32) int32 {
	f := &r.figs[fig]
	switch {
	case f.first == f.last:
		return f.first
	case r.begin[fig] < 0:
		r.begin[fig] = r.node()
		for i := f.first; i <= f.last; i++ {
			r.add(r.begin[fig], i)
		}
	}
	return r.begin[fig]
}

func (r *rules) behind(fig int32) int32 {
	f := &r.figs[fig]
	switch {
	case f.first == f.last:
		return f.first
	case r.end[fig] < 0:
		r.end[fig] = r.node()
		for i := f.first; i <= f.last; i++ {
			r.add(i, r.end[fig])
		}
	}
	return r.end[fig]
}

// marksFirst has all that only marks before all that cuts, but for what has to wait
// for a cut.
func (r *rules) marksFirst() {
	between := r.node()
	for i, p := range r.j.pieces {
		switch {
		case p.cuts:
			r.add(between, int32(i))
		case !r.late[i]:
			r.add(int32(i), between)
		}
	}
}
