package order

import (
	"cmp"
	"math"
	"slices"
)

// net is made of the open figures that are part of closed chains, and of the
// places where their ends meet.
type net struct {
	node   []int32          // of each side, where it begins; -1 none
	around map[int32][]side // what leaves a node, counter-clockwise
}

func newNet(j *Job, figs []figure) *net {
	n := &net{node: make([]int32, 2*len(figs)), around: map[int32][]side{}}
	ends := make([]point, 2*len(figs))
	open := 0
	for f := range figs {
		n.node[2*f], n.node[2*f+1] = -1, -1
		if fig := &figs[f]; fig.whole && !fig.closed {
			if first, end := j.span(fig); end-first >= 2 {
				ends[2*f], ends[2*f+1] = j.pts[first], j.pts[end-1]
				n.node[2*f], n.node[2*f+1] = int32(2*f), int32(2*f+1)
				open++
			}
		}
	}
	n.meet(ends, open)
	n.strip()
	for s, node := range n.node {
		if node >= 0 {
			n.around[node] = append(n.around[node], side(s))
		}
	}
	for _, sides := range n.around {
		slices.SortFunc(sides, func(a, b side) int {
			return cmp.Or(cmp.Compare(leaves(j, figs, a), leaves(j, figs, b)), cmp.Compare(a, b))
		})
	}
	return n
}

// meet gives ends that meet one node.
func (n *net) meet(ends []point, open int) {
	const size = 4 * int32(touch)
	b := fill(2*open, func(put func(uint32, int32)) {
		for s, node := range n.node {
			if node >= 0 {
				put(cell(ends[s].x/size, ends[s].y/size), int32(s))
			}
		}
	})
	root := func(s int32) int32 {
		for n.node[s] != s {
			n.node[s] = n.node[n.node[s]]
			s = n.node[s]
		}
		return s
	}
	const r = int32(touch)
	for s, node := range n.node {
		if node < 0 {
			continue
		}
		e := ends[s]
		var last uint32
		for k, d := range []point{{-r, -r}, {r, -r}, {-r, r}, {r, r}} {
			hash := cell((e.x+d.x)/size, (e.y+d.y)/size)
			if k > 0 && hash == last {
				continue
			}
			last = hash
			for _, o := range b.in(hash) {
				if int(o) >= s {
					break
				}
				if (stretch{ends[o], ends[o]}).near(e) {
					n.node[root(int32(s))] = root(o)
					if ends[o] == e {
						break // the others there have been joined to it
					}
				}
			}
		}
	}
	for s, node := range n.node {
		if node >= 0 {
			n.node[s] = root(int32(s))
		}
	}
}

// strip takes out figures that lead to nothing.
func (n *net) strip() {
	at := make([]int32, len(n.node)) // sides at each node
	sum := make([]int32, len(n.node))
	for s, node := range n.node {
		if node >= 0 {
			at[node]++
			sum[node] ^= int32(s) // of one that is alone, the side
		}
	}
	for s := range n.node {
		for s := int32(s); n.node[s] >= 0 && at[n.node[s]] == 1; {
			other := n.node[s^1]
			at[n.node[s]] = 0
			n.node[s], n.node[s^1] = -1, -1
			at[other]--
			sum[other] ^= s ^ 1
			if at[other] != 1 {
				break
			}
			s = sum[other]
		}
	}
}

// next is the side that goes on around the face to the left, where the figure
// of s ends.
func (n *net) next(s side) side {
	sides := n.around[n.node[s^1]]
	k := slices.Index(sides, s^1)
	return sides[(k+len(sides)-1)%len(sides)]
}

// leaves is the angle at which a figure leaves an end.
func leaves(j *Job, figs []figure, s side) float64 {
	first, end := j.span(&figs[s/2])
	k, step, n := first, 1, end-first
	if s%2 == 1 {
		k, step = end-1, -1
	}
	from := j.pts[k]
	d := point{}
	for ; n > 1 && d.length() <= touch; n-- {
		k += step
		d = j.pts[k].sub(from)
	}
	return math.Atan2(float64(d.y), float64(d.x))
}
