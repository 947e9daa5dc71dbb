package order

import "slices"

// settle takes units in place of those that they are made of; where they would
// have to wait for themselves, the old ones stay.
func (t *trip) settle(units []unit) {
	for {
		split := t.link(units)
		if len(split) == 0 {
			break
		}
		next := t.apart(units, split)
		if next == nil {
			break
		}
		units = next
	}
	slices.SortFunc(units, func(a, b unit) int { return int(slices.Min(a.pieces) - slices.Min(b.pieces)) })
	t.units = units
	t.link(units)
}

// link makes the graph of units; it gives those that would have to wait for
// themselves.
func (t *trip) link(units []unit) map[int32]bool {
	m := len(t.pieces)
	of, place := make([]int32, t.nodes), make([]int32, m)
	for i := range units {
		for k, p := range units[i].pieces {
			of[p], place[p] = int32(i), int32(k)
		}
	}
	for n := m; n < t.nodes; n++ {
		of[n] = int32(n - m + len(units))
	}
	bad := map[int32]bool{}
	var edges []edge
	for _, e := range t.edges {
		switch a, b := of[e.from], of[e.to]; {
		case a != b:
			edges = append(edges, edge{a, b})
		case place[e.from] > place[e.to]:
			bad[a] = true
		}
	}
	t.g = newGraph(make([]int32, t.nodes-m+len(units)), edges)
	if len(bad) == 0 {
		bad = t.g.stuck()
	}
	return bad
}

// apart is the units with some of them taken apart into those that they were made
// of, or nil where they cannot be.
func (t *trip) apart(units []unit, bad map[int32]bool) []unit {
	old := make([]int32, len(t.pieces)) // the old unit of each place
	for i := range t.units {
		for _, p := range t.units[i].pieces {
			old[p] = int32(i)
		}
	}
	var next []unit
	for i, u := range units {
		last := int32(-1)
		for _, p := range u.pieces {
			if !bad[int32(i)] {
				next = append(next, u)
				break
			}
			if old[p] != last {
				last = old[p]
				next = append(next, t.units[last])
			}
		}
	}
	if len(next) == len(units) {
		return nil
	}
	return next
}
