package nearby

import "sagitta/internal/least"

// leaf is how many points a leaf of a tree has at most.
const leaf = 8

// tree finds the nearest of many points (a k-d tree, J. Bentley, CACM 18 (1975) 509):
// each range of its order is parted in its middle, along the longer side of its box.
type tree struct {
	at    [][2]float64
	order []int32
	along []uint8 // the axis by which a range is parted, and where, at its middle
	cut   []float64
	found []other

	values []float64 // room
	most   int
}

// other is a point by its distance squared.
type other struct {
	square float64
	k      int32
}

func newTree(at [][2]float64) *tree {
	t := &tree{at: at, order: make([]int32, len(at)), along: make([]uint8, len(at)), cut: make([]float64, len(at))}
	for k := range at {
		t.order[k] = int32(k)
	}
	t.part(0, len(at))
	t.values = nil
	return t
}

func (t *tree) part(lo, hi int) {
	if hi-lo <= leaf {
		return
	}
	low, high := t.at[t.order[lo]], t.at[t.order[lo]]
	for _, k := range t.order[lo:hi] {
		for a, v := range t.at[k] {
			low[a], high[a] = min(low[a], v), max(high[a], v)
		}
	}
	axis := 0
	if high[1]-low[1] > high[0]-low[0] {
		axis = 1
	}
	mid := (lo + hi) / 2
	t.along[mid] = uint8(axis)
	t.split(t.order[lo:hi], mid-lo, axis)
	t.cut[mid] = t.at[t.order[mid]][axis]
	t.part(lo, mid)
	t.part(mid, hi)
}

// split puts the points that come before the middle one along an axis before it, and
// the others behind it.
func (t *tree) split(v []int32, mid, axis int) {
	t.values = t.values[:0]
	for _, k := range v {
		t.values = append(t.values, t.at[k][axis])
	}
	middle := least.Select(t.values, mid)
	// Those before the middle, at it, and behind it, in this order (E. Dijkstra's flag).
	for i, lo, hi := 0, 0, len(v); i < hi; {
		switch at := t.at[v[i]][axis]; {
		case at < middle:
			v[lo], v[i] = v[i], v[lo]
			lo, i = lo+1, i+1
		case at > middle:
			hi--
			v[i], v[hi] = v[hi], v[i]
		default:
			i++
		}
	}
}

// nearest gives up to most of the others that are nearest to point k, nearest first, ties
// by their order. It holds until the next call.
func (t *tree) nearest(k, most int) []other {
	t.found = t.found[:0]
	if t.most = min(most, len(t.at)-1); t.most > 0 {
		t.visit(int32(k), 0, len(t.order))
	}
	return t.found
}

// apart is the square of how far two places are apart.
func (t *tree) apart(a, b int32) float64 {
	x, y := t.at[a][0]-t.at[b][0], t.at[a][1]-t.at[b][1]
	return x*x + y*y
}

// visit looks for what is near point k in a range.
func (t *tree) visit(k int32, lo, hi int) {
	if hi-lo <= leaf {
		for _, m := range t.order[lo:hi] {
			if m != k {
				t.take(other{t.apart(k, m), m})
			}
		}
		return
	}
	mid := (lo + hi) / 2
	axis := t.along[mid]
	far := t.at[k][axis] - t.cut[mid]
	first, last := [2]int{lo, mid}, [2]int{mid, hi}
	if far >= 0 {
		first, last = last, first
	}
	t.visit(k, first[0], first[1])
	if len(t.found) < t.most || far*far <= t.found[t.most-1].square {
		t.visit(k, last[0], last[1])
	}
}

// take puts a point among the nearest, where it is one of them.
func (t *tree) take(o other) {
	before := func(a, b other) bool { return a.square < b.square || a.square == b.square && a.k < b.k }
	n := len(t.found)
	if n == t.most && !before(o, t.found[n-1]) {
		return
	}
	if n < t.most {
		t.found = append(t.found, o)
		n++
	}
	at := n - 1
	for ; at > 0 && before(o, t.found[at-1]); at-- {
		t.found[at] = t.found[at-1]
	}
	t.found[at] = o
}
