package order

// groups are the sides on which units begin, counted from 0: of each unit, and
// by the caller's number.
func (t *trip) groups() (of []int32, seen map[int]int32) {
	of, seen = make([]int32, len(t.units)), map[int]int32{}
	for i := range t.units {
		side := t.sides[t.units[i].pieces[0]][0]
		if _, ok := seen[side]; !ok {
			seen[side] = int32(len(seen))
		}
		of[i] = seen[side]
	}
	return of, seen
}

// leaves is the side on which a unit ends.
func (t *trip) leaves(u int32) int {
	p := t.units[u].pieces
	return t.sides[p[len(p)-1]][1]
}

// begin is where a unit begins, end where it ends.
func (t *trip) begin(u int32) point {
	p, _ := t.j.ends(int(t.pieces[t.units[u].pieces[0]]))
	return p
}

func (t *trip) end(u int32) point {
	all := t.units[u].pieces
	_, p := t.j.ends(int(t.pieces[all[len(all)-1]]))
	return p
}

// inOrder has the units as the original has them, as far as they may; by sides,
// it stays on one for as long as anything there may be burned.
func (t *trip) inOrder(bySides bool) []int32 {
	of, seen := t.groups()
	if !bySides {
		of = make([]int32, len(t.units))
	}
	ready := make([]heap, len(seen))
	var heads heap // units that were the first of their group when they became free
	f := newFront(t, func(u int32) {
		g := &ready[of[u]]
		if g.push(u); (*g)[0] == u {
			heads.push(u)
		}
	})
	way := make([]int32, 0, len(t.units))
	side := int32(0)
	for len(way) < len(t.units) {
		if len(ready[side]) == 0 {
			side = -1
			for len(heads) > 0 && side < 0 {
				if u := heads.pop(); len(ready[of[u]]) > 0 {
					side = of[u]
				}
			}
			if side < 0 {
				return way
			}
		}
		u := ready[side].pop()
		way = append(way, u)
		f.done(u)
	}
	return way
}

// nearest goes on to the nearest unit that is free, on the side where it is as
// long as there is one: from a place, or from a unit.
func (t *trip) nearest(at *point, first int32) []int32 {
	m := len(t.units)
	starts := make([]point, m)
	all := make([]int32, m)
	for i := range t.units {
		starts[i] = t.begin(int32(i))
		all[i] = int32(i)
	}
	of, seen := t.groups()
	count := len(seen)
	ids, pos := make([][]int32, count), make([]int32, m)
	for i, g := range of {
		ids[g] = append(ids[g], int32(i))
	}
	trees := make([]*nearest, count)
	for g := range trees {
		trees[g] = newNearest(starts, ids[g], pos)
	}
	whole := trees[0]
	if count > 1 {
		whole = newNearest(starts, all, make([]int32, m))
	}
	put := func(u int32, in bool) {
		trees[of[u]].put(u, in)
		if count > 1 {
			whole.put(u, in)
		}
	}
	f := newFront(t, func(u int32) { put(u, true) })
	next := first
	if at != nil {
		next = whole.to(*at)
	}
	way := make([]int32, 0, m)
	for {
		way = append(way, next)
		put(next, false)
		f.done(next)
		if !whole.any() {
			return way
		}
		end := t.end(next)
		tree := whole
		if g, ok := seen[t.leaves(next)]; ok && trees[g].any() {
			tree = trees[g]
		}
		next = tree.to(end)
	}
}
