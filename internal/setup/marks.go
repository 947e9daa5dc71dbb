// Package setup says where and how the focus is set: at a place on the stock of the right
// height, clear of what is marked, or from the datum, in words that are the same wherever
// they stand; and it writes the bench sheet of a program.
package setup

import (
	"math"

	"sagitta/internal/machine"
	"sagitta/internal/surface"
)

// FocusPoint is a place on the stock to set the focus at.
type FocusPoint struct {
	X, Y float64 // program XY, mm
	// Height is the stock's there, in mm over the datum: that of the focus,
	// or what comes nearest to it.
	Height float64
	// FromMarks is how far it is from anything that is marked, in mm, as
	// far as that matters; of Place from what is burned before.
	FromMarks float64
	// Uneven is by how many mm the stock rises or falls from the middle of the gauge's
	// foot to its rim, and Spoiled tells that it stands on what is burned, or within
	// what may be cut free, before. Place tells both.
	Uneven  float64
	Spoiled bool
}

const (
	// ClearOfMarks is how far in mm from marks a point is far enough: beyond
	// the gauge that is set on it.
	ClearOfMarks = 8
	// PointTolerance is how far in mm a point's height may be from that of
	// the focus: what no bench sets better.
	PointTolerance = 0.005
)

// markCells is how many cells the map of what is marked has on a side.
const markCells = 192

// Marks is a coarse map of where a job burns, over the surface; over one turn of a
// surface that repeats, where what is marked on one turn is marked on all.
type Marks struct {
	// Over is by how many mm the head stands too low at a place, set at a height;
	// 0 where it is clear. nil is clear everywhere.
	Over func(x, y, height float64) float64

	// Foot is how wide the gauge's foot is, in mm.
	Foot float64

	// Reach is how far the machine goes: of a place beyond it nothing else counts.
	Reach machine.Reach

	*Mesh
	set      layer
	distance far // from what is marked, nil where that is not worked out

	high   []float64      // of the stock in the middles of cells, NaN where it is not needed yet
	boxes  layer          // of set
	layers map[int]*layer // see In
	layer  *layer         // what is marked goes there, where not nil
}

// NewMarks begins a map on which nothing is marked.
func NewMarks(p *surface.Placed) *Marks { return NewMesh(p).Marks() }

// cell gives the cell of program XY, -1 outside.
func (m *Marks) cell(x, y float64) int {
	x, y = m.on.Local(x, y)
	y -= m.y0
	if m.turn > 0 {
		y -= m.turn * math.Floor(y/m.turn)
	}
	i, j := int(math.Floor((x-m.x0)/m.dx)), int(math.Floor(y/m.dy))
	if m.turn > 0 {
		j = min(j, markCells-1) // rounded up to a whole turn
	}
	if i < 0 || j < 0 || i >= markCells || j >= markCells {
		return -1
	}
	return j*markCells + i
}

// steps is in how many steps a length is marked.
func (m *Marks) steps(length float64) float64 {
	most := 4.0 * markCells
	if m.turn > 0 {
		most *= max(1, length/m.turn)
	}
	return max(1, min(math.Ceil(2*length/min(m.dx, m.dy)), most, mostSteps))
}

// mostSteps bounds the work of one line over many turns.
const mostSteps = 1e5

// Line marks a straight burn, in program XY.
func (m *Marks) Line(x0, y0, x1, y1 float64) {
	a, b := m.cell(x0, y0), m.cell(x1, y1)
	same := a >= 0 && a == b && (m.turn == 0 || math.Abs(x1-x0)+math.Abs(y1-y0) < m.turn/2)
	to := m.layer
	if to == nil {
		to = &m.set
	}
	if same && to.has(a) {
		return
	}
	to.begin(x0, y0)
	if to == &m.set {
		m.distance = nil
	}
	n := 1.0
	if !same {
		n = m.steps(math.Hypot(x1-x0, y1-y0))
	}
	for k := 0.0; k <= n; k++ {
		if c := m.cell(x0+(x1-x0)*k/n, y0+(y1-y0)*k/n); c >= 0 {
			to.put(c)
		}
	}
}

// Box marks a box that stands on the bench, and so many mm beside it: no gauge
// gets there under the head.
func (m *Marks) Box(b surface.Box, beside float64) {
	x0, y0, x1, y1 := b.X0-beside, b.Y0-beside, b.X1+beside, b.Y1+beside
	n := min(m.steps(y1-y0), 8*markCells)
	for k := 0.0; k <= n; k++ {
		y := y0 + (y1-y0)*k/n
		m.Line(x0, y, x1, y)
		m.layer = &m.boxes
		m.Line(x0, y, x1, y)
		m.layer = nil
	}
}

// arcStep is the angle in radians of the chords by which arcs are marked.
const arcStep = 0.2

// Move marks a burn, in program XY.
func (m *Marks) Move(b *machine.Move) { m.Part(b, 0, 1) }

// Part marks the part of a burn from fraction s0 to s1.
func (m *Marks) Part(b *machine.Move, s0, s1 float64) {
	n := 1
	if b.Kind == machine.Arc { // of small ones fewer do
		n += int((s1 - s0) * min(math.Abs(b.Sweep)/arcStep, b.Length/min(m.dx, m.dy), 1e4))
	}
	at := b.XY(s0)
	for k := 1; k <= n; k++ {
		to := b.XY(s0 + (s1-s0)*float64(k)/float64(n))
		m.Line(at[0], at[1], to[0], to[1])
		at = to
	}
}

// At finds a place on the stock of a height, in mm over the datum: between two
// places of a mesh over the surface, one above and one below, where the height
// itself is right. Of all there are it takes one within reach, where the head is clear, of
// those one clear of what is marked, and of those the nearest to the middle of
// the surface.
func (m *Marks) At(f float64) FocusPoint {
	if m.distance == nil {
		m.distance = m.distances(&m.set.cells)
	}
	best, bestScore := FocusPoint{}, math.Inf(-1)
	try := func(lx, ly float64) {
		x, y := m.on.Program(lx, ly)
		x, y = math.Round(x*1e3)/1e3, math.Round(y*1e3)/1e3
		h, where := m.on.At(x, y)
		if where != surface.On {
			return
		}
		away := 0.0
		if c := m.cell(x, y); c >= 0 {
			away = min(m.distance(c), ClearOfMarks)
		}
		cx, cy := m.x0+m.dx*markCells/2, m.y0+m.dy*markCells/2
		off := math.Hypot(lx-cx, ly-cy) / math.Hypot(m.dx*markCells, m.dy*markCells)
		score := -1e6*max(0, math.Abs(h-f)-PointTolerance) + away - off
		score -= 1e9 * m.Reach.Beyond(x, y)
		if m.Over != nil && score > bestScore {
			score -= 1e3 * m.Over(x, y, f)
		}
		if score > bestScore {
			best, bestScore = FocusPoint{X: x, Y: y, Height: h, FromMarks: away}, score
		}
	}
	m.level(m.corner(), f, func(lx, ly float64) float64 {
		try(lx, ly)
		if bestScore < -1 {
			return math.Inf(1)
		}
		return 0
	})
	low, high, lowAt, highAt := m.on.Range()
	if math.Abs(best.Height-f) > PointTolerance || math.IsInf(bestScore, 0) {
		at := lowAt
		if math.Abs(high-f) < math.Abs(low-f) {
			at = highAt
		}
		try(m.on.Local(at[0], at[1]))
	}
	return best
}
