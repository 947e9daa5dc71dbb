package surface

import (
	"math"
	"slices"
)

// Ceiling is a height in mm over the datum that nothing within a radius of a
// stretch of a move exceeds: the stretch goes from fraction S0 to S1 of it.
type Ceiling struct{ S0, S1, High float64 }

const (
	// ceilingHalvings bounds the pieces of a move; past it they are certified
	// with more than the tolerance.
	ceilingHalvings = 10
	// maxColumns bounds the parts that a strip is cut into within a bicubic cell, as
	// above.
	maxColumns = 16
	// maxStrips bounds the strips that a disk is covered with, as above.
	maxStrips = 32
	// nearBoxMM is how far ahead of a box its height may begin to count.
	nearBoxMM = 0.25
)

// ceilWalk carries what a move needs on its way.
type ceilWalk struct {
	p      *Placed
	boxes  []Box
	dst    []Ceiling
	r, tol float64
	arc    *arc    // in the surface's coordinates; nil for a line
	x0, y0 float64 // of a line, program XY
	x1, y1 float64
}

// AppendLineCeiling appends to dst pieces that cover 0 to 1 of the straight
// move from x0, y0 to x1, y1 (program XY, mm), and returns it. No height that
// At gives within r mm of a piece, and no box there, is higher than the piece
// says, but for Allowance; on a surface that repeats boxes stand on every turn. Pieces are cut and the disk is covered finely enough
// to be above the highest by a few tol at most (mm), as far as ceilingHalvings and
// maxStrips allow; a box may count up to nearBoxMM too early on a move of up to
// 250 mm, and in proportion on a longer one. The tallest box comes first.
func (p *Placed) AppendLineCeiling(dst []Ceiling, boxes []Box, x0, y0, x1, y1, r, tol float64) []Ceiling {
	w := ceilWalk{p: p, boxes: boxes, dst: dst, r: r, tol: tol, x0: x0, y0: y0, x1: x1, y1: y1}
	return w.all(1, x0+y0+x1+y1)
}

// AppendArcCeiling is AppendLineCeiling for an arc as AppendArc has it.
func (p *Placed) AppendArcCeiling(dst []Ceiling, boxes []Box, cx, cy, r0, r1, a0, sweep, r, tol float64) []Ceiling {
	// In program XY: the turn to the surface's axes is part of Local.
	a := arc{cx: cx, cy: cy, r0: r0, dr: r1 - r0, a0: a0, da: sweep}
	if !(math.Abs(sweep) <= maxSweep) {
		a0 = math.NaN() // no place on any bench
	}
	w := ceilWalk{p: p, boxes: boxes, dst: dst, r: r, tol: tol, arc: &a}
	// A turn's ends may coincide: begin with parts whose chords mean something.
	return w.all(math.Ceil(math.Abs(sweep)/(math.Pi/4)), cx+cy+r0+r1+a0)
}

// around gives a rectangle of the surface's coordinates that has in it all within
// r mm of one of program XY.
func (p *Placed) around(x0, y0, x1, y1, r float64) (lx0, ly0, lx1, ly1 float64) {
	lx0, ly0 = p.Local(x0, y0)
	lx1, ly1 = lx0, ly0
	for _, c := range [3][2]float64{{x1, y0}, {x0, y1}, {x1, y1}} {
		x, y := p.Local(c[0], c[1])
		lx0, ly0, lx1, ly1 = min(lx0, x), min(ly0, y), max(lx1, x), max(ly1, y)
	}
	r += PlaceToleranceMM
	return lx0 - r, ly0 - r, lx1 + r, ly1 + r
}

