package surface

import "math"

// bicubic returns the height over the surface's zero at x, y in cell i, j.
func (p *Placed) bicubic(i, j int, x, y float64) float64 {
	k := j*p.nx + i
	dx, dy := p.x.node[i+1]-p.x.node[i], p.y.node[j+1]-p.y.node[j]
	u, v := (x-p.x.node[i])*p.x.inv[i], (y-p.y.node[j])*p.y.inv[j]
	lo, hi := p.cubic[k:k+2:k+2], p.cubic[k+p.nx:k+p.nx+2:k+p.nx+2]
	// Cubic Hermite basis, written with the difference of the end values so
	// that a flat patch is flat to the last bit.
	su, sv := u*u*(3-2*u), v*v*(3-2*v)
	au, bu := u*(1-u)*(1-u)*dx, u*u*(u-1)*dx
	av, bv := v*(1-v)*(1-v)*dy, v*v*(v-1)*dy
	f0 := lo[0].f + (lo[1].f-lo[0].f)*su + lo[0].fx*au + lo[1].fx*bu
	f1 := hi[0].f + (hi[1].f-hi[0].f)*su + hi[0].fx*au + hi[1].fx*bu
	g0 := lo[0].fy + (lo[1].fy-lo[0].fy)*su + lo[0].fxy*au + lo[1].fxy*bu
	g1 := hi[0].fy + (hi[1].fy-hi[0].fy)*su + hi[0].fxy*au + hi[1].fxy*bu
	return f0 + (f1-f0)*sv + g0*av + g1*bv
}

// bicubicGrad returns the partial derivatives in the surface's coordinates.
func (p *Placed) bicubicGrad(i, j int, x, y float64) (gx, gy float64) {
	n := p.net(i, j)
	u := (x - p.x.node[i]) * p.x.inv[i]
	v := (y - p.y.node[j]) * p.y.inv[j]
	var inX, inY [4]float64
	for k := range 4 {
		inX[k] = cubicAt(n[k][0], n[k][1], n[k][2], n[k][3], u)
		inY[k] = cubicAt(n[0][k], n[1][k], n[2][k], n[3][k], v)
	}
	return cubicSlope(inY, u) * p.x.inv[i], cubicSlope(inX, v) * p.y.inv[j]
}

// cubicSlope returns the derivative of a cubic in Bernstein form.
func cubicSlope(b [4]float64, t float64) float64 {
	a, m, z := b[1]-b[0], b[2]-b[1], b[3]-b[2]
	return 3 * lerp(lerp(a, m, t), lerp(m, z, t), t)
}

// net holds the Bernstein coefficients of a bicubic patch, [y][x].
type net [4][4]float64

// net returns the Bernstein coefficients of a cell's patch, over the
// surface's zero.
func (p *Placed) net(i, j int) net {
	k := j*p.nx + i
	dx, dy := (p.x.node[i+1]-p.x.node[i])/3, (p.y.node[j+1]-p.y.node[j])/3
	var n net
	for c := range 4 {
		a, b := c&1, c>>1
		h := p.cubic[k+b*p.nx+a]
		sx, sy := dx, dy // from the corner into the patch
		if a == 1 {
			sx = -dx
		}
		if b == 1 {
			sy = -dy
		}
		i0, j0 := 3*a, 3*b
		i1, j1 := 1+a, 1+b
		n[j0][i0] = h.f
		n[j0][i1] = h.f + sx*h.fx
		n[j1][i0] = h.f + sy*h.fy
		n[j1][i1] = h.f + sx*h.fx + sy*h.fy + sx*sy*h.fxy
	}
	return n
}

// netOver is net over a rectangle within the cell.
func (p *Placed) netOver(i, j int, x0, y0, x1, y1 float64) net {
	n := p.net(i, j)
	nx, ix, ny, iy := p.x.node[i], p.x.inv[i], p.y.node[j], p.y.inv[j]
	return n.restrictTo((x0-nx)*ix, (x1-nx)*ix, (y0-ny)*iy, (y1-ny)*iy)
}

// cellBound holds bounds over a bicubic cell, in mm: of the gradient's
// magnitude, of the second derivative's Frobenius norm, and of the height over
// the surface's zero.
type cellBound struct{ slope, curve, low, high float64 }

// bounds works them out; ix and iy are one over the cell's sides. A derivative of
// a patch is itself a patch whose coefficients are differences of the net, and no
// patch leaves the range of its coefficients (G. Farin, Curves and Surfaces for
// CAGD: convex hull).
func (n *net) bounds(ix, iy float64) cellBound {
	c := cellBound{low: n[0][0], high: n[0][0]}
	var gx, gy, xx, yy, xy float64
	for a := range 4 {
		for b := range 4 {
			c.low, c.high = min(c.low, n[a][b]), max(c.high, n[a][b])
			if b < 3 {
				gx = max(gx, math.Abs(n[a][b+1]-n[a][b]))
				gy = max(gy, math.Abs(n[b+1][a]-n[b][a]))
			}
			if a < 3 && b < 3 {
				xy = max(xy, math.Abs(n[a+1][b+1]-n[a+1][b]-n[a][b+1]+n[a][b]))
			}
			if b < 2 {
				xx = max(xx, math.Abs(n[a][b+2]-2*n[a][b+1]+n[a][b]))
				yy = max(yy, math.Abs(n[b+2][a]-2*n[b+1][a]+n[b][a]))
			}
		}
	}
	gx, gy = 3*gx*ix, 3*gy*iy
	xx, yy, xy = 6*xx*ix*ix, 6*yy*iy*iy, 9*xy*ix*iy
	c.slope, c.curve = math.Sqrt(gx*gx+gy*gy), math.Sqrt(xx*xx+yy*yy+2*xy*xy)
	return c
}
