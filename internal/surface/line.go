package surface

import "math"

// maxSplits bounds the pieces that one move gets within one cell. It is far
// beyond what a real surface needs (a cell that twists by a whole
// millimetre takes 16 pieces at a tolerance of a micrometre); past it a
// piece is certified with more than the tolerance.
const maxSplits = 1 << maxHalvings

// maxHalvings is the same as a number of halvings.
const maxHalvings = 10

// quickPart is the part of the tolerance under which a bound from the second
// derivative over the whole cell is good enough.
const quickPart = 0.25

// sameNodeMM is the distance along a move within which crossing an x line
// and crossing a y line count as passing through their node, and within
// which a move that begins or ends at a line does not cross it. It is within
// PlaceToleranceMM, and far above the rounding of the crossings.
const sameNodeMM = 1e-10

// minPart is the least fraction of a move that gets a piece of its own
// within a cell: a few spacings of float64 below 1.
const minPart = 1e-15

// walk carries what a move needs on its way through the cells.
type walk struct {
	p            *Placed
	dst          []Piece
	tol, lateral float64
	beside       float64 // added to Up and Down: what an arc beside the way may differ by
	h            float64 // over the datum at the end of the last piece
	joined       bool    // that piece was over a good cell: h is where the next begins
	near         float64 // how far beside its way the move may be
	less         float32 // of the pieces to come
}

func (p *Placed) newWalk(dst []Piece, tol, lateral float64) walk {
	// Below the tolerance of places, certifying better is imagined.
	if !(tol >= PlaceToleranceMM) {
		tol = PlaceToleranceMM
	}
	lateral = min(max(lateral, 0), MaxCoordMM)
	return walk{p: p, dst: dst, tol: tol, lateral: lateral, near: lateral}
}

// AppendLine appends to dst the pieces of the straight move from x0, y0 to
// x1, y1 (program XY, mm) and returns it. The pieces cover 0 to 1 of the
// move in order and without gaps; they break where the move crosses a grid
// line, and within a cell where Up or Down would be more than tol (in mm;
// at most maxSplits times a cell, so a piece may have more). The height
// that At gives is within every piece's bounds but for Allowance.
//
// With lateral above zero (in mm) Up and Down also hold for the heights at
// every place up to that far beside the move, for a caller that will write
// points rounded by that much; they are then more than tol by the slope
// times lateral. The jump at the border of a hole is not part of that. Less is the
// greatest within lateral.
func (p *Placed) AppendLine(dst []Piece, x0, y0, x1, y1, tol, lateral float64) []Piece {
	ax, ay := p.Local(x0, y0)
	bx, by := p.Local(x1, y1)
	w := p.newWalk(dst, tol, lateral)
	if d := bx - ax + by - ay; d-d != 0 {
		return append(dst, p.anywhere(0, 1))
	}
	w.straight(0, 1, ax, ay, bx, by)
	return w.dst
}

// straight appends the pieces of a straight way, fractions s0 to s1 of a move,
// from ax, ay to bx, by (surface coordinates).
func (w *walk) straight(s0, s1, ax, ay, bx, by float64) {
	p := w.p
	dx, dy := bx-ax, by-ay
	i, j := p.x.region(ax), p.y.region(ay)
	if p.x.holds(i, bx) && p.y.holds(j, by) || p.x.region(bx) == i && p.y.region(by) == j {
		w.line(i, j, s0, s1, ax, ay, bx, by)
		return
	}

	width := s1 - s0
	same := max(sameNodeMM/math.Sqrt(dx*dx+dy*dy), minPart/width)
	// sx and sy are where the way comes to the next region of either axis. Each
	// is worked out from the start, so that errors do not add up, and rounding
	// keeps them in order.
	sx, lineX, toX := p.x.crossing(i, ax, dx)
	sy, lineY, toY := p.y.crossing(j, ay, dy)
	s, from, x, y := 0.0, s0, ax, ay
	for {
		next := min(sx, sy)
		if !(next < 1-same) {
			break
		}
		passX, passY := sx-next <= same, sy-next <= same
		if next-s > same {
			nx, ny, to := ax+next*dx, ay+next*dy, s0+next*width
			if passX {
				nx = lineX
			}
			if passY {
				ny = lineY
			}
			w.line(i, j, from, to, x, y, nx, ny)
			s, from, x, y = next, to, nx, ny
		}
		if passX {
			i = toX
			sx, lineX, toX = p.x.crossing(i, ax, dx)
		}
		if passY {
			j = toY
			sy, lineY, toY = p.y.crossing(j, ay, dy)
		}
	}
	w.line(i, j, from, s1, x, y, bx, by)
}

// anywhere is the piece of a move that is no place on any bench (NaN, Inf, a
// thousand turns): it holds for every height that At can give.
func (p *Placed) anywhere(s0, s1 float64) Piece {
	h, half := (p.low+p.high)/2-p.off, (p.high-p.low)/2
	return Piece{S0: s0, S1: s1, H0: h, H1: h, Up: half, Down: half, Where: Outside, Less: float32(p.MostLess())}
}

