package extremes

import (
	"math"

	"sagitta/internal/machine"
	"sagitta/internal/surface"
)

// Again fills sp as Along does for a move that Along has looked at: its Middle and Within
// are those that it gave then. It looks more closely at what is about the move before it
// searches, and may lower Within.
func (f *Field) Again(sp *Below, m *machine.Move) bool {
	lo, hi := sp.Middle-sp.Within, sp.Middle+sp.Within
	if sp.Within <= math.MaxFloat64 && (!sp.Uneven && sp.settled(lo, hi, min(sp.C0, sp.C1)-hi, max(sp.C0, sp.C1)-lo) || f.closely(sp, m)) {
		return false
	}
	f.search(sp, m, false)
	return true
}

// settled reports whether heights from low to high, and the correction less the height from
// lo to hi, can add nothing.
func (sp *Below) settled(low, high, lo, hi float64) bool {
	return sp.Height.settled(low, high) && sp.Focus.settled(lo, hi) && (!sp.Uneven || sp.Spent.settled(lo, hi))
}

// closely reports whether nothing along a move on the surface can be of interest, by what its
// heights leave the chord of those at its ends at most. With the height along it g(s), that
// is |g"|/8, and g" = P'ᵀHP' + ∇h·P" with P(s) the place and H the second derivatives of the
// height.
func (f *Field) closely(sp *Below, m *machine.Move) bool {
	at, r := m.XY(0.5), half(m)
	x, y := f.at.Local(at[0], at[1])
	ix0, ix1, iy0, iy1 := region(f.x, x-r), region(f.x, x+r), region(f.y, y-r), region(f.y, y+r)
	n := (ix1 - ix0 + 1) * (iy1 - iy0 + 1)
	if n > maxTouched {
		return false
	}
	if f.bends == nil {
		f.bend()
	}
	slope, bend := 0.0, 0.0
	for iy := iy0; iy <= iy1; iy++ {
		for ix := ix0; ix <= ix1; ix++ {
			k := cell(f.y, iy)*(len(f.x)-1) + cell(f.x, ix)
			g := &f.slopes[k]
			slope, bend = max(slope, g[0]*g[0]+g[1]*g[1]), max(bend, f.bends[k])
		}
	}
	slope = math.Sqrt(slope)
	if math.IsInf(slope, 1) {
		return false
	}
	sp.Within = min(sp.Within, slope*r)
	if n > 1 && f.along != sextic { // the slope jumps where cells meet
		return false
	}
	a, b := m.XY(0), m.XY(1)
	h0, on0 := f.at.At(a[0], a[1])
	h1, on1 := f.at.At(b[0], b[1])
	if on0 != surface.On || on1 != surface.On {
		return false
	}
	const long = 2 // a move is no longer than so many r
	off := (bend*(long*r)*(long*r) + slope*curvature(m)) / 8
	d0, d1 := sp.C0-h0, sp.C1-h1
	if sp.Uneven {
		sp.Spent.less = f.lessIn(x-r, y-r, x+r, y+r)
	}
	return sp.settled(min(h0, h1)-off, max(h0, h1)+off, min(d0, d1)-off, max(d0, d1)+off)
}

// bend bounds the second derivatives of the height within all cells.
func (f *Field) bend() {
	s, cells := f.at.Surface(), len(f.x)-1
	f.bends = make([]float64, cells*(len(f.y)-1))
	for k := range f.bends {
		i, j := k%cells, k/cells
		if v := s.Height(i, j) + s.Height(i+1, j) + s.Height(i, j+1) + s.Height(i+1, j+1); v == v {
			f.bends[k] = f.bent(i, j)
		}
	}
}

// bent bounds the norm of the second derivatives within a cell: they are nowhere outside the
// range of their own Bernstein coefficients.
func (f *Field) bent(i, j int) float64 {
	b := f.coefficients(i, j)
	var xx, yy, xy float64
	for r := range 4 {
		for k := range 2 {
			xx = max(xx, math.Abs(b[r][k+2]-2*b[r][k+1]+b[r][k]))
			yy = max(yy, math.Abs(b[k+2][r]-2*b[k+1][r]+b[k][r]))
		}
	}
	for r := range 3 {
		for k := range 3 {
			xy = max(xy, math.Abs(b[r+1][k+1]-b[r+1][k]-b[r][k+1]+b[r][k]))
		}
	}
	dx, dy := f.x[i+1]-f.x[i], f.y[j+1]-f.y[j]
	const twice, mixed = 6 * (1 + slopeSlack), 9 * (1 + slopeSlack) // of cubic polynomials
	xx, yy, xy = xx/(dx*dx)*twice, yy/(dy*dy)*twice, xy/(dx*dy)*mixed
	return math.Sqrt(xx*xx+2*xy*xy+yy*yy) + CertainMM/100
}
