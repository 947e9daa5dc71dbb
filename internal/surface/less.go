package surface

import (
	"math"
	"slices"
)

// lessOf is by how much heights are less sure in each cell than where they are surest, in
// mm: cells in a row, one row after the other.
type lessOf struct {
	cx    int // cells in a row
	cells []float32
	most  float32
}

// newLess works it out of what of says of the greatest of each cell's four standard
// uncertainties; nil where no cell is less sure than others.
func newLess(s *Surface, of func(errorMM float64) float64) *lessOf {
	if !s.ErrorsVary() {
		return nil
	}
	l := &lessOf{cx: len(s.x) - 1}
	for k := range l.cx * (len(s.y) - 1) {
		worst := of(s.errorsIn(k%l.cx, k/l.cx, k%l.cx, k/l.cx))
		v := float32(worst)
		if float64(v) < worst {
			v = math.Nextafter32(v, math.MaxFloat32)
		}
		l.cells, l.most = append(l.cells, v), max(l.most, v)
	}
	if l.most == 0 {
		return nil
	}
	return l
}

// errorsIn is the greatest standard uncertainty of cells, in mm: a height that is missing
// has none.
func (s *Surface) errorsIn(i0, j0, i1, j1 int) float64 {
	worst := 0.0
	for j := j0; j <= j1+1; j++ {
		for i := i0; i <= i1+1; i++ {
			if e := s.ErrorAt(i, j); e == e {
				worst = max(worst, e)
			}
		}
	}
	return worst
}

// in is the greatest of cells.
func (l *lessOf) in(i0, j0, i1, j1 int) float32 {
	if l == nil {
		return 0
	}
	most := float32(0)
	for j := j0; j <= j1; j++ {
		most = max(most, slices.Max(l.cells[j*l.cx+i0:j*l.cx+i1+1]))
	}
	return most
}

// uneven reports whether some of the cells are less sure than others.
func (l *lessOf) uneven(i0, j0, i1, j1 int) bool {
	if l == nil {
		return false
	}
	first := l.cells[j0*l.cx+i0]
	for j := j0; j <= j1; j++ {
		for _, v := range l.cells[j*l.cx+i0 : j*l.cx+i1+1] {
			if v != first {
				return true
			}
		}
	}
	return false
}

// line appends the pieces of a straight stretch, fractions s0 to s1 from
// x0, y0 to x1, y1 (surface coordinates), that lies in region i, j. Where it is near a
// cell that is less sure, as near as the move may be beside it, it has pieces of its own.
func (w *walk) line(i, j int, s0, s1, x0, y0, x1, y1 float64) {
	p := w.p
	if p.less == nil {
		w.stretch(i, j, s0, s1, x0, y0, x1, y1)
		return
	}
	ci, cj := p.x.inside(i), p.y.inside(j)
	r := w.near + PlaceToleranceMM
	w.less = p.less.in(p.cellsOf(min(x0, x1)-r, min(y0, y1)-r, max(x0, x1)+r, max(y0, y1)+r))
	if w.less == p.less.cells[cj*p.cx+ci] || !p.x.roomy(ci, r) || !p.y.roomy(cj, r) {
		w.stretch(i, j, s0, s1, x0, y0, x1, y1)
		return
	}
	// The ways from line to line, r within the cell's borders.
	cuts := [6]float64{0, 1}
	n := 2
	for _, c := range [4][3]float64{{p.x.node[ci] + r, x0, x1}, {p.x.node[ci+1] - r, x0, x1}, {p.y.node[cj] + r, y0, y1}, {p.y.node[cj+1] - r, y0, y1}} {
		if t := (c[0] - c[1]) / (c[2] - c[1]); t > 0 && t < 1 {
			cuts[n] = t
			n++
		}
	}
	slices.Sort(cuts[:n])
	from, own := 0.0, float32(0)
	for k := 1; k < n; k++ {
		t, mid := cuts[k], (cuts[k-1]+cuts[k])/2
		x, y := lerp(x0, x1, mid), lerp(y0, y1, mid)
		here := p.less.in(p.cellsOf(x-r, y-r, x+r, y+r))
		if cuts[k-1] > from && here != own && (cuts[k-1]-from)*(s1-s0) > minPart && (1-cuts[k-1])*(s1-s0) > minPart {
			a, b := from, cuts[k-1]
			w.less = own
			w.stretch(i, j, s0+(s1-s0)*a, s0+(s1-s0)*b, lerp(x0, x1, a), lerp(y0, y1, a), lerp(x0, x1, b), lerp(y0, y1, b))
			from, own = b, here
		}
		own = max(own, here)
		if t == 1 {
			w.less = own
			w.stretch(i, j, s0+(s1-s0)*from, s1, lerp(x0, x1, from), lerp(y0, y1, from), x1, y1)
			return
		}
	}
}
