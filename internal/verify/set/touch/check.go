package touch

import "slices"

// Pair is two stretches that touch and come in the wrong order: First was put in first,
// and has the higher rank.
type Pair struct {
	First, Second int
	X, Y          float64
}

// MostWork is how much work Check is worth: some ten seconds.
const MostWork = 1 << 27

const (
	// mostPairs is how many pairs are found at most.
	mostPairs = 100
	// mostTurns is how often lines that lie on one another are exchanged.
	mostTurns = 12
	// leaf is how many blocks are held against each other at once, deepest how often
	// the plane is divided.
	leaf, deepest = 16, 40
)

// check is one search for pairs.
type check struct {
	*Lines
	joints func(a, b int) [][2]float64
	pairs  []Pair
	seen   map[[2]int32]bool
	turned bool
	work   *int // that is left
	stack  []int32
}

// Check finds the pairs of stretches in the wrong order, some at most. joints gives where
// two stretches, the one that was put in first and the other, join. whole is false where
// not all was looked at, as it would be too much: work is what is left for that.
//
// Lines that lie on one another and have the same hash may change places: then their
// ranks are exchanged.
func (l *Lines) Check(joints func(a, b int) [][2]float64, work *int) (pairs []Pair, whole bool) {
	c := &check{Lines: l, joints: joints, work: work}
	ids := make([]int32, len(l.blocks))
	all := box{}
	for i := range ids {
		ids[i] = int32(i)
		b := &l.blocks[i].box
		if i == 0 {
			all = *b
		}
		all.take(point{b.x0, b.y0})
		all.take(point{b.x1, b.y1})
	}
	for range mostTurns {
		c.pairs, c.seen, c.turned = nil, map[[2]int32]bool{}, false
		c.divide(ids, all, 0)
		if !c.turned {
			break
		}
	}
	return c.pairs, *c.work > 0 && !c.turned
}

// sorted reports whether no two blocks can be in the wrong order.
func (c *check) sorted(ids []int32) bool {
	most := int32(-1)
	for _, i := range ids {
		rank := c.blocks[i].rank
		if rank < most {
			return false
		}
		most = rank
	}
	return true
}

// divide looks at blocks that meet a box.
func (c *check) divide(ids []int32, in box, depth int) {
	*c.work -= len(ids)
	if *c.work <= 0 || len(c.pairs) >= mostPairs && !c.turned || c.sorted(ids) {
		return
	}
	wide := int64(in.x1)-int64(in.x0) > int64(in.y1)-int64(in.y0)
	for range 2 {
		if len(ids) <= leaf || depth >= deepest {
			break
		}
		low, high := in, in
		if wide {
			low.x1 = int32((int64(in.x0) + int64(in.x1)) / 2)
			high.x0 = low.x1
		} else {
			low.y1 = int32((int64(in.y0) + int64(in.y1)) / 2)
			high.y0 = low.y1
		}
		if c.halves(ids, low, high, depth) {
			return
		}
		wide = !wide
	}
	for k, i := range ids {
		for _, j := range ids[k+1:] {
			if c.blocks[i].rank > c.blocks[j].rank {
				c.hold(i, j)
			}
		}
	}
}

// halves looks at the halves of a box, and reports whether that helps.
func (c *check) halves(ids []int32, low, high box, depth int) bool {
	base := len(c.stack)
	defer func() { c.stack = c.stack[:base] }()
	c.gather(ids, &low)
	mid := len(c.stack)
	c.gather(ids, &high)
	if nLow, nHigh := mid-base, len(c.stack)-mid; max(nLow, nHigh) == len(ids) && nLow > 0 && nHigh > 0 && min(nLow, nHigh) > len(ids)*3/4 {
		return false
	}
	end := len(c.stack)
	c.divide(c.stack[base:mid:mid], low, depth+1)
	c.divide(c.stack[mid:end:end], high, depth+1)
	return true
}

const (
	nearSteps = int32(Near*perMM) + 2
)

// gather puts those of the blocks on the stack that meet a box.
func (c *check) gather(ids []int32, in *box) {
	for _, i := range ids {
		b := &c.blocks[i]
		if b.box.meets(in, nearSteps) && (b.bent || b.n != 2 || c.passes(b, in)) {
			c.stack = append(c.stack, i)
		}
	}
}

// passes reports whether the one line of a block passes a box.
func (c *check) passes(b *block, in *box) bool {
	p, q := c.points[b.first].mm(), c.points[b.first+1].mm()
	d := q.sub(p)
	lo, hi := point{in.x0, in.y0}.mm(), point{in.x1, in.y1}.mm()
	mid := lo.along(hi, 0.5)
	hx, hy := (hi.x-lo.x)/2+2*Near, (hi.y-lo.y)/2+2*Near
	off := d.cross(mid.sub(p))
	return max(off, -off) <= hx*max(d.y, -d.y)+hy*max(d.x, -d.x)
}

// hold holds two blocks in the wrong order against each other.
func (c *check) hold(i, j int32) {
	a, b := &c.blocks[i], &c.blocks[j]
	*c.work--
	key := [2]int32{a.stretch, b.stretch}
	if !a.box.meets(&b.box, nearSteps) || c.seen[key] && !c.alike(a, b) {
		return
	}
	if c.alike(a, b) {
		a.rank, b.rank, c.turned = b.rank, a.rank, true
		return
	}
	m := meeting{c: c, a: a, b: b}
	at, ok := m.find()
	if !ok {
		return
	}
	c.seen[key] = true
	c.pairs = append(c.pairs, Pair{int(a.stretch), int(b.stretch), at.x, at.y})
}

// alike reports whether two blocks may change places.
func (c *check) alike(a, b *block) bool {
	if a.hash != b.hash || a.n != b.n || a.bent != b.bent || a.box != b.box {
		return false
	}
	if a.bent {
		return slices.Equal(c.arcs[a.first:a.first+a.n], c.arcs[b.first:b.first+b.n])
	}
	return slices.Equal(c.points[a.first:a.first+a.n], c.points[b.first:b.first+b.n])
}
