// Package setup says where on the stock the focus is set: at a place of the
// right height, clear of what is marked.
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
	// far as that matters.
	FromMarks float64
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

	// Reach is how far the machine goes: of a place beyond it nothing else counts.
	Reach machine.Reach

	on       *surface.Placed
	x0, y0   float64 // of the surface's own coordinates
	dx, dy   float64
	turn     float64 // mm of y; 0 where the surface does not repeat
	set      [markCells * markCells]bool
	distance []float64 // of each cell from a marked one, in mm
	mesh     []float64 // heights at the places of a mesh, NaN where there are none
}

// NewMarks begins a map on which nothing is marked.
func NewMarks(p *surface.Placed) *Marks {
	x, y := p.Surface().X(), p.Surface().Y()
	m := &Marks{on: p, x0: x[0], y0: y[0], turn: p.Surface().Header().WrapsYMM}
	high := y[len(y)-1] - y[0]
	if m.turn > 0 { // it is laid out to as many turns on either side of the one in the middle
		m.y0, high = m.y0+(high-m.turn)/2, m.turn
	}
	m.dx, m.dy = (x[len(x)-1]-x[0])/markCells, high/markCells
	return m
}

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
	if same && m.set[a] {
		return
	}
	m.distance = nil
	n := 1.0
	if !same {
		n = m.steps(math.Hypot(x1-x0, y1-y0))
	}
	for k := 0.0; k <= n; k++ {
		if c := m.cell(x0+(x1-x0)*k/n, y0+(y1-y0)*k/n); c >= 0 {
			m.set[c] = true
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
	}
}

// arcStep is the angle in radians of the chords by which arcs are marked.
const arcStep = 0.2

// Move marks a burn, in program XY.
func (m *Marks) Move(b *machine.Move) {
	n := 1
	if b.Kind == machine.Arc { // of small ones fewer do
		n += int(min(math.Abs(b.Sweep)/arcStep, b.Length/min(m.dx, m.dy), 1e4))
	}
	at := b.XY(0)
	for k := 1; k <= n; k++ {
		to := b.XY(float64(k) / float64(n))
		m.Line(at[0], at[1], to[0], to[1])
		at = to
	}
}

// pointMesh is how many places the mesh has on a side.
const pointMesh = 96

// meshAt is a place of the mesh, in the surface's own coordinates.
func (m *Marks) meshAt(i, j int) (x, y float64) {
	const step = markCells / float64(pointMesh)
	return m.x0 + m.dx*step*(float64(i)+0.5), m.y0 + m.dy*step*(float64(j)+0.5)
}

// widen works out how far each cell is from a marked one, by two sweeps over
// the map with the distances of a step (G. Borgefors, Computer Vision,
// Graphics, and Image Processing 34 (1986) 344: at most a tenth off).
func (m *Marks) widen() {
	if m.distance != nil {
		return
	}
	const n = markCells
	m.distance = make([]float64, n*n)
	for c := range m.distance {
		if !m.set[c] {
			m.distance[c] = math.Inf(1)
		}
	}
	diag := math.Hypot(m.dx, m.dy)
	near := func(c, i, j, di, dj int, step float64) {
		i, j = i+di, j+dj
		if m.turn > 0 {
			j = (j + n) % n
		}
		if i >= 0 && i < n && j >= 0 && j < n {
			m.distance[c] = min(m.distance[c], m.distance[j*n+i]+step)
		}
	}
	sweep := func(c, back int) {
		i, j := c%n, c/n
		near(c, i, j, back, 0, m.dx)
		near(c, i, j, 0, back, m.dy)
		near(c, i, j, back, back, diag)
		near(c, i, j, -back, back, diag)
	}
	for range 2 { // again for what is near over the seam of a turn
		for c := range n * n {
			sweep(c, -1)
		}
		for c := n*n - 1; c >= 0; c-- {
			sweep(c, 1)
		}
	}
}

// At finds a place on the stock of a height, in mm over the datum: between two
// places of a mesh over the surface, one above and one below, where the height
// itself is right. Of all there are it takes one within reach, where the head is clear, of
// those one clear of what is marked, and of those the nearest to the middle of
// the surface.
func (m *Marks) At(f float64) FocusPoint {
	m.widen()
	if m.mesh == nil {
		m.mesh = make([]float64, pointMesh*pointMesh)
		for k := range m.mesh {
			h, where := m.on.At(m.on.Program(m.meshAt(k%pointMesh, k/pointMesh)))
			if m.mesh[k] = h; where != surface.On {
				m.mesh[k] = math.NaN()
			}
		}
	}
	best, bestScore := FocusPoint{}, math.Inf(-1)
	try := func(lx, ly float64) {
		x, y := m.on.Program(lx, ly)
		x, y = math.Round(x*1e3)/1e3, math.Round(y*1e3)/1e3
		h, where := m.on.At(x, y)
		if where != surface.On {
			return
		}
		far := 0.0
		if c := m.cell(x, y); c >= 0 {
			far = min(m.distance[c], ClearOfMarks)
		}
		cx, cy := m.x0+m.dx*markCells/2, m.y0+m.dy*markCells/2
		off := math.Hypot(lx-cx, ly-cy) / math.Hypot(m.dx*markCells, m.dy*markCells)
		score := -1e6*max(0, math.Abs(h-f)-PointTolerance) + far - off
		score -= 1e9 * m.Reach.Beyond(x, y)
		if m.Over != nil && score > bestScore {
			score -= 1e3 * m.Over(x, y, f)
		}
		if score > bestScore {
			best, bestScore = FocusPoint{X: x, Y: y, Height: h, FromMarks: far}, score
		}
	}
	for k := range m.mesh {
		i, j := k%pointMesh, k/pointMesh
		for _, next := range [2][2]int{{i + 1, j}, {i, j + 1}} {
			if max(next[0], next[1]) >= pointMesh {
				continue
			}
			a, b := m.mesh[k]-f, m.mesh[next[1]*pointMesh+next[0]]-f
			lx, ly := m.meshAt(i, j)
			if a == 0 || bestScore < -1 && a == a {
				try(lx, ly)
			}
			if a*b < 0 {
				nx, ny := m.meshAt(next[0], next[1])
				t, half := 0.5, 0.5
				for range 50 { // halving
					half /= 2
					if h, _ := m.on.At(m.on.Program(lx+(nx-lx)*t, ly+(ny-ly)*t)); h-f > 0 == (b > 0) {
						t -= half
					} else {
						t += half
					}
				}
				try(lx+(nx-lx)*t, ly+(ny-ly)*t)
			}
		}
	}
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
