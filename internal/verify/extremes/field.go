package extremes

import (
	"math"
	"sort"

	"sagitta/internal/surface"
)

// Field is a placed surface, and what searching it takes.
type Field struct {
	at    *surface.Placed
	x, y  []float64
	along *basis // of the height along a straight line within a cell
	// Low and High bound all heights in mm, those beyond the edge and over
	// holes included.
	Low, High float64
	// slopes bound those of the cells along both axes, in mm/mm, +Inf of a hole;
	// nil before they are asked for. steep is the steepest.
	slopes [][2]float64
	steep  float64
	// bends bound its second derivatives in the cells, in 1/mm; nil before they are asked for.
	bends []float64
	// less is by how much a depth is less in each cell, nil where it is the same in all of
	// them, and mostLess the greatest.
	less     []float64
	mostLess float64
	// cuts are those of the chords under way.
	cuts []float64
}

// New returns the field of a placed surface.
func New(p *surface.Placed) *Field {
	f := &Field{at: p, x: p.Surface().X(), y: p.Surface().Y(), along: quadratic}
	if p.Method() == "bicubic" {
		f.along = sextic
	}
	f.Low, f.High, _, _ = p.Range()
	return f
}

// Height gives the height at program XY, in mm, and whether there is one: beyond the edge
// that of the edge is held, and it counts where held is set.
func (f *Field) Height(x, y float64, held bool) (mm float64, is bool) {
	h, where := f.at.At(x, y)
	return h, where == surface.On || held && where == surface.Outside
}

// LessAbout gives by how much a depth is less about a place in program XY, as
// far as r mm, at most.
func (f *Field) LessAbout(x, y, r float64) float64 {
	x, y = f.at.Local(x, y)
	return f.lessIn(x-r, y-r, x+r, y+r)
}

// region gives the index of the greatest node not above v: -1 below all, the
// last index also beyond the last.
func region(node []float64, v float64) int {
	return sort.Search(len(node), func(i int) bool { return node[i] > v }) - 1
}

// cell gives the index of the cell that a region reads its heights from.
func cell(node []float64, region int) int { return min(max(region, 0), len(node)-2) }

// beyond gives how far a place in the surface's own coordinates is from the
// measured area, 0 inside it.
func (f *Field) beyond(lx, ly float64) float64 {
	dx := max(f.x[0]-lx, lx-f.x[len(f.x)-1], 0)
	dy := max(f.y[0]-ly, ly-f.y[len(f.y)-1], 0)
	return math.Hypot(dx, dy)
}
