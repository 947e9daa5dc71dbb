package surface

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
	// cellOf holds node, 1/width and width of each cell side by side.
	cellOf []axisCell
}

// axisCell is padded to a power of two, by which an index is a shift.
type axisCell struct{ node, inv, width, _ float64 }

// bucketsPerCell makes most buckets hold at most one node.
const bucketsPerCell = 2

// longWalk is the number of cells from which bisection beats walking.
const longWalk = 8

func newAxis(node []float64) axis {
	cells := len(node) - 1
	a := axis{node: node, start: node[0], end: node[cells], inv: make([]float64, cells), cellOf: make([]axisCell, cells)}
	for i := range a.inv {
		a.inv[i] = 1 / (node[i+1] - node[i])
		a.cellOf[i] = axisCell{node: node[i], inv: a.inv[i], width: node[i+1] - node[i]}
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
	i := a.guess(v)
	if a.node[i] > v {
		i = a.search(v)
	}
	return i
}

// before returns the last cell that begins before v, or the first. v must be on
// the axis.
func (a *axis) before(v float64) int {
	i := a.guess(v)
	for i > 0 && a.node[i] >= v {
		i--
	}
	return i
}

// guess is cell where node[guess] <= v, as nearly always on an even axis. It
// stands alone because the compiler inlines it, but not cell.
func (a *axis) guess(v float64) int { return int(a.last[a.bucket(v)]) }

// search finds the cell of v where it is not the last of its bucket.
func (a *axis) search(v float64) int {
	b := a.bucket(v)
	i, lo := int(a.last[b]), 0
	if b > 0 {
		lo = int(a.last[b-1])
	}
	if i-lo > longWalk {
		for lo < i {
			m := (lo + i + 1) / 2
			if a.node[m] <= v {
				lo = m
			} else {
				i = m - 1
			}
		}
		return i
	}
	for i > lo && a.node[i] > v {
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

// into moves v into cell i.
func (a *axis) into(i int, v float64) float64 {
	return min(max(v, a.node[i]), a.node[i+1])
}
