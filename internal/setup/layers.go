package setup

import (
	"math"
	"slices"
)

// layer is what is marked in one.
type layer struct {
	cells
	// first is where that began, in program XY, where any is.
	first [2]float64
	any   bool
}

// begin takes where something is marked.
func (l *layer) begin(x, y float64) {
	if !l.any {
		l.first, l.any = [2]float64{x, y}, true
	}
}

// In has what is marked from here on in the layer of a number of its own, such as that
// of a zone, and not among what the job marks as a whole; with -1 it is so again.
func (m *Marks) In(number int) {
	if number < 0 {
		m.layer = nil
		return
	}
	if m.layers == nil {
		m.layers = map[int]*layer{}
	}
	if m.layers[number] == nil {
		m.layers[number] = new(layer)
	}
	m.layer = m.layers[number]
}

// Forget empties all layers.
func (m *Marks) Forget() { m.layers, m.layer = nil, nil }

// InBand marks, in the layer of a number, what the job marks on stock of these heights:
// at the middle of a cell it may be higher or lower.
func (m *Marks) InBand(number int, lo, hi float64) {
	pad := min(m.on.MaxSlope()*m.step()/2, (hi-lo)/2)
	lo, hi = lo-pad, hi+pad
	m.In(number)
	if m.set.any {
		m.layer.begin(m.set.first[0], m.set.first[1])
	}
	for c := range markCells * markCells {
		if !m.set.has(c) || m.boxes.has(c) {
			continue
		}
		if m.high == nil {
			m.high = slices.Repeat([]float64{math.NaN()}, markCells*markCells)
		}
		h := m.high[c]
		if h != h {
			h, _ = m.on.At(m.on.Program(m.middle(c)))
			m.high[c] = h
		}
		if h >= lo && h <= hi {
			m.layer.put(c)
		}
	}
	m.In(-1)
}

// middle is that of a cell, in the surface's own coordinates.
func (m *Marks) middle(c int) (x, y float64) {
	return m.x0 + m.dx*(float64(c%markCells)+0.5), m.y0 + m.dy*(float64(c/markCells)+0.5)
}

// together are the cells of some layers.
func (m *Marks) together(numbers []int) *cells {
	all := new(cells)
	for _, number := range numbers {
		if l := m.layers[number]; l != nil {
			for i := range all {
				all[i] |= l.cells[i]
			}
		}
	}
	return all
}

// loose are the cells that no way within the map leads to from its edge but over marked
// ones: what is marked may have cut them free.
func (m *Marks) loose(marked *cells) *cells {
	const n = markCells
	free, reached := new(cells), new(cells)
	if *marked == (cells{}) {
		return free
	}
	var ways []int
	reach := func(i, j int) {
		if m.turn > 0 {
			j = (j + n) % n
		}
		if i < 0 || j < 0 || i >= n || j >= n {
			return
		}
		if c := j*n + i; !reached.has(c) && !marked.has(c) {
			reached.put(c)
			ways = append(ways, c)
		}
	}
	for k := range n {
		reach(0, k)
		reach(n-1, k)
		if m.turn == 0 { // else it goes on there
			reach(k, 0)
			reach(k, n-1)
		}
	}
	for len(ways) > 0 {
		c := ways[len(ways)-1]
		ways = ways[:len(ways)-1]
		i, j := c%n, c/n
		reach(i-1, j)
		reach(i+1, j)
		reach(i, j-1)
		reach(i, j+1)
	}
	for c := range n * n {
		if !reached.has(c) && !marked.has(c) {
			free.put(c)
		}
	}
	return free
}

// step is how far apart the middles of neighbouring cells are at most.
func (m *Marks) step() float64 { return math.Hypot(m.dx, m.dy) }
