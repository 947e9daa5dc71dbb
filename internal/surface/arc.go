package surface

import "math"

// arc is a circular or spiral move in the surface's coordinates: at
// fraction s its angle is a0 + s*da and its radius r0 + s*dr.
type arc struct{ cx, cy, r0, dr, a0, da float64 }

func (a *arc) at(s float64) (x, y float64) {
	sin, cos := math.Sincos(a.a0 + s*a.da)
	r := a.r0 + s*a.dr
	return a.cx + r*cos, a.cy + r*sin
}

// leaves bounds how far the arc leaves the chord of a part of it: by |p"|/8
// times the square of the part, for p = (r0 + s dr)(cos, sin)(a0 + s da).
func (a *arc) leaves(part float64) float64 {
	curve := max(math.Abs(a.r0), math.Abs(a.r0+a.dr))*a.da*a.da + 2*math.Abs(a.dr*a.da)
	return curve * part * part / 8
}

const (
	// maxSweep is a thousand turns: more is a slip, and would take for ever.
	maxSweep = 2000 * math.Pi
	// chordPart is the part of the tolerance that is for the arc beside its
	// chords; the rest is for the heights along these.
	chordPart = 0.75
	// chordCells is how many cells may be around a chord: enough that few
	// pieces end but at a grid line, and few enough to look at each of them.
	chordCells = 16
	// lessSagMM is how far an arc may leave a chord where cells that are less sure are
	// about: next to a cell that is nothing.
	lessSagMM = 0.01
	// maxArcPieces bounds the pieces of an arc: many times what crosses the
	// largest grid. Past it they are certified with more than the tolerance,
	// but still broken where the height jumps, up to twice as many.
	maxArcPieces = 1 << 17
)

// AppendArc appends to dst the pieces of a move along an arc about cx, cy
// (program XY, mm) and returns it. The angle runs from a0 by sweep (radians,
// positive counter-clockwise; a whole turn or a few are fine), the radius from
// r0 to r1 in proportion. Pieces, fractions, tol and lateral are those of
// AppendLine, fractions being of the sweep; but pieces break where a chord
// crosses a grid line, and their ends are bounded as all between is. The arc is
// cut into chords: what it leaves them by, times the steepest slope around, is
// added to their bounds.
func (p *Placed) AppendArc(dst []Piece, cx, cy, r0, r1, a0, sweep, tol, lateral float64) []Piece {
	w := arcWalk{walk: p.newWalk(dst, tol, 0), from: len(dst), aside: min(max(lateral, 0), MaxCoordMM)}
	w.whole = w.tol
	w.arc = arc{r0: r0, dr: r1 - r0, a0: a0 - p.rotate, da: sweep}
	w.cx, w.cy = p.Local(cx, cy)
	if d := w.cx + w.cy + r0 + r1 + w.a0 + w.aside; d-d != 0 || !(math.Abs(sweep) <= maxSweep) {
		return append(dst, p.anywhere(0, 1))
	}
	ax, ay := w.at(0)
	bx, by := w.at(1)
	w.part(0, 1, ax, ay, bx, by, false)
	return w.dst
}

// arcWalk is a walk along an arc.
type arcWalk struct {
	walk
	arc
	whole float64 // the tolerance, of which tol is for the chord
	aside float64 // lateral
	from  int     // the first of its pieces
}

// part appends the pieces from s0 to s1, whose ends are given (surface
// coordinates). With cut set it has been cut as finely as the tolerance asks.
func (w *arcWalk) part(s0, s1, ax, ay, bx, by float64, cut bool) {
	p, sag := w.p, w.leaves(s1-s0)
	x0, y0, x1, y1 := min(ax, bx)-sag, min(ay, by)-sag, max(ax, bx)+sag, max(ay, by)+sag
	i0, j0, i1, j1 := p.cellsOf(x0, y0, x1, y1)
	slope, few := p.slope, (i1-i0+1)*(j1-j0+1) <= chordCells
	if few {
		slope = p.steepestOf(i0, j0, i1, j1)
	}
	beyondX, beyondY := x1 < p.x.start || x0 > p.x.end, y1 < p.y.start || y0 > p.y.end
	if beyondX && beyondY {
		slope = 0 // that of a corner
	}
	edge := !beyondX && !beyondY && (p.x.off(x0) || p.x.off(x1) || p.y.off(y0) || p.y.off(y1))
	uneven := few && sag > lessSagMM && p.less.uneven(p.cellsOf(x0-w.aside, y0-w.aside, x1+w.aside, y1+w.aside))
	jumps := sag > PlaceToleranceMM && (edge || p.hold != nil && (!few || p.holeIn(i0, j0, i1, j1)))

	n, made := 1, len(w.dst)-w.from
	switch {
	case s1-s0 <= 2*minPart:
	case jumps && made < 2*maxArcPieces || (!few || uneven) && made < maxArcPieces:
		n = 2
	case !cut && made < maxArcPieces:
		n, cut = parts(slope*sag, chordPart*w.whole, s1-s0), true
	}
	switch {
	case n > 1:
		s, x, y := s0, ax, ay
		for k := 1; k <= n; k++ {
			to, tx, ty := s1, bx, by
			if k < n {
				to = s0 + (s1-s0)*float64(k)/float64(n)
				tx, ty = w.at(to)
			}
			w.part(s, to, x, y, tx, ty, cut)
			s, x, y = to, tx, ty
		}
	case jumps || !(sag <= MaxCoordMM):
		w.dst, w.joined = append(w.dst, p.anywhere(s0, s1)), false
	default:
		w.beside = slope * sag
		w.tol = w.whole - min(w.beside, chordPart*w.whole)
		if r := w.aside; r > 0 {
			w.beside += r * p.steepest(x0-r, y0-r, x1+r, y1+r)
		}
		w.near = sag + w.aside
		w.straight(s0, s1, ax, ay, bx, by)
	}
}

// holeIn reports whether the height may jump between cells: one of several is a
// hole.
func (p *Placed) holeIn(i0, j0, i1, j1 int) bool {
	if i0 == i1 && j0 == j1 {
		return false
	}
	for j := j0; j <= j1; j++ {
		for i := i0; i <= i1; i++ {
			if !p.good(i, j) {
				return true
			}
		}
	}
	return false
}
