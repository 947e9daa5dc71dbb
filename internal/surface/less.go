package surface

import (
	"math"
	"slices"
)

// Narrowed returns the same with heights less sure in some places than where they are
// surest: of tells by how much, in mm, for a standard uncertainty of a height, 0 for the
// least of them. Within a cell the greatest of its four counts. Pieces then carry it.
func (p *Placed) Narrowed(of func(errorMM float64) float64) *Placed {
	q := *p
	q.less, q.mostLess = nil, 0
	if !p.s.ErrorsVary() {
		return &q
	}
	q.less = make([]float32, p.cx*p.y.cells())
	for k := range q.less {
		i, j := k%p.cx, k/p.cx
		worst := 0.0
		for c := range 4 {
			if e := p.s.ErrorAt(i+c&1, j+c>>1); e == e {
				worst = max(worst, of(e))
			}
		}
		v := float32(worst)
		if float64(v) < worst {
			v = math.Nextafter32(v, math.MaxFloat32)
		}
		q.less[k], q.mostLess = v, max(q.mostLess, v)
	}
	if q.mostLess == 0 {
		q.less = nil
	}
	return &q
}

// MostLess returns how much less sure than elsewhere heights are where they are least
// sure, in mm.
func (p *Placed) MostLess() float64 { return float64(p.mostLess) }

// LessAt returns by how much heights are less sure at program XY than where they are
// surest, in mm; on a grid line the greater of both sides.
func (p *Placed) LessAt(x, y float64) float32 {
	if p.less == nil {
		return 0
	}
	x, y = p.Local(x, y)
	return p.lessIn(x, y, x, y, PlaceToleranceMM)
}

// ErrorAt returns the standard uncertainty of the height at program XY, in mm: the greatest
// that counts there.
func (p *Placed) ErrorAt(x, y float64) float64 {
	if !p.s.ErrorsVary() {
		return p.s.header.ErrorMM
	}
	x, y = p.Local(x, y)
	worst := 0.0
	i0, j0, i1, j1 := p.cellsOf(x, y, x, y)
	for j := j0; j <= j1+1; j++ {
		for i := i0; i <= i1+1; i++ {
			if e := p.s.ErrorAt(i, j); e == e {
				worst = max(worst, e)
			}
		}
	}
	return worst
}

// lessIn is the greatest within r of a rectangle (surface coordinates). A cell that
// it only touches counts.
func (p *Placed) lessIn(x0, y0, x1, y1, r float64) float32 {
	return p.lessOf(p.cellsOf(x0-r, y0-r, x1+r, y1+r))
}

// lessOf is the greatest of cells.
func (p *Placed) lessOf(i0, j0, i1, j1 int) float32 {
	most := float32(0)
	for j := j0; j <= j1; j++ {
		most = max(most, slices.Max(p.less[j*p.cx+i0:j*p.cx+i1+1]))
	}
	return most
}

// uneven reports whether some places about a rectangle (surface coordinates) are less
// sure than others.
func (p *Placed) uneven(x0, y0, x1, y1 float64) bool {
	if p.less == nil {
		return false
	}
	i0, j0, i1, j1 := p.cellsOf(x0, y0, x1, y1)
	first := p.less[j0*p.cx+i0]
	for j := j0; j <= j1; j++ {
		for _, v := range p.less[j*p.cx+i0 : j*p.cx+i1+1] {
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
	w.less = p.lessIn(min(x0, x1), min(y0, y1), max(x0, x1), max(y0, y1), r)
	if w.less == p.less[cj*p.cx+ci] || !p.x.roomy(ci, r) || !p.y.roomy(cj, r) {
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
		here := p.lessIn(x, y, x, y, r)
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
