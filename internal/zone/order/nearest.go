package order

import "math"

// nearest finds the nearest of points that are in, which come and go: a k-d tree
// that stands in an array, the middle of each range being its root.
type nearest struct {
	pts []point
	ids []int32 // in the order of the tree
	pos []int32 // of each id in it
	in  []bool  // by place in the tree
	sum []int32 // how many are in of the range that a place is the root of
}

// newNearest makes a tree of some of the points, none of them in; pos is as long
// as pts, and may serve trees that have no point in common.
func newNearest(pts []point, ids, pos []int32) *nearest {
	n := &nearest{pts: pts, ids: ids, pos: pos, in: make([]bool, len(ids)), sum: make([]int32, len(ids))}
	n.split(0, len(ids), false)
	for i, id := range ids {
		n.pos[id] = int32(i)
	}
	return n
}

func (n *nearest) along(id int32, y bool) int32 {
	if y {
		return n.pts[id].y
	}
	return n.pts[id].x
}

// split sorts a range into a tree.
func (n *nearest) split(lo, hi int, y bool) {
	for hi-lo > 1 {
		mid := (lo + hi) / 2
		n.middle(lo, hi, mid, y)
		n.split(lo, mid, !y)
		lo, y = mid+1, !y
	}
}

// middle puts the one that belongs there at mid, lesser ones before it.
func (n *nearest) middle(lo, hi, mid int, y bool) {
	for hi--; lo < hi; {
		p := n.along(n.ids[(lo+hi)/2], y)
		i, j := lo, hi
		for i <= j {
			for n.along(n.ids[i], y) < p {
				i++
			}
			for n.along(n.ids[j], y) > p {
				j--
			}
			if i <= j {
				n.ids[i], n.ids[j] = n.ids[j], n.ids[i]
				i++
				j--
			}
		}
		switch {
		case mid <= j:
			hi = j
		case mid >= i:
			lo = i
		default:
			return
		}
	}
}

// put puts a point in, or takes it out.
func (n *nearest) put(id int32, in bool) {
	at := int(n.pos[id])
	by := int32(1)
	if !in {
		by = -1
	}
	n.in[at] = in
	for lo, hi := 0, len(n.ids); ; {
		mid := (lo + hi) / 2
		n.sum[mid] += by
		switch {
		case at < mid:
			hi = mid
		case at > mid:
			lo = mid + 1
		default:
			return
		}
	}
}

// any reports whether any point is in.
func (n *nearest) any() bool { return len(n.ids) > 0 && n.sum[len(n.ids)/2] > 0 }

// to is the one of those that are in that is nearest to a place; there is one.
func (n *nearest) to(p point) int32 {
	best, at := math.Inf(1), int32(-1)
	n.seek(p, 0, len(n.ids), false, &best, &at)
	return at
}

func (n *nearest) seek(p point, lo, hi int, y bool, best *float64, at *int32) {
	if lo >= hi {
		return
	}
	mid := (lo + hi) / 2
	if n.sum[mid] == 0 {
		return
	}
	id := n.ids[mid]
	if n.in[mid] {
		d := n.pts[id].sub(p)
		if d := float64(d.x)*float64(d.x) + float64(d.y)*float64(d.y); d < *best || d == *best && id < *at {
			*best, *at = d, id
		}
	}
	to := p.x
	if y {
		to = p.y
	}
	d := float64(to) - float64(n.along(id, y))
	if d < 0 {
		n.seek(p, lo, mid, !y, best, at)
	} else {
		n.seek(p, mid+1, hi, !y, best, at)
	}
	if d*d < *best {
		if d < 0 {
			n.seek(p, mid+1, hi, !y, best, at)
		} else {
			n.seek(p, lo, mid, !y, best, at)
		}
	}
}
