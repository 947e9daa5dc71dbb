package verify

import "math"

// cellsKept is how many cells' bounds are kept: about what a line of
// lettering comes across.
const cellsKept = 256

// derivativeSlack is the part added to a bound of a derivative, for the
// rounding of the values it was made from.
const derivativeSlack = 1e-6

// cellBound bounds the derivatives of the height within a cell, in magnitude
// and in the surface's own coordinates.
type cellBound struct {
	i, j          int
	gx, gy        float64 // mm/mm
	hxx, hxy, hyy float64 // 1/mm
}

// steepness bounds the gradient and the norm of the second derivative in a
// region of each axis. Beyond the edge the edge's height is held: there is no
// change across it, and none at all beyond a corner.
func (f *field) steepness(ix, iy int) (slope, curve float64) {
	k := f.bound(cell(f.x, ix), cell(f.y, iy))
	gx, gy, hxx, hxy, hyy := k.gx, k.gy, k.hxx, k.hxy, k.hyy
	if ix < 0 || ix >= len(f.x)-1 {
		gx, hxx, hxy = 0, 0, 0
	}
	if iy < 0 || iy >= len(f.y)-1 {
		gy, hyy, hxy = 0, 0, 0
	}
	return math.Sqrt(gx*gx + gy*gy), math.Sqrt(hxx*hxx + 2*hxy*hxy + hyy*hyy)
}

// bound gives the bounds of a cell. The height within it is a polynomial of
// degree three in each direction (at most), known from its values at sixteen
// places, and its derivatives are nowhere outside the range of their own
// Bernstein coefficients.
func (f *field) bound(i, j int) *cellBound {
	c := &f.cells[(j*len(f.x)+i)%cellsKept]
	if c.i == i && c.j == j {
		return c
	}
	dx, dy := f.x[i+1]-f.x[i], f.y[j+1]-f.y[j]
	b := f.coefficients(i, j)
	var gx, gy, hxx, hxy, hyy float64
	for r := range 4 {
		for k := range 4 {
			if k < 3 {
				gx = max(gx, math.Abs(b[r][k+1]-b[r][k]))
			}
			if r < 3 {
				gy = max(gy, math.Abs(b[r+1][k]-b[r][k]))
			}
			if k < 2 {
				hxx = max(hxx, math.Abs(b[r][k+2]-2*b[r][k+1]+b[r][k]))
			}
			if r < 2 {
				hyy = max(hyy, math.Abs(b[r+2][k]-2*b[r+1][k]+b[r][k]))
			}
			if k < 3 && r < 3 {
				hxy = max(hxy, math.Abs(b[r+1][k+1]-b[r+1][k]-b[r][k+1]+b[r][k]))
			}
		}
	}
	const more = 1 + derivativeSlack
	*c = cellBound{
		i: i, j: j,
		gx: 3 * gx / dx * more, gy: 3 * gy / dy * more,
		hxx: 6 * hxx / (dx * dx) * more, hxy: 9 * hxy / (dx * dy) * more, hyy: 6 * hyy / (dy * dy) * more,
	}
	return c
}

// coefficients gives the Bernstein coefficients of the height within a cell, by
// row (y), then column (x).
func (f *field) coefficients(i, j int) (b [4][4]float64) {
	dx, dy := f.x[i+1]-f.x[i], f.y[j+1]-f.y[j]
	var v, half [4][4]float64
	for r := range v {
		for k := range v[r] {
			h, _ := f.at.At(f.at.Program(f.x[i]+dx*cubicAt[k], f.y[j]+dy*cubicAt[r]))
			v[r][k] = h
		}
	}
	for r := range half {
		for k := range half[r] {
			for m := range 4 {
				half[r][k] += cubicFrom[k][m] * v[r][m]
			}
		}
	}
	for r := range b {
		for k := range b[r] {
			for m := range 4 {
				b[r][k] += cubicFrom[r][m] * half[m][k]
			}
		}
	}
	return b
}