// HighestIn bounds the heights over the datum within r mm of the rectangle from x0,
// y0 to x1, y1 (program XY, mm, x0 <= x1, y0 <= y1), but for Allowance: tightly, of
// a rectangle aslant to the surface's axes those about it. tol is as for a line.
func (p *Placed) HighestIn(x0, y0, x1, y1, r, tol float64) float64 {
	high := math.Inf(-1)
	if x0 == x1 || y0 == y1 {
		for _, c := range p.AppendLineCeiling(nil, nil, x0, y0, x1, y1, r, tol) {
			high = max(high, c.High)
		}
		return high
	}
	ax, ay, bx, by := p.around(x0, y0, x1, y1, r)
	if d := ax + ay + bx + by; d-d != 0 {
		return p.high - p.off // no place on any bench
	}
	if p.cubic == nil {
		return p.highestIn(ax, ay, bx, by, tol, high) - p.off
	}
	e := summit{best: high, bound: high}
	i0, j0, i1, j1 := p.cellsOf(ax, ay, bx, by)
	for j := j0; j <= j1; j++ {
		for i := i0; i <= i1; i++ {
			switch _, top := p.cellRange(i, j); {
			case top <= e.best:
			case !p.good(i, j):
				e.bound = max(e.bound, top)
			default:
				x0, y0, x1, y1 := p.x.into(i, ax), p.y.into(j, ay), p.x.into(i, bx), p.y.into(j, by)
				n := p.netOver(i, j, x0, y0, x1, y1)
				e.search(&n, x0, y0, x1, y1, rangeHalvings)
			}
		}
	}
	return max(e.best, e.bound) - p.off
}

// all appends the pieces of a move, looked at in so many parts at first. Where place
// is no number, it is no place on any bench.
func (w *ceilWalk) all(parts, place float64) []Ceiling {
	if d := place + w.r; d-d != 0 {
		high := w.p.high - w.p.off
		for _, b := range w.boxes {
			high = max(high, b.Height)
		}
		return append(w.dst, Ceiling{0, 1, high})
	}
	if !(w.tol >= PlaceToleranceMM) {
		w.tol = PlaceToleranceMM
	}
	w.r = max(w.r, 0)
	n := int(min(max(parts, 1), 1<<ceilingHalvings))
	for k := range n {
		w.stretch(float64(k)/float64(n), float64(k+1)/float64(n), 0)
	}
	return w.dst
}

// at gives the place at a fraction of the move, in program XY.
func (w *ceilWalk) at(s float64) (x, y float64) {
	if w.arc != nil {
		return w.arc.at(s)
	}
	if s == 1 {
		return w.x1, w.y1
	}
	return w.x0 + s*(w.x1-w.x0), w.y0 + s*(w.y1-w.y0)
}

// stretch appends the pieces from s0 to s1.
func (w *ceilWalk) stretch(s0, s1 float64, depth int) {
	ax, ay := w.at(s0)
	bx, by := w.at(s1)
	dev := 0.0
	if w.arc != nil {
		dev = w.arc.leaves(s1 - s0)
	}
	reach := w.r + dev + PlaceToleranceMM
	length := math.Hypot(bx-ax, by-ay) + 2*dev
	lax, lay := w.p.Local(ax, ay)
	lbx, lby := w.p.Local(bx, by)
	slope := w.p.steepest(min(lax, lbx)-reach, min(lay, lby)-reach, max(lax, lbx)+reach, max(lay, lby)+reach)
	split := length*slope > w.tol
	high, covered := math.Inf(-1), math.Inf(-1)
	g := span{ax, ay, bx, by, min(ax, bx), min(ay, by), max(ax, bx), max(ay, by), w.r, reach}
	for k := range w.boxes {
		b := &w.boxes[k]
		if b.Height <= covered {
			break
		}
		near, allAlong := b.beside(w.p, &g)
		if !near {
			continue
		}
		high = max(high, b.Height)
		if allAlong { // lower ones then do not matter
			covered = b.Height
		} else if length > nearBoxMM {
			split = true
		}
	}
	if split && depth < ceilingHalvings {
		mid := s0 + (s1-s0)/2
		w.stretch(s0, mid, depth+1)
		w.stretch(mid, s1, depth+1)
		return
	}
	high = max(high, w.p.capsule(lax, lay, lbx, lby, reach, slope, w.tol)-w.p.off)
	if n := len(w.dst); n > 0 && s0 > 0 && w.dst[n-1].High == high && w.dst[n-1].S1 == s0 {
		w.dst[n-1].S1 = s1
		return
	}
	w.dst = append(w.dst, Ceiling{s0, s1, high})
}

