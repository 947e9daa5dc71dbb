package order

// mostMoves is how much is weighed at most in all visits, mostAsked how often it
// is asked for it whether a way is clear, mostShifted how many units are shifted
// in one.
const mostMoves, mostAsked, mostShifted = 2_000_000, 400_000, 100_000_000

// chains is how many units are moved together at most, neighbours how many places
// for them are weighed.
const chains, neighbours = 3, 5

// order is a way that is being made better.
type order struct {
	t    *trip
	way  []int32
	pos  []int32 // of each unit in it
	back *graph
	ends *nearest
	left int // what may still be weighed
	move int // units that may still be shifted
}

// improve moves a few units at a time to where their beginning is near another's
// end, for as long as that saves lifts or makes the way shorter.
func (t *trip) improve(way []int32) {
	m := len(way)
	if m < 3 {
		return
	}
	o := &order{t: t, way: way, pos: make([]int32, m), back: t.g.back(), move: mostShifted}
	share := float64(len(t.pieces)) / float64(t.j.Len())
	o.left = int(mostMoves * share)
	ends, ids := make([]point, m), make([]int32, m)
	for i, u := range way {
		o.pos[u], ids[i] = int32(i), int32(i)
	}
	for u := range t.units {
		ends[u] = t.end(int32(u))
	}
	o.ends = newNearest(ends, ids, make([]int32, m))
	for u := range ids {
		o.ends.put(int32(u), true)
	}
	asked := t.asked + int(mostAsked*share)
	for better := true; better; {
		better = false
		for u := range int32(m) {
			if o.left < 0 || o.move < 0 || t.asked > asked {
				return
			}
			better = o.place(u) || better
		}
	}
}

// place tries to move a unit, and perhaps some behind it, behind one that ends
// near to where it begins.
func (o *order) place(u int32) bool {
	now := o.enter(u)
	if now.length == 0 {
		return false
	}
	var near [neighbours]int32
	n, start := 0, o.t.begin(u)
	o.ends.put(u, false)
	for n < neighbours && o.ends.any() {
		o.left -= 4
		near[n] = o.ends.to(start)
		if n == 0 && now.lifts == 0 && o.pos[u] > 0 && o.link(near[0], u).length >= now.length {
			break // none is nearer than the one before it
		}
		o.ends.put(near[n], false)
		n++
	}
	o.ends.put(u, true)
	moved := false
	for _, v := range near[:n] {
		o.ends.put(v, true)
		for k := 1; k <= chains && !moved && int(o.pos[u])+k <= len(o.way); k++ {
			moved = o.try(u, v, int32(k))
		}
	}
	return moved
}

func (o *order) enter(u int32) cost {
	if i := o.pos[u]; i > 0 {
		return o.link(o.way[i-1], u)
	}
	return o.link(-1, u)
}

// link is the cost of going from one unit to another; -1 is where the head comes
// from, or nowhere.
func (o *order) link(a, b int32) cost {
	if b < 0 {
		return cost{}
	}
	to := o.t.units[b].pieces[0]
	if a < 0 {
		return o.t.step(-1, to)
	}
	p := o.t.units[a].pieces
	return o.t.step(p[len(p)-1], to)
}

// at is the unit at a place of the way, -1 beyond its ends.
func (o *order) at(i int32) int32 {
	if i < 0 || int(i) >= len(o.way) {
		return -1
	}
	return o.way[i]
}

// try moves count units from u on behind v, if that is better and may be.
func (o *order) try(u, v, count int32) bool {
	i, j := o.pos[u], o.pos[v]
	if j >= i-1 && j < i+count {
		return false // it stands there, or would follow itself
	}
	o.left--
	last := o.way[i+count-1]
	var old, now cost
	old.add(o.enter(u))
	old.add(o.link(last, o.at(i+count)))
	old.add(o.link(v, o.at(j+1)))
	now.add(o.link(o.at(i-1), o.at(i+count)))
	now.add(o.link(v, u))
	now.add(o.link(last, o.at(j+1)))
	now.length += 1e-6
	if !now.less(old) {
		return false
	}
	lo, hi := j+1, i // what it is moved over
	g := o.back
	if j > i {
		lo, hi, g = i+count, j+1, o.t.g
	}
	for k := i; k < i+count; k++ {
		budget := 64
		if o.reaches(g, o.way[k], lo, hi, &budget) {
			return false
		}
	}
	if j > i {
		o.turn(i, i+count, j+1)
	} else {
		o.turn(j+1, i, i+count)
	}
	return true
}

// reaches reports whether a unit stands directly before one at the places from lo
// to hi, or that following it up takes too much.
func (o *order) reaches(g *graph, n, lo, hi int32, budget *int) bool {
	for _, to := range g.after(n) {
		if *budget--; *budget < 0 {
			return true
		}
		if int(to) < len(o.way) {
			if p := o.pos[to]; p >= lo && p < hi {
				return true
			}
		} else if o.reaches(g, to, lo, hi, budget) {
			return true
		}
	}
	return false
}

// turn exchanges the units from a to b and those from b to c.
func (o *order) turn(a, b, c int32) {
	part := append([]int32(nil), o.way[a:b]...)
	copy(o.way[a:], o.way[b:c])
	copy(o.way[a+c-b:c], part)
	for i := a; i < c; i++ {
		o.pos[o.way[i]] = i
	}
	o.move -= int(c - a)
}
