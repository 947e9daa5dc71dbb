package surface

import "math"

// At returns the height over the datum at program XY, in mm, and what the
// place is to the surface. Outside, the height of the nearest point of the
// edge is held; over a hole see Hole. The area is closed: the border between
// a good cell and a hole, like the outer edge, is On.
func (p *Placed) At(x, y float64) (h float64, w Where) {
	lx, ly := p.Local(x, y)
	x, y = p.x.clamp(lx), p.y.clamp(ly)
	i, j := p.x.cell(x), p.y.cell(y)
	good := p.good(i, j)
	if !good {
		i, j, good = p.goodBeside(i, j, x, y, x, y)
	}
	if good {
		h = p.cellAt(i, j, p.x.into(i, x), p.y.into(j, y))
	} else {
		h, w = p.hold[j*p.cx+i], Hole
	}
	if (lx != x || ly != y) && (p.x.off(lx) || p.y.off(ly)) {
		w = Outside
	}
	return h - p.off, w
}

// LessAt returns by how much heights are less sure at program XY than where they are
// surest, in mm; on a grid line the greater of both sides.
func (p *Placed) LessAt(x, y float64) float32 {
	x, y = p.Local(x, y)
	const r = PlaceToleranceMM
	return p.less.in(p.cellsOf(x-r, y-r, x+r, y+r))
}

// ErrorAt returns the standard uncertainty of the height at program XY, in mm: the greatest
// that counts there.
func (p *Placed) ErrorAt(x, y float64) float64 {
	if !p.s.ErrorsVary() {
		return p.s.header.ErrorMM
	}
	x, y = p.Local(x, y)
	return p.s.errorsIn(p.cellsOf(x, y, x, y))
}

// bilinear returns the height over the surface's zero at x, y in the good cell
// i, j.
func (p *Placed) bilinear(i, j int, x, y float64) float64 {
	k := j*p.nx + i
	lo, hi := p.z[k:k+2:k+2], p.z[k+p.nx:k+p.nx+2:k+p.nx+2]
	u := (x - p.x.node[i]) * p.x.inv[i]
	v := (y - p.y.node[j]) * p.y.inv[j]
	a := lo[0] + (lo[1]-lo[0])*u
	b := hi[0] + (hi[1]-hi[0])*u
	return a + (b-a)*v
}

// cellAt returns the height over the surface's zero in a good cell.
func (p *Placed) cellAt(i, j int, x, y float64) float64 {
	if p.cubic != nil {
		return p.bicubic(i, j, x, y)
	}
	return p.bilinear(i, j, x, y)
}

// Grad returns the gradient of At at program XY, per mm in program X and Y:
// that of the cell that the place is in (on a grid line of a bilinear
// surface, the one after it). What is held has no slope across the edge,
// and none over a hole.
func (p *Placed) Grad(x, y float64) (gx, gy float64) {
	lx, ly := p.Local(x, y)
	x, y = p.x.clamp(lx), p.y.clamp(ly)
	i, j, good := p.goodBeside(p.x.cell(x), p.y.cell(y), x, y, x, y)
	if !good {
		return 0, 0
	}
	x, y = p.x.into(i, x), p.y.into(j, y)
	var dx, dy float64
	if p.cubic != nil {
		dx, dy = p.bicubicGrad(i, j, x, y)
	} else {
		dx = (p.bilinear(i, j, p.x.node[i+1], y) - p.bilinear(i, j, p.x.node[i], y)) * p.x.inv[i]
		dy = (p.bilinear(i, j, x, p.y.node[j+1]) - p.bilinear(i, j, x, p.y.node[j])) * p.y.inv[j]
	}
	if p.x.off(lx) {
		dx = 0
	}
	if p.y.off(ly) {
		dy = 0
	}
	return p.cos*dx - p.sin*dy, p.sin*dx + p.cos*dy
}

// slopeOf bounds the gradient's magnitude over a cell; 0 for a hole.
func (p *Placed) slopeOf(i, j int) float64 {
	if p.bound != nil {
		return p.bound[j*p.cx+i].slope
	}
	// Both partial derivatives of a bilinear patch are greatest on its sides.
	k := j*p.nx + i
	z00, z10, z01, z11 := p.z[k], p.z[k+1], p.z[k+p.nx], p.z[k+p.nx+1]
	gx := max(math.Abs(z10-z00), math.Abs(z11-z01)) * p.x.inv[i]
	gy := max(math.Abs(z01-z00), math.Abs(z11-z10)) * p.y.inv[j]
	if g := math.Sqrt(gx*gx + gy*gy); g == g {
		return g
	}
	return 0
}

// second bounds the second derivative of the height along dx, dy (surface
// coordinates) within a good cell, times the square of their length.
func (p *Placed) second(i, j int, dx, dy float64) (least, most float64) {
	if p.bound == nil {
		k := j*p.nx + i
		twist := p.z[k+p.nx+1] - p.z[k+p.nx] - p.z[k+1] + p.z[k]
		v := 2 * twist * (dx * p.x.inv[i]) * (dy * p.y.inv[j])
		return v, v
	}
	v := p.bound[j*p.cx+i].curve * (dx*dx + dy*dy)
	return -v, v
}

// cellRange bounds the heights of a cell, those held over a hole included, over
// the surface's zero.
func (p *Placed) cellRange(i, j int) (low, high float64) {
	if !p.good(i, j) {
		h := p.hold[j*p.cx+i]
		return h, h
	}
	if p.bound != nil {
		b := &p.bound[j*p.cx+i]
		return b.low, b.high
	}
	k := j*p.nx + i
	a, b, c, d := p.z[k], p.z[k+1], p.z[k+p.nx], p.z[k+p.nx+1]
	return min(a, b, c, d), max(a, b, c, d)
}

// good reports whether all four nodes of a cell have a height.
func (p *Placed) good(i, j int) bool {
	if p.hold == nil {
		return true
	}
	k := j*p.nx + i
	sum := p.z[k] + p.z[k+1] + p.z[k+p.nx] + p.z[k+p.nx+1]
	return sum == sum
}

// goodBeside gives the cell i, j where that is good, or one around it that is and
// that both points are in or on the border of; else i, j. Between them lies a
// straight line: all of it is then within PlaceToleranceMM of that cell.
func (p *Placed) goodBeside(i, j int, x0, y0, x1, y1 float64) (gi, gj int, ok bool) {
	if p.good(i, j) {
		return i, j, true
	}
	for gj = max(j-1, 0); gj <= j+1 && gj < p.y.cells(); gj++ {
		if !p.y.beside(gj, y0) || !p.y.beside(gj, y1) {
			continue
		}
		for gi = max(i-1, 0); gi <= i+1 && gi < p.x.cells(); gi++ {
			if p.x.beside(gi, x0) && p.x.beside(gi, x1) && p.good(gi, gj) {
				return gi, gj, true
			}
		}
	}
	return i, j, false
}
