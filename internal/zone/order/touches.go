package order

import "slices"

// mostLooks is how often two burns are held against one another at most,
// mostEdges how many pairs may have to keep an order.
const mostLooks, mostEdges = 1_500_000_000, 8_000_000

// joint is how far from the end that joins two pieces of a figure they may lie
// against one another, in steps: there they have to.
const joint = 3 * touch

// crossing is a place where one figure may go into the loop that another is
// part of.
type crossing struct {
	loop, figure int32
	at           point
}

// touches finds which pieces touch: of piece i those before it, pred from start[i]
// to start[i+1]. A pair that follows from two others is left out.
type touches struct {
	pl        *plane
	figs      []figure
	start     []int32
	pred      []int32
	crossings []crossing
	looks     int
	implied   []int32 // pieces, by for which their touch last followed from others
	parts     [2][]stretch
}

// find reports whether it could.
func (t *touches) find() bool {
	j := t.pl.j
	t.start = make([]int32, len(j.pieces)+1)
	seen := make([]int32, len(j.pts)) // stretches, by which stretch they were last held against
	met := make([]int32, len(j.pieces))
	for k := range seen {
		seen[k] = -1
	}
	t.implied = make([]int32, len(j.pieces))
	for k := range met {
		met[k], t.implied[k] = -1, -1
	}
	var found []int32
	for i := range j.pieces {
		found = found[:0]
		first, end := j.points(i)
		for k := first; k < end; k++ {
			s, ok := t.pl.stretch(k)
			if !ok {
				continue
			}
			t.pl.over(s, func(hash uint32) {
				for _, e := range t.pl.cells.in(hash) {
					if int(e) >= first {
						break
					}
					t.looks++
					if seen[e] == int32(k) {
						continue
					}
					seen[e] = int32(k)
					o := t.pl.pieceOf[e]
					fi, fo := j.pieces[i].figure, j.pieces[o].figure
					loop := fi != fo && (t.figs[fi].loop || t.figs[fo].loop)
					if met[o] == int32(i) && !loop {
						continue
					}
					other, _ := t.pl.stretch(int(e))
					if !s.touches(other) || fi == fo && t.joins(int(o), i, other, s) {
						continue
					}
					if loop {
						t.cross(fo, fi, other, s)
						t.cross(fi, fo, s, other)
					}
					if met[o] != int32(i) {
						met[o] = int32(i)
						found = append(found, o)
					}
				}
			})
			if t.looks > mostLooks || len(t.crossings) > mostEdges {
				return false
			}
		}
		t.keep(i, found)
		t.start[i+1] = int32(len(t.pred))
		if len(t.pred) > mostEdges {
			return false
		}
	}
	return true
}

// keep keeps of the pieces that touch piece i those from which the others follow.
func (t *touches) keep(i int, found []int32) {
	j := t.pl.j
	slices.SortFunc(found, func(a, b int32) int { return int(b - a) })
	for _, o := range found {
		if t.implied[o] == int32(i) {
			continue
		}
		t.pred = append(t.pred, o)
		if len(found) == 1 || j.pieces[o].last {
			continue // by way of what is burned last nothing follows
		}
		for _, q := range t.pred[t.start[o]:t.start[o+1]] {
			t.implied[q] = int32(i)
		}
		t.looks += int(t.start[o+1] - t.start[o])
	}
}

// joins reports whether two pieces of one figure, a before b, touch in two of
// their stretches only at the ends that join them.
func (t *touches) joins(a, b int, sa, sb stretch) bool {
	j := t.pl.j
	var joints []point
	if f := &t.figs[j.pieces[a].figure]; f.closed && a == int(f.first) && b == int(f.last) {
		p, _ := j.ends(a)
		joints = append(joints, p)
	}
	if b == a+1 && j.follows(a, b) {
		p, _ := j.ends(b)
		joints = append(joints, p)
	}
	if joints == nil {
		return false
	}
	t.parts[0] = sa.beyond(joint, joints, t.parts[0][:0])
	t.parts[1] = sb.beyond(joint, joints, t.parts[1][:0])
	for _, p := range t.parts[0] {
		for _, q := range t.parts[1] {
			if p.touches(q) {
				return false
			}
		}
	}
	return true
}

// cross notes where a figure's stretch may be inside of a loop, one of whose
// stretches it touches.
func (t *touches) cross(loop, figure int32, l, s stretch) {
	if !t.figs[loop].loop {
		return
	}
	put := func(p point) {
		t.crossings = append(t.crossings, crossing{loop, figure, p})
	}
	put(s.a)
	if s.a == s.b {
		return
	}
	put(s.b)
	put(s.along(0.5))
	// Where it passes through, a little and somewhat more to both sides.
	if s.crosses(l) {
		ta, tb := float64(turn(l.a, l.b, s.a)), float64(turn(l.a, l.b, s.b))
		at, by := ta/(ta-tb), joint/s.b.sub(s.a).length()
		for range 4 {
			for _, to := range []float64{at - by, at + by} {
				if to > 0 && to < 1 {
					put(s.along(to))
				}
			}
			by *= 5
		}
	}
}
