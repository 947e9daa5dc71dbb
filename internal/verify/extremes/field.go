package extremes

import (
	"math"
	"sort"

	"sagitta/internal/machine"
	"sagitta/internal/surface"
)

// Field is a placed surface, and where on it the last move was.
type Field struct {
	at    *surface.Placed
	x, y  []float64
	along *basis // of the height along a straight line within a cell
	// holes tells that some heights are missing. A bicubic surface has none.
	holes bool
	// Low and High bound all heights in mm, those beyond the edge and over
	// holes included.
	Low, High float64
	// slopes are those of the cells along both axes, nil before they are asked
	// for, and steep is the steepest.
	slopes [][2]float64
	steep  float64
	// cuts are those of the last line.
	cuts []float64
	// hintX and hintY are the regions of the last place, where the next one
	// probably is as well.
	hintX, hintY int
}

// New returns the field of a placed surface.
func New(p *surface.Placed) *Field {
	f := &Field{at: p, x: p.Surface().X(), y: p.Surface().Y(), along: quadratic}
	if p.Method() == "bicubic" {
		f.along = sextic
	}
	f.holes = p.Surface().Missing() > 0
	f.Low, f.High, _, _ = p.Range()
	return f
}

// region gives the index of the greatest node not above v: -1 below all, the
// last index also beyond the last. It looks first at hint.
func region(node []float64, v float64, hint int) int {
	last := len(node) - 1
	if hint >= 0 && hint < last && node[hint] <= v && v < node[hint+1] {
		return hint
	}
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

// Along fills sp, whose ranges have been begun, with what is found below a move,
// or below its end alone.
func (f *Field) Along(sp *Below, m *machine.Move, end bool) {
	switch {
	case end:
		f.point(sp, m.To.X, m.To.Y)
	case m.Kind == machine.Arc:
		f.arc(sp, m)
	default:
		f.line(sp, m.From.X, m.From.Y, m.To.X, m.To.Y)
	}
}

// point looks at one place, which the head is at with corrections from c0 to
// c1.
func (f *Field) point(sp *Below, x, y float64) {
	h, w := f.at.At(x, y)
	sp.see(h, 0)
	sp.see(h, 1)
	if !sp.Watch {
		return
	}
	switch w {
	case surface.Hole:
		sp.overHole(0, 0)
	case surface.Outside:
		sp.beyond(0, f.beyond(f.at.Local(x, y)))
	}
}