// stretch appends the pieces of a straight stretch, fractions s0 to s1 from
// x0, y0 to x1, y1 (surface coordinates), that lies in region i, j.
func (w *walk) stretch(i, j int, s0, s1, x0, y0, x1, y1 float64) {
	p := w.p
	if uint(i) < uint(p.cx) && uint(j) < uint(p.y.cells()) && p.good(i, j) {
		w.inCell(i, j, s0, s1, x0, y0, x1, y1, On)
		return
	}
	where := On
	if p.x.off(x0) || p.y.off(y0) || p.x.off(x1) || p.y.off(y1) {
		where = Outside
	}
	i, j, good := p.goodBeside(p.x.inside(i), p.y.inside(j), p.x.clamp(x0), p.y.clamp(y0), p.x.clamp(x1), p.y.clamp(y1))
	if !good {
		if where == On {
			where = Hole
		}
		h := p.hold[j*p.cx+i] - p.off
		w.joined = false
		w.dst = append(w.dst, Piece{S0: s0, S1: s1, H0: h, H1: h, Where: where, Less: w.less})
		return
	}
	w.inCell(i, j, s0, s1, p.x.into(i, x0), p.y.into(j, y0), p.x.into(i, x1), p.y.into(j, y1), where)
}

// inCell appends the pieces of a straight stretch in cell i, j, which is no hole.
// A function whose second derivative is between two bounds is off its chord by
// an eighth of them at most, to the side of each. For a bilinear cell both are
// the same: the height is a quadratic, which is off by just that in the middle.
// Of a bicubic one they are bounds for the whole cell, good enough for short
// moves, as of a raster.
func (w *walk) inCell(i, j int, s0, s1, x0, y0, x1, y1 float64, where Where) {
	p := w.p
	dx, dy := x1-x0, y1-y0
	h0 := w.h
	if !w.joined {
		h0 = p.cellAt(i, j, x0, y0) - p.off
	}
	h1 := p.cellAt(i, j, x1, y1) - p.off
	w.h, w.joined = h1, true
	grow := w.beside
	if w.lateral > 0 {
		grow += w.growth(i, j, x0, y0, x1, y1)
	}

	least, most := p.second(i, j, dx, dy)
	dev := max(-least, most) / 8
	if p.cubic != nil && dev > quickPart*w.tol {
		n := p.netOver(i, j, x0, y0, x1, y1)
		c := n.diagonal()
		for k := range c {
			c[k] -= p.off
		}
		c[0], c[6] = h0, h1
		w.sextic(&c, s0, s1, maxHalvings, grow, where)
		return
	}
	n := parts(dev, w.tol, s1-s0)
	eight := 8 * float64(n) * float64(n)
	up, down := grow+max(-least, 0)/eight, grow+max(most, 0)/eight
	sa := s0
	for m := 1; m < n; m++ {
		t := float64(m) / float64(n)
		sb, hb := s0+(s1-s0)*t, p.cellAt(i, j, x0+dx*t, y0+dy*t)-p.off
		w.dst = append(w.dst, Piece{S0: sa, S1: sb, H0: h0, H1: hb, Up: up, Down: down, Where: where, Less: w.less})
		sa, h0 = sb, hb
	}
	w.dst = append(w.dst, Piece{S0: sa, S1: s1, H0: h0, H1: h1, Up: up, Down: down, Where: where, Less: w.less})
}

// sextic appends the pieces of a stretch along which the height is c, halved so
// many times at most until they are within the tolerance.
func (w *walk) sextic(c *sextic, s0, s1 float64, halvings int, grow float64, where Where) {
	left, right := c.halve()
	up, down := leaves(&left, &right, c[0], c[6])
	if max(up, down) > w.tol && halvings > 0 && s1-s0 > 2*minPart {
		mid := s0 + (s1-s0)/2
		w.sextic(&left, s0, mid, halvings-1, grow, where)
		w.sextic(&right, mid, s1, halvings-1, grow, where)
		return
	}
	w.dst = append(w.dst, Piece{S0: s0, S1: s1, H0: c[0], H1: c[6], Up: up + grow, Down: down + grow, Where: where, Less: w.less})
}

// parts returns in how many equal parts a stretch is cut whose distance dev
// from its chord falls with the square of their number.
func parts(dev, tol, width float64) int {
	if dev <= tol {
		return 1
	}
	n := math.Ceil(math.Sqrt(dev / tol))
	n = min(n, maxSplits, width/minPart)
	return max(int(n), 1)
}

// growth bounds how much the height changes within w.lateral sideways of a
// stretch in cell i, j: the steepest slope of all cells in reach.
func (w *walk) growth(i, j int, x0, y0, x1, y1 float64) float64 {
	p, r := w.p, w.lateral
	xa, xb := min(x0, x1)-r, max(x0, x1)+r
	ya, yb := min(y0, y1)-r, max(y0, y1)+r
	if xa >= p.x.node[i] && xb <= p.x.node[i+1] && ya >= p.y.node[j] && yb <= p.y.node[j+1] {
		return r * float64(p.steep[j*p.cx+i])
	}
	return r * max(float64(p.steep[j*p.cx+i]), p.steepest(xa, ya, xb, yb))
}
