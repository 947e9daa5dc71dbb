package setup

import (
	"iter"
	"math"
	"sync"

	"sagitta/internal/surface"
)

// Mesh is stock with its heights at places of a mesh. It does not change and may be shared
// between goroutines.
type Mesh struct {
	on     *surface.Placed
	x0, y0 float64 // of the surface's own coordinates
	dx, dy float64 // of a cell of a map of it
	turn   float64 // mm of y; 0 where the surface does not repeat
	// heights are those at its places, row by row, NaN where there are none.
	heights func() []float64
}

// meshSide is how many places a mesh has on a side.
const meshSide = 96

// NewMesh lays a mesh over a surface. Its heights are looked up once they are wanted.
func NewMesh(p *surface.Placed) *Mesh {
	x, y := p.Surface().X(), p.Surface().Y()
	m := &Mesh{on: p, x0: x[0], y0: y[0], turn: p.Surface().Header().WrapsYMM}
	high := y[len(y)-1] - y[0]
	if m.turn > 0 { // it is laid out to as many turns on either side of the one in the middle
		m.y0, high = m.y0+(high-m.turn)/2, m.turn
	}
	m.dx, m.dy = (x[len(x)-1]-x[0])/markCells, high/markCells
	m.heights = sync.OnceValue(m.look)
	return m
}

// Marks begins a map of the stock on which nothing is marked.
func (m *Mesh) Marks() *Marks { return &Marks{Mesh: m} }

// look looks up the heights.
func (m *Mesh) look() []float64 {
	heights := make([]float64, meshSide*meshSide)
	for k := range heights {
		h, where := m.on.At(m.on.Program(m.at(k%meshSide, k/meshSide)))
		if heights[k] = h; where != surface.On {
			heights[k] = math.NaN()
		}
	}
	return heights
}

// meshStep is from a place to the next, in cells of a map.
const meshStep = markCells / float64(meshSide)

// at is a place of the mesh, in the surface's own coordinates.
func (m *Mesh) at(i, j int) (x, y float64) {
	return m.x0 + m.dx*meshStep*(float64(i)+0.5), m.y0 + m.dy*meshStep*(float64(j)+0.5)
}

// corner is the first place of the mesh, in program XY.
func (m *Mesh) corner() (xy [2]float64) {
	xy[0], xy[1] = m.on.Program(m.at(0, 0))
	return xy
}

// next is the place of the mesh that is next to program XY.
func (m *Mesh) next(xy [2]float64) (i, j int) {
	x, y := m.on.Local(xy[0], xy[1])
	place := func(cells float64) int { return int(max(0, min(cells/meshStep, meshSide-1))) }
	return place((x - m.x0) / m.dx), place((y - m.y0) / m.dy)
}

// around are the places of a mesh, ring by ring around one.
func around(i0, j0 int) iter.Seq2[int, int] {
	return func(yield func(i, j int) bool) {
		for r := range meshSide {
			for j := max(j0-r, 0); j <= min(j0+r, meshSide-1); j++ {
				step := 1
				if max(j-j0, j0-j) < r {
					step = 2 * r // those between have been
				}
				for i := i0 - r; i <= i0+r; i += step {
					if i >= 0 && i < meshSide && !yield(i, j) {
						return
					}
				}
			}
		}
	}
}

// level calls try for places on the stock, in the surface's own coordinates and from those
// near program XY outwards: where its height between two places of the mesh is f, and for
// places of the mesh that are off f by no more than try said last that counts.
func (m *Mesh) level(near [2]float64, f float64, try func(lx, ly float64) (counts float64)) {
	heights, counts := m.heights(), math.Inf(1)
	for i, j := range around(m.next(near)) {
		k := j*meshSide + i
		a := heights[k] - f
		if math.Abs(a) <= counts {
			counts = try(m.at(i, j))
		}
		if i+1 < meshSide && a*(heights[k+1]-f) < 0 {
			counts = try(m.between(i, j, i+1, j, f))
		}
		if j+1 < meshSide && a*(heights[k+meshSide]-f) < 0 {
			counts = try(m.between(i, j, i, j+1, f))
		}
	}
}

// between is the place between two of the mesh, one above a height and one below, where the
// stock has it.
func (m *Mesh) between(i, j, i1, j1 int, f float64) (x, y float64) {
	x, y = m.at(i, j)
	x1, y1 := m.at(i1, j1)
	above := m.heights()[j1*meshSide+i1] > f
	t, half := 0.5, 0.5
	for range 50 { // halving
		half /= 2
		if h, _ := m.on.At(m.on.Program(x+(x1-x)*t, y+(y1-y)*t)); h > f == above {
			t -= half
		} else {
			t += half
		}
	}
	return x + (x1-x)*t, y + (y1-y)*t
}