// capsule bounds the heights over the surface's zero within reach of the
// straight stretch from ax, ay to bx, by (surface coordinates). It covers them
// with strips along x.
func (p *Placed) capsule(ax, ay, bx, by, reach, slope, tol float64) float64 {
	x0, x1, y0, y1 := min(ax, bx), max(ax, bx), min(ay, by), max(ay, by)
	// A strip stands out over the disk by its height at most.
	n := int(min(max(math.Ceil(2*reach*slope/tol), 1), maxStrips))
	low, step := y0-reach, (y1-y0+2*reach)/float64(n)
	high := math.Inf(-1)
	for k := range n {
		a, b := low+float64(k)*step, low+float64(k+1)*step
		off := max(y0-b, a-y1, 0)
		wide := math.Sqrt(max(reach*reach-off*off, 0))
		// The widening makes up for the rounding of the strips' sides.
		const e = PlaceToleranceMM
		high = p.highestIn(x0-wide-e, a-e, x1+wide+e, b+e, tol, high)
	}
	return high
}

// cellsOf gives the cells that a rectangle (surface coordinates) reaches into,
// clamped onto the surface, as At does with places off it.
func (p *Placed) cellsOf(x0, y0, x1, y1 float64) (i0, j0, i1, j1 int) {
	// A place on a grid line is of both cells.
	i0, i1 = p.x.before(p.x.clamp(x0)), p.x.cell(p.x.clamp(x1))
	j0, j1 = p.y.before(p.y.clamp(y0)), p.y.cell(p.y.clamp(y1))
	return i0, j0, i1, j1
}

// steepest bounds the slope over the cells that a rectangle reaches into. The
// jump at the border of a hole has none.
func (p *Placed) steepest(x0, y0, x1, y1 float64) float64 {
	return p.steepestOf(p.cellsOf(x0, y0, x1, y1))
}

// steepestOf is steepest over cells.
func (p *Placed) steepestOf(i0, j0, i1, j1 int) float64 {
	most := float32(0)
	for j := j0; j <= j1; j++ {
		most = max(most, slices.Max(p.steep[j*p.cx+i0:j*p.cx+i1+1]))
	}
	return float64(most)
}

// highestIn bounds the heights over the surface's zero in a rectangle (surface
// coordinates), or gives high where that is higher.
func (p *Placed) highestIn(x0, y0, x1, y1, tol, high float64) float64 {
	i0, j0, i1, j1 := p.cellsOf(x0, y0, x1, y1)
	for j := j0; j <= j1; j++ {
		ya, yb := p.y.into(j, y0), p.y.into(j, y1)
		for i := i0; i <= i1; i++ {
			xa, xb := p.x.into(i, x0), p.x.into(i, x1)
			_, top := p.cellRange(i, j)
			switch {
			case top <= high:
			case !p.good(i, j):
				high = top
			case p.cubic != nil:
				high = max(high, p.bicubicHighest(i, j, xa, ya, xb, yb, tol))
			default:
				// Along either axis it is straight: highest at a corner.
				high = max(high, p.bilinear(i, j, xa, ya), p.bilinear(i, j, xb, ya),
					p.bilinear(i, j, xa, yb), p.bilinear(i, j, xb, yb))
			}
		}
	}
	return high
}

// bicubicHighest bounds a cell's patch over a rectangle within it: by Taylor,
// over parts that are short enough for its last term to be within tol.
func (p *Placed) bicubicHighest(i, j int, x0, y0, x1, y1, tol float64) float64 {
	curve := p.bound[j*p.cx+i].curve
	n := 1
	if long := (x1 - x0) / 2; curve*long*long/2 > tol {
		n = int(min(math.Ceil(long*math.Sqrt(curve/(2*tol))), maxColumns))
	}
	high := math.Inf(-1)
	a, b := (x1-x0)/2/float64(n), (y1-y0)/2
	for k := range n {
		x, y := x0+(2*float64(k)+1)*a, y0+b
		gx, gy := p.bicubicGrad(i, j, x, y)
		high = max(high, p.bicubic(i, j, x, y)+math.Abs(gx)*a+math.Abs(gy)*b+curve*(a*a+b*b)/2)
	}
	return high
}
