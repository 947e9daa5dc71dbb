package verify

import (
	"math"

	"sagitta/internal/machine"
	"sagitta/internal/surface"
)

// Head is the tip of the head: a disk of RadiusMM about the beam that stands
// StandoffMM over the stock at best focus and must keep GapMM free beneath it.
// Boxes stand higher than the stock.
type Head struct {
	RadiusMM, StandoffMM, GapMM float64
	Boxes                       []surface.Box
}

const (
	// maxTipWork ends the search along one move, as maxPieces does for arcs.
	maxTipWork = 1 << 18
	// finestTipMM is the size below which nothing is halved any more.
	finestTipMM = surface.PlaceToleranceMM
	// tipGapMM is how far a bound may be above what was found for the search to
	// stop: far below what anybody knows of a head, or of a clamp.
	tipGapMM = 2e-4
	// A first look is had at firstPlaces along the move and firstWays about
	// each, so that most of the rest need not be looked at.
	firstPlaces, firstWays = 9, 8
)

// overhead looks for what stands highest against the tip along a move. The tip
// stands at Standoff + away over the datum, away being Z away from the stock as
// it is written, counted from the Z at which the focus is set. So what a place
// of height h asks of away is h + Gap - Standoff, and what is looked for is the
// greatest of h - away: over all fractions of the move and all places within
// the radius of each.
//
// It halves fractions and rectangles until nothing is left that could be above
// what was found, beginning with large blocks of cells.
type overhead struct {
	f      *field
	boxes  []surface.Box
	radius float64
	levels []tipLevel // none before the first move that is in question
	high   float64    // the highest of all

	// The coefficients of the bicubic cell last looked at.
	ofCell   [4][4]float64
	ofI, ofJ int
	known    bool

	// Of the move under way.
	move   *machine.Move // an arc; nil for a line
	a, b   [2]float64    // ends in the surface's coordinates
	c, d   [2]float64    // the same in program XY
	curve  float64
	z0, z1 float64
	best   float64 // found, or of no interest below
	at     float64 // where on the move
	hit    bool    // something was found
	open   float64 // could not be ruled out
	work   int
}

// tipLevel has the maxima of blocks of cells, 1, 2, 4 ... along each axis.
type tipLevel struct {
	nx, ny int
	high   []float64
}

func newOverhead(f *field, h *Head) *overhead {
	// A place that far within the radius counts as beyond it: coordinates are
	// not known any better.
	o := &overhead{f: f, boxes: h.Boxes, radius: max(h.RadiusMM-placeSlackMM, 0), high: f.high}
	for _, b := range h.Boxes {
		o.high = max(o.high, b.Height)
	}
	return o
}

// build works the maxima out.
func (o *overhead) build() {
	nx, ny := len(o.f.x)-1, len(o.f.y)-1
	l := tipLevel{nx, ny, make([]float64, nx*ny)}
	for j := range ny {
		for i := range nx {
			l.high[j*nx+i] = o.cellHigh(i, j)
		}
	}
	o.levels = append(o.levels, l)
	for l.nx > 1 || l.ny > 1 {
		up := tipLevel{(l.nx + 1) / 2, (l.ny + 1) / 2, nil}
		up.high = make([]float64, up.nx*up.ny)
		for k := range up.high {
			i, j := k%up.nx*2, k/up.nx*2
			h := l.high[j*l.nx+i]
			if i+1 < l.nx {
				h = max(h, l.high[j*l.nx+i+1])
			}
			if j+1 < l.ny {
				h = max(h, l.high[(j+1)*l.nx+i])
				if i+1 < l.nx {
					h = max(h, l.high[(j+1)*l.nx+i+1])
				}
			}
			up.high[k] = h
		}
		l = up
		o.levels = append(o.levels, l)
	}
}

// hole tells whether a height of the cell is missing, and gives that held over
// it.
func (o *overhead) hole(i, j int) (held float64, is bool) {
	f := o.f
	if !f.holes || !f.anyHole(i, i, j, j) {
		return 0, false
	}
	held, _ = f.at.At(f.at.Program((f.x[i]+f.x[i+1])/2, (f.y[j]+f.y[j+1])/2))
	return held, true
}

// cellHigh bounds the height of a cell.
func (o *overhead) cellHigh(i, j int) float64 {
	f := o.f
	if h, is := o.hole(i, j); is {
		return h
	}
	if f.degree == sextic {
		b := f.coefficients(i, j)
		high := math.Inf(-1)
		for _, row := range b {
			high = max(high, row[0], row[1], row[2], row[3])
		}
		return high + certainMM/100 // the coefficients' own rounding
	}
	s := f.at.Surface()
	return max(s.Height(i, j), s.Height(i+1, j), s.Height(i, j+1), s.Height(i+1, j+1)) - f.at.Offset()
}

