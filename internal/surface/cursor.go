package surface

// Cursor reads the heights along a path of short straight moves: quicker than
// AppendLine, as long as they stay within one cell of a bilinear surface. It
// allocates nothing.
type Cursor struct {
	p              *Placed
	x, y           float64 // program XY
	u, v           float64 // the same within the cell, 0 to 1
	loX, hiX       float64 // the cell
	loY, hiY       float64
	ix, iy         float64
	z, low, rise   float64 // height u + v + twist·u·v
	twist          float64
	placed, within bool
}

// NewCursor returns one over p that stands nowhere yet.
func NewCursor(p *Placed) Cursor { return Cursor{p: p} }

// Stand puts the cursor at program XY.
func (c *Cursor) Stand(x, y float64) {
	if c.placed && c.x == x && c.y == y {
		return
	}
	c.x, c.y, c.placed, c.within = x, y, true, false
	p := c.p
	if p.cubic != nil {
		return
	}
	lx, ly := p.Local(x, y)
	i, j := p.x.region(lx), p.y.region(ly)
	if uint(i) >= uint(p.cx) || uint(j) >= uint(p.y.cells()) || !p.good(i, j) {
		return
	}
	k := j*p.nx + i
	z00, z10, z01, z11 := p.z[k], p.z[k+1], p.z[k+p.nx], p.z[k+p.nx+1]
	c.loX, c.hiX, c.loY, c.hiY = p.x.node[i], p.x.node[i+1], p.y.node[j], p.y.node[j+1]
	c.ix, c.iy = p.x.inv[i], p.y.inv[j]
	c.z, c.low, c.rise, c.twist = z00-p.off, z10-z00, z01-z00, z11-z01-z10+z00
	c.u, c.v = (lx-c.loX)*c.ix, (ly-c.loY)*c.iy
	c.within = true
}

// Less is by how much less sure the heights on the last way are, as of a Piece: from program XY
// to where the cursor stands.
func (c *Cursor) Less(fromX, fromY float64) float32 {
	p := c.p
	if p.less == nil {
		return 0
	}
	ax, ay := p.Local(fromX, fromY)
	bx, by := p.Local(c.x, c.y)
	const r = PlaceToleranceMM
	return p.less.in(p.cellsOf(min(ax, bx)-r, min(ay, by)-r, max(ax, bx)+r, max(ay, by)+r))
}

// To moves the cursor straight to program XY and returns the height there and
// how far the height on the way lies over and under the chord at most. It
// reports false, and has moved nowhere, where the way leaves the cell that it
// stands in, or there is none.
func (c *Cursor) To(x, y float64) (h, up, down float64, ok bool) {
	lx, ly := c.p.Local(x, y)
	if !c.within || !(lx >= c.loX && lx <= c.hiX && ly >= c.loY && ly <= c.hiY) {
		return 0, 0, 0, false
	}
	u, v := (lx-c.loX)*c.ix, (ly-c.loY)*c.iy
	h = c.z + c.low*u + (c.rise+c.twist*u)*v
	// As in bilinearLine.
	if q := c.twist * (u - c.u) * (v - c.v); q > 0 {
		down = q / 4
	} else {
		up = -q / 4
	}
	c.x, c.y, c.u, c.v = x, y, u, v
	return h, up, down, true
}
