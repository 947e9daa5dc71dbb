package order

import "slices"

// unit is what is burned without anything else in between: the pieces of a figure
// in one visit, on one side of what stands between.
type unit struct {
	pieces []int32 // places in the trip's list
	joined int32   // the place of one that goes on from the one before it, or -1
}

// trip is what is burned in a visit.
type trip struct {
	j      *Job
	zone   int
	pieces []int32  // in the original's order
	sides  [][2]int // of each, where it begins and ends
	edges  []edge   // between places in pieces, and nodes of no zone behind them
	nodes  int      // how many both are
	units  []unit
	g      *graph // of the units
	self   []int32
	asked  int // how often it was asked whether a way is clear
}

// alone is a unit of one piece.
func (t *trip) alone(i int) unit { return unit{t.self[i : i+1 : i+1], -1} }

// side of a place, as far as the caller knows.
func (t *trip) side(p point) int {
	if t.j.opt.Side == nil {
		return -1
	}
	at := p.mm()
	return t.j.opt.Side(t.zone, at[0], at[1])
}

// look finds the sides of all pieces.
func (t *trip) look() {
	t.sides = make([][2]int, len(t.pieces))
	for i, p := range t.pieces {
		a, b := t.j.ends(int(p))
		t.sides[i] = [2]int{t.side(a), t.side(b)}
	}
}

// gather makes units: first of closed figures' ends that are joined, then of
// figures, as far as nothing else has to come in between.
func (t *trip) gather(figs []figure) {
	t.self = make([]int32, len(t.pieces))
	t.units = make([]unit, len(t.pieces))
	for i := range t.self {
		t.self[i] = int32(i)
		t.units[i] = t.alone(i)
	}
	joined := t.join(figs)
	t.settle(joined)
	var whole []unit
	key := func(u *unit) [2]int {
		k := u.pieces[0]
		if u.joined >= 0 {
			k = u.joined
		}
		return [2]int{int(t.j.pieces[t.pieces[k]].figure), t.sides[k][0]}
	}
	for i := 0; i < len(t.units); {
		end := i + 1
		for end < len(t.units) && key(&t.units[end])[0] == key(&t.units[i])[0] {
			end++
		}
		whole = t.together(whole, t.units[i:end], key)
		i = end
	}
	t.settle(whole)
}

// together makes one unit of those of a figure that are on one side, and appends
// it to whole.
func (t *trip) together(whole, of []unit, key func(*unit) [2]int) []unit {
	if len(of) == 1 {
		return append(whole, of[0])
	}
	at := map[int]int{}
	for i := range of {
		side := key(&of[i])[1]
		k, ok := at[side]
		if !ok {
			at[side] = len(whole)
			whole = append(whole, unit{slices.Clone(of[i].pieces), of[i].joined})
			continue
		}
		u := &whole[k]
		u.pieces = append(u.pieces, of[i].pieces...)
		u.joined = max(u.joined, of[i].joined)
	}
	return whole
}

// join is the units, with the last piece of a closed figure and its first as one.
func (t *trip) join(figs []figure) []unit {
	units := make([]unit, 0, len(t.pieces))
	pieces := t.pieces
	for i := 0; i < len(pieces); {
		f := &figs[t.j.pieces[pieces[i]].figure]
		end := i + 1
		for end < len(pieces) && t.j.pieces[pieces[end]].figure == t.j.pieces[pieces[i]].figure {
			end++
		}
		join := f.closed && f.first < f.last && pieces[i] == f.first && pieces[end-1] == f.last
		for k := i; k < end; k++ {
			switch {
			case join && k == i:
			case join && k == end-1:
				units = append(units, unit{[]int32{int32(k), int32(i)}, int32(i)})
			default:
				units = append(units, t.alone(k))
			}
		}
		i = end
	}
	return units
}