// look finds the greatest of h - away along a move whose away goes from z0 to
// z1, if it is over floor. m is nil for a stand at its end.
func (o *overhead) look(m *machine.Move, still bool, z0, z1, floor float64) {
	o.best, o.hit, o.open, o.work = floor, false, math.Inf(-1), 0
	if o.high-min(z0, z1) <= floor {
		return
	}
	if o.levels == nil {
		o.build()
	}
	o.z0, o.z1, o.move, o.curve = z0, z1, nil, 0
	o.c, o.d = [2]float64{m.From.X, m.From.Y}, [2]float64{m.To.X, m.To.Y}
	if still {
		o.c = o.d
	} else if m.Kind == machine.Arc {
		o.move = m
		turn := math.Abs(m.Sweep)
		o.curve = max(m.R0, m.R1)*turn*turn + 2*math.Abs(m.R1-m.R0)*turn
	}
	o.a[0], o.a[1] = o.f.at.Local(o.c[0], o.c[1])
	o.b[0], o.b[1] = o.f.at.Local(o.d[0], o.d[1])
	o.firstLook()
	for k := range o.boxes {
		o.box(&o.boxes[k], o.stretch(0, 1))
	}
	o.block(len(o.levels)-1, 0, 0, o.stretch(0, 1))
}

// firstLook reads some heights within the radius.
func (o *overhead) firstLook() {
	for k := range firstPlaces {
		s := float64(k) / (firstPlaces - 1)
		_, at := o.place(s)
		h, _ := o.f.at.At(at[0], at[1])
		o.found(h, s)
		for w := range firstWays {
			sin, cos := math.Sincos(2 * math.Pi * float64(w) / firstWays)
			h, _ := o.f.at.At(at[0]+o.radius*cos, at[1]+o.radius*sin)
			o.found(h, s)
		}
	}
}

// part is a stretch of the move: the chord between its ends, which it leaves by
// bow at most.
type part struct {
	s0, s1 float64
	a, b   [2]float64 // in the surface's coordinates
	c, d   [2]float64 // in program XY
	bow    float64
	low    float64 // of away
}

func (o *overhead) stretch(s0, s1 float64) part {
	p := part{s0: s0, s1: s1, bow: o.curve * (s1 - s0) * (s1 - s0) / 8, low: min(o.away(s0), o.away(s1))}
	p.a, p.c = o.place(s0)
	p.b, p.d = o.place(s1)
	return p
}

func (o *overhead) away(s float64) float64 { return o.z0 + (o.z1-o.z0)*s }

// place is that at a fraction of the move.
func (o *overhead) place(s float64) (local, program [2]float64) {
	if o.move != nil {
		program = o.move.XY(s)
		local[0], local[1] = o.f.at.Local(program[0], program[1])
		return local, program
	}
	for k := range local {
		local[k] = o.a[k] + (o.b[k]-o.a[k])*s
		program[k] = o.c[k] + (o.d[k]-o.c[k])*s
	}
	return local, program
}

func (p *part) long() float64 { return math.Hypot(p.b[0]-p.a[0], p.b[1]-p.a[1]) }

// settled tells that nothing as high as h matters on the stretch.
func (o *overhead) settled(h float64, p *part) bool { return h-p.low <= o.best+tipGapMM }

// found notes that h stands within the radius at the fraction s.
func (o *overhead) found(h, s float64) {
	if v := h - o.away(s); v > o.best {
		o.best, o.at, o.hit = v, s, true
	}
}

// giveUp tells that enough has been tried; what is left may be as high as h.
func (o *overhead) giveUp(h float64, p *part, fine bool) bool {
	if o.work++; o.work <= maxTipWork && !fine {
		return false
	}
	o.open = max(o.open, h-p.low)
	return true
}

// box looks at a box.
func (o *overhead) box(b *surface.Box, p part) {
	r := rect{b.X0, b.Y0, b.X1, b.Y1}
	if o.settled(b.Height, &p) || r.distance(p.c, p.d) > o.radius+p.bow {
		return
	}
	mid := (p.s0 + p.s1) / 2
	_, m := o.place(mid)
	for k, at := range [3][2]float64{p.c, m, p.d} {
		if r.distance(at, at) <= o.radius {
			o.found(b.Height, [3]float64{p.s0, mid, p.s1}[k])
		}
	}
	if o.settled(b.Height, &p) {
		return
	}
	if o.giveUp(b.Height, &p, p.long()+p.bow < finestTipMM) {
		return
	}
	o.box(b, o.stretch(p.s0, mid))
	o.box(b, o.stretch(mid, p.s1))
}

