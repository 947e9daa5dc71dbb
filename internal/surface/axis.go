package surface

import (
	"math"
	"slices"
)

// axis finds the cell of a coordinate among ascending nodes.
type axis struct {
	node       []float64
	start, end float64   // the outer nodes
	inv        []float64 // 1/width of each cell
	// Buckets of equal width over the whole axis: last[b] is the last cell
	// that begins in bucket b or before. On an even axis that is the cell of
	// nearly every coordinate in b, without a search.
	last  []int32
	scale float64 // buckets per mm
}

// bucketsPerCell makes most buckets hold at most one node.
const bucketsPerCell = 2

func newAxis(node []float64) axis {
	cells := len(node) - 1
	a := axis{node: node, start: node[0], end: node[cells], inv: make([]float64, cells)}
	for i := range a.inv {
		a.inv[i] = 1 / (node[i+1] - node[i])
	}
	n := bucketsPerCell * cells
	a.scale = float64(n) / (a.end - a.start)
	a.last = make([]int32, n+2) // rounding may put the last node into one more
	i := 0
	for b := range a.last {
		for i+1 < cells && a.bucket(node[i+1]) <= b {
			i++
		}
		a.last[b] = int32(i)
	}
	return a
}

// bucket grows with the coordinate, rounding included.
func (a *axis) bucket(v float64) int { return int((v - a.start) * a.scale) }

// cells returns the number of cells.
func (a *axis) cells() int { return len(a.inv) }

// clamp moves v onto the axis; NaN goes to its start.
func (a *axis) clamp(v float64) float64 {
	if !(v > a.start) {
		return a.start
	}
	if v > a.end {
		return a.end
	}
	return v
}

// cell returns the cell i with node[i] <= v < node[i+1]; the last node
// belongs to the last cell. v must be on the axis.
func (a *axis) cell(v float64) int {
	b := a.bucket(v)
	i := int(a.last[b])
	if a.node[i] <= v { // as nearly always on an even axis
		return i
	}
	from := 0
	if b > 0 {
		from = int(a.last[b-1])
	}
	n, at := slices.BinarySearch(a.node[from:i], v)
	if !at {
		n--
	}
	return from + n
}

// before returns the last cell that begins before v, or the first. v must be on
// the axis.
func (a *axis) before(v float64) int {
	i := a.cell(v)
	if i > 0 && a.node[i] == v {
		i--
	}
	return i
}

// region is cell, and -1 below the axis and cells() above it.
func (a *axis) region(v float64) int {
	if !(v >= a.start) {
		return -1
	}
	if v > a.end {
		return a.cells()
	}
	return a.cell(v)
}

// crossing returns where a way that starts at from and goes by so much leaves a
// region: the part of the way (Inf where it does not), the line, and the region
// behind it.
func (a *axis) crossing(region int, from, by float64) (s, line float64, to int) {
	k, to := region+1, region+1
	if by < 0 {
		k, to = region, region-1
	}
	if by == 0 || uint(k) >= uint(len(a.node)) {
		return math.Inf(1), 0, to
	}
	return (a.node[k] - from) / by, a.node[k], to
}

// holds reports whether v is in cell i, without a look at the buckets. False
// for a region beyond the axis.
func (a *axis) holds(i int, v float64) bool {
	return uint(i) < uint(len(a.inv)) && a.node[i] <= v && v < a.node[i+1]
}

// inside returns the cell that stands for a region: the nearest one.
func (a *axis) inside(region int) int {
	return min(max(region, 0), a.cells()-1)
}

// off reports whether v is beyond the axis by more than PlaceToleranceMM.
func (a *axis) off(v float64) bool {
	return v < a.start-PlaceToleranceMM || v > a.end+PlaceToleranceMM
}

// beside reports whether v is in cell i or within PlaceToleranceMM of it.
func (a *axis) beside(i int, v float64) bool {
	return v >= a.node[i]-PlaceToleranceMM && v <= a.node[i+1]+PlaceToleranceMM
}

// roomy reports whether cell i and those beside it are wider than 2r.
func (a *axis) roomy(i int, r float64) bool {
	for k := max(i-1, 0); k <= i+1 && k < a.cells(); k++ {
		if a.node[k+1]-a.node[k] <= 2*r {
			return false
		}
	}
	return true
}

// into moves v into cell i.
func (a *axis) into(i int, v float64) float64 {
	return min(max(v, a.node[i]), a.node[i+1])
}
