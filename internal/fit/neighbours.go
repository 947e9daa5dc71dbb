package fit

import (
	"math"
	"slices"
)

// near finds the points around a place. Points are kept in square cells of
// about two points each.
type near struct {
	points []Point
	lo     [2]float64
	size   float64
	nx, ny int
	first  []int32 // of each cell, into list; one more at the end
	list   []int32
}

func newNear(points []Point) *near {
	lo, hi := box(points)
	w, h := max(hi[0]-lo[0], 1e-9), max(hi[1]-lo[1], 1e-9)
	n := &near{points: points, lo: lo}
	n.size = max(math.Sqrt(2*w*h/float64(len(points))), max(w, h)/4096)
	n.nx, n.ny = int(w/n.size)+1, int(h/n.size)+1
	n.first = make([]int32, n.nx*n.ny+1)
	cell := make([]int32, len(points))
	for k := range points {
		i, j := n.cell(points[k].X, points[k].Y)
		cell[k] = int32(j*n.nx + i)
		n.first[cell[k]+1]++
	}
	for c := range n.nx * n.ny {
		n.first[c+1] += n.first[c]
	}
	n.list = make([]int32, len(points))
	at := slices.Clone(n.first)
	for k := range points {
		n.list[at[cell[k]]] = int32(k)
		at[cell[k]]++
	}
	return n
}

func (n *near) cell(x, y float64) (i, j int) {
	i = min(max(int((x-n.lo[0])/n.size), 0), n.nx-1)
	j = min(max(int((y-n.lo[1])/n.size), 0), n.ny-1)
	return i, j
}

// found is a point and the square of its distance.
type found struct {
	k  int32
	d2 float64
}

// around appends to dst the count points nearest to x, y, nearest first, but
// for those that skip tells.
func (n *near) around(dst []found, x, y float64, count int, skip func(k int32) bool) []found {
	dst = dst[:0]
	ci, cj := n.cell(x, y)
	for ring := 0; ; ring++ {
		hit := false
		for j := max(cj-ring, 0); j <= min(cj+ring, n.ny-1); j++ {
			step := 1
			if j != cj-ring && j != cj+ring {
				step = max(2*ring, 1)
			}
			for i := ci - ring; i <= ci+ring; i += step {
				if i < 0 || i >= n.nx {
					continue
				}
				hit = true
				c := j*n.nx + i
				for _, k := range n.list[n.first[c]:n.first[c+1]] {
					if skip != nil && skip(k) {
						continue
					}
					p := &n.points[k]
					d := found{k, (p.X-x)*(p.X-x) + (p.Y-y)*(p.Y-y)}
					if len(dst) == count && d.d2 >= dst[len(dst)-1].d2 {
						continue
					}
					at := len(dst)
					for at > 0 && dst[at-1].d2 > d.d2 {
						at--
					}
					if len(dst) < count {
						dst = append(dst, d)
					}
					copy(dst[at+1:], dst[at:len(dst)-1])
					dst[at] = d
				}
			}
		}
		// No point of a later ring is nearer than this.
		reach := float64(ring) * n.size
		if len(dst) == count && dst[count-1].d2 <= reach*reach || !hit {
			return dst
		}
	}
}
