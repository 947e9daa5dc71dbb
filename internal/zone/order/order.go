package order

// against is why the original's order is kept where no order is found: it is
// not to happen.
const against = "its burns ask for orders that go against one another"

// Order finds in which order to burn the pieces.
func (j *Job) Order() Result {
	if j.why != "" {
		return j.Kept(j.why)
	}
	if len(j.pts) == 0 {
		return j.Kept("")
	}
	if j.opt.MarksFirst {
		j.kinds()
	}
	g, why := precedence(j)
	if why != "" {
		return j.Kept(why)
	}
	last := int32(-1)
	for _, p := range j.pieces {
		if p.last {
			last = p.zone
			break
		}
	}
	v := j.opt.plan(g, last)
	var r Result
	steps := 0
	j.trips(g, &v, func(t *trip) {
		visit := t.steps()
		steps += len(visit.Steps)
		r.Visits = append(r.Visits, visit)
	})
	for i, p := range j.pieces {
		if p.last {
			r.then(int(p.zone), Step{Piece: i})
			steps++
		}
	}
	if steps != len(j.pieces) {
		return j.Kept(against)
	}
	return r
}

// kinds parts figures where what marks and what cuts meet.
func (j *Job) kinds() {
	figure, was := int32(0), int32(0) // as it is now, and as it was
	for i := range j.pieces {
		p := &j.pieces[i]
		if i > 0 && (p.figure != was || p.cuts != j.pieces[i-1].cuts) {
			figure++
		}
		was, p.figure = p.figure, figure
	}
}

// trips calls f for each visit, with what is burned in it.
func (j *Job) trips(g *graph, v *visits, f func(t *trip)) {
	figs := j.figures()
	n := len(v.zones)
	start := make([]int32, n+1) // where each visit's nodes begin among all
	in := func(visit int32) bool { return visit >= 0 && int(visit) < n }
	for _, visit := range v.of {
		if in(visit) {
			start[visit+1]++
		}
	}
	for i := range n {
		start[i+1] += start[i]
	}
	nodes, local := make([]int32, start[n]), make([]int32, len(v.of))
	at := append([]int32(nil), start[:n]...)
	for node, visit := range v.of {
		if in(visit) {
			nodes[at[visit]] = int32(node)
			local[node] = at[visit] - start[visit]
			at[visit]++
		}
	}
	for i, zone := range v.zones {
		t := &trip{j: j, zone: int(zone), pieces: nodes[start[i]:start[i+1]]}
		t.nodes = len(t.pieces)
		for k, node := range t.pieces {
			if int(node) >= len(j.pieces) {
				t.pieces = t.pieces[:k] // the others stand for no piece
				break
			}
		}
		for _, node := range nodes[start[i]:start[i+1]] {
			for _, to := range g.after(node) {
				if v.of[to] == int32(i) {
					t.edges = append(t.edges, edge{local[node], local[to]})
				}
			}
		}
		t.look()
		t.gather(figs)
		f(t)
	}
}

// steps is the visit, burned in the best way that is found.
func (t *trip) steps() Visit {
	v := Visit{Zone: t.zone, Steps: make([]Step, 0, len(t.pieces))}
	way := t.way()
	if t.plain().less(t.cost(way)) {
		for _, p := range t.pieces {
			v.Steps = append(v.Steps, Step{Piece: int(p)})
		}
		return v
	}
	for _, u := range way {
		for _, p := range t.units[u].pieces {
			v.Steps = append(v.Steps, Step{Piece: int(t.pieces[p]), Joined: p == t.units[u].joined})
		}
	}
	return v
}
