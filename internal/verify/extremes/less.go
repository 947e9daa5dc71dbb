package extremes

import "sagitta/internal/surface"

// Narrowed returns the same field with heights that are less sure in some cells than in
// others: of tells by how much, in mm, either side of a depth is less where a height has a
// standard uncertainty. A cell has the greatest of its four corners. A field is used by one
// judge at a time; this one may be used beside that it was made of.
func (f *Field) Narrowed(of func(errorMM float64) float64) *Field {
	s, n := f.at.Surface(), *f
	n.cuts, n.less, n.mostLess = nil, nil, 0
	if !s.ErrorsVary() {
		return &n
	}
	for j := range len(f.y) - 1 {
		for i := range len(f.x) - 1 {
			less := 0.0
			for _, e := range [4]float64{s.ErrorAt(i, j), s.ErrorAt(i+1, j), s.ErrorAt(i, j+1), s.ErrorAt(i+1, j+1)} {
				if e >= 0 { // else there is no height
					less = max(less, of(e))
				}
			}
			n.less, n.mostLess = append(n.less, less), max(n.mostLess, less)
		}
	}
	return &n
}

// Uneven reports whether heights are less sure in some cells than in others.
func (f *Field) Uneven() bool { return f.mostLess > 0 }

// lessIn gives the greatest of the cells that a rectangle of the surface's coordinates
// reaches into, or of many that of all. On a grid line those of both sides count.
func (f *Field) lessIn(x0, y0, x1, y1 float64) float64 {
	// A place along a grid line is on it, however it was rounded.
	const half = surface.PlaceToleranceMM / 2
	ix0, ix1 := cell(f.x, region(f.x, x0-half)), cell(f.x, region(f.x, x1+half))
	iy0, iy1 := cell(f.y, region(f.y, y0-half)), cell(f.y, region(f.y, y1+half))
	if (ix1-ix0+1)*(iy1-iy0+1) > maxTouched {
		return f.mostLess
	}
	less := 0.0
	for iy := iy0; iy <= iy1; iy++ {
		for ix := ix0; ix <= ix1; ix++ {
			less = max(less, f.less[iy*(len(f.x)-1)+ix])
		}
	}
	return less
}

// lessAt is lessIn of a place in program XY.
func (f *Field) lessAt(at [2]float64) float64 {
	x, y := f.at.Local(at[0], at[1])
	return f.lessIn(x, y, x, y)
}

// lessOn is that of a chord's fractions from u0 to u1, within one cell: of what lies on
// the move where its middle is, else the greatest about it.
func (f *Field) lessOn(c *chord, u0, u1 float64) float64 {
	at := func(u float64) (x, y float64) {
		return f.at.Local(c.a[0]+(c.b[0]-c.a[0])*u, c.a[1]+(c.b[1]-c.a[1])*u)
	}
	if c.sag == 0 {
		x, y := at((u0 + u1) / 2)
		return f.lessIn(x, y, x, y)
	}
	ax, ay := at(u0)
	bx, by := at(u1)
	return f.lessIn(min(ax, bx)-c.sag, min(ay, by)-c.sag, max(ax, bx)+c.sag, max(ay, by)+c.sag)
}