// block looks at a block of cells. Beyond the edge its height goes on.
func (o *overhead) block(level, i, j int, p part) {
	l := &o.levels[level]
	if o.settled(l.high[j*l.nx+i], &p) {
		return
	}
	r := rect{math.Inf(-1), math.Inf(-1), math.Inf(1), math.Inf(1)}
	if i > 0 {
		r.x0 = o.f.x[i<<level]
	}
	if j > 0 {
		r.y0 = o.f.y[j<<level]
	}
	if i+1 < l.nx {
		r.x1 = o.f.x[(i+1)<<level]
	}
	if j+1 < l.ny {
		r.y1 = o.f.y[(j+1)<<level]
	}
	reach := o.radius + p.bow
	r.x0, r.x1 = max(r.x0, min(p.a[0], p.b[0])-reach), min(r.x1, max(p.a[0], p.b[0])+reach)
	r.y0, r.y1 = max(r.y0, min(p.a[1], p.b[1])-reach), min(r.y1, max(p.a[1], p.b[1])+reach)
	if r.x0 > r.x1 || r.y0 > r.y1 || r.distance(p.a, p.b) > reach {
		return
	}
	if level == 0 {
		o.cell(i, j, r, p)
		return
	}
	// The highest first: it makes the others be of no interest.
	below := &o.levels[level-1]
	var order [4][2]int
	var high [4]float64
	n := 0
	for b := 2 * j; b < min(2*j+2, below.ny); b++ {
		for a := 2 * i; a < min(2*i+2, below.nx); a++ {
			h, k := below.high[b*below.nx+a], n
			for ; k > 0 && high[k-1] < h; k-- {
				order[k], high[k] = order[k-1], high[k-1]
			}
			order[k], high[k] = [2]int{a, b}, h
			n++
		}
	}
	for _, c := range order[:n] {
		o.block(level-1, c[0], c[1], p)
	}
}

// cell looks at a rectangle within a cell.
func (o *overhead) cell(i, j int, r rect, p part) {
	reach := o.radius + p.bow
	if r.distance(p.a, p.b) > reach {
		return
	}
	q := o.patchIn(i, j, &r)
	high := min(q.high, p.low+o.over(&q, &p))
	if o.settled(high, &p) {
		return
	}
	o.try(&r, &p)
	if o.settled(high, &p) {
		return
	}
	wide, tall := r.x1-r.x0, r.y1-r.y0
	fine := max(wide, tall) < finestTipMM && p.long()+p.bow < finestTipMM
	if o.giveUp(high, &p, fine) {
		return
	}
	slant := math.Abs(o.away(p.s1) - o.away(p.s0))
	switch size := max(wide, tall); {
	case p.bow > size/4 && p.bow > 0 || slant > q.high-q.low || size < finestTipMM:
		mid := (p.s0 + p.s1) / 2
		o.cell(i, j, r, o.stretch(p.s0, mid))
		o.cell(i, j, r, o.stretch(mid, p.s1))
	case wide >= tall:
		m := (r.x0 + r.x1) / 2
		o.both(i, j, rect{r.x0, r.y0, m, r.y1}, rect{m, r.y0, r.x1, r.y1}, p)
	default:
		m := (r.y0 + r.y1) / 2
		o.both(i, j, rect{r.x0, r.y0, r.x1, m}, rect{r.x0, m, r.x1, r.y1}, p)
	}
}

// both looks at two rectangles of a cell, first at the one whose middle is
// higher.
func (o *overhead) both(i, j int, a, b rect, p part) {
	if o.height(i, j, (a.x0+a.x1)/2, (a.y0+a.y1)/2) < o.height(i, j, (b.x0+b.x1)/2, (b.y0+b.y1)/2) {
		a, b = b, a
	}
	o.cell(i, j, a, p)
	o.cell(i, j, b, p)
}

// try reads the height at places within the radius of the stretch: the corners
// and the middle of the rectangle, drawn to the stretch as far as it takes.
func (o *overhead) try(r *rect, p *part) {
	for _, at := range [5][2]float64{
		{(r.x0 + r.x1) / 2, (r.y0 + r.y1) / 2}, {r.x0, r.y0}, {r.x1, r.y0}, {r.x0, r.y1}, {r.x1, r.y1},
	} {
		s := p.s0 + (p.s1-p.s0)*nearest(at, p.a, p.b)
		from, _ := o.place(s)
		dx, dy := at[0]-from[0], at[1]-from[1]
		if d := math.Hypot(dx, dy); d > o.radius {
			at = [2]float64{from[0] + dx*(o.radius/d), from[1] + dy*(o.radius/d)}
		}
		h, _ := o.f.at.At(o.f.at.Program(at[0], at[1]))
		o.found(h, s)
	}
}

// height is that at a place of the cell, or beyond the edge beside it.
func (o *overhead) height(i, j int, x, y float64) float64 {
	f := o.f
	if h, is := o.hole(i, j); is {
		return h
	}
	if f.degree == sextic {
		h, _ := f.at.At(f.at.Program(x, y))
		return h
	}
	s := f.at.Surface()
	u, v := into(f.x, i, x), into(f.y, j, y)
	low := s.Height(i, j)*(1-u) + s.Height(i+1, j)*u
	up := s.Height(i, j+1)*(1-u) + s.Height(i+1, j+1)*u
	return low*(1-v) + up*v - f.at.Offset()
}
