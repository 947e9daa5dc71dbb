package extremes

import (
	"math"

	"sagitta/internal/machine"
	"sagitta/internal/surface"
)

const (
	// maxTipWork ends the search along one move, as maxPieces does for arcs.
	maxTipWork = 1 << 18
	// radiusSlackMM is how far within the radius a place counts as beyond it:
	// coordinates are known to about 1e-10 mm, and distances are made of them.
	radiusSlackMM = 1e-7
	// finestTipMM is the size below which nothing is halved any more.
	finestTipMM = surface.PlaceToleranceMM
	// TipGapMM is how far a bound may be above what was found for the search to
	// stop: far below what anybody knows of a head, or of a clamp.
	TipGapMM = 2e-4
	// A first look is had at firstPlaces along the move and firstWays about
	// each, so that most of the rest need not be looked at.
	firstPlaces, firstWays = 9, 8
)

// Overhead looks for what stands highest against the tip of the head along a
// move: a disk about the beam whose height is some constant and the move's lift.
// What is looked for is the greatest of h - lift, h the height of what stands
// there: over all fractions of the move and all places within the radius of each.
//
// It halves fractions and rectangles until nothing is left that could be above
// what was found, beginning with large blocks of cells.
type Overhead struct {
	f      *Field
	boxes  []surface.Box
	radius float64
	levels []tipLevel // none before the first move that is in question
	// High is the highest of all, in mm.
	High float64

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
	work   int

	// Best is the greatest of h - lift that was found, at the fraction At, or
	// the floor below which nothing is of interest where Hit is not set. Open
	// is what could not be ruled out.
	Best, At, Open float64
	Hit            bool
}

// tipLevel has the maxima of blocks of cells, 1, 2, 4 ... along each axis.
type tipLevel struct {
	nx, ny int
	high   []float64
}

// NewOverhead returns the search of a head of this radius over a field and boxes.
func NewOverhead(f *Field, radius float64, boxes []surface.Box) *Overhead {
	o := &Overhead{f: f, boxes: boxes, radius: max(radius-radiusSlackMM, 0), High: f.High}
	for _, b := range boxes {
		o.High = max(o.High, b.Height)
	}
	return o
}

// build works the maxima out.
func (o *Overhead) build() {
	nx, ny := len(o.f.x)-1, len(o.f.y)-1
	l := tipLevel{nx, ny, make([]float64, nx*ny)}
	for j := range ny {
		for i := range nx {
			l.high[j*nx+i] = o.f.highest(i, j)
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

// Look finds the greatest of h - lift along a move whose lift goes from z0 to
// z1, if it is over floor. m is nil for a stand at its end.
func (o *Overhead) Look(m *machine.Move, still bool, z0, z1, floor float64) {
	o.Best, o.Hit, o.Open, o.work = floor, false, math.Inf(-1), 0
	if o.High-min(z0, z1) <= floor {
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
func (o *Overhead) firstLook() {
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
	low    float64 // of the lift
}

func (o *Overhead) stretch(s0, s1 float64) part {
	p := part{s0: s0, s1: s1, bow: o.curve * (s1 - s0) * (s1 - s0) / 8, low: min(o.lift(s0), o.lift(s1))}
	p.a, p.c = o.place(s0)
	p.b, p.d = o.place(s1)
	return p
}

func (o *Overhead) lift(s float64) float64 { return o.z0 + (o.z1-o.z0)*s }

// place is that at a fraction of the move.
func (o *Overhead) place(s float64) (local, program [2]float64) {
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

// settled reports whether nothing as high as h matters on the stretch.
func (o *Overhead) settled(h float64, p *part) bool { return h-p.low <= o.Best+TipGapMM }

// found notes that h stands within the radius at the fraction s.
func (o *Overhead) found(h, s float64) {
	if v := h - o.lift(s); v > o.Best {
		o.Best, o.At, o.Hit = v, s, true
	}
}

// giveUp reports whether enough has been tried; what is left may be as high as h.
func (o *Overhead) giveUp(h float64, p *part, fine bool) bool {
	if o.work++; o.work <= maxTipWork && !fine {
		return false
	}
	o.Open = max(o.Open, h-p.low)
	return true
}

// box looks at a box.
func (o *Overhead) box(b *surface.Box, p part) {
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
func (o *Overhead) block(level, i, j int, p part) {
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
func (o *Overhead) cell(i, j int, r rect, p part) {
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
	slant := math.Abs(o.lift(p.s1) - o.lift(p.s0))
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
func (o *Overhead) both(i, j int, a, b rect, p part) {
	middle := func(r *rect) float64 {
		h, _ := o.f.at.At(o.f.at.Program((r.x0+r.x1)/2, (r.y0+r.y1)/2))
		return h
	}
	if middle(&a) < middle(&b) {
		a, b = b, a
	}
	o.cell(i, j, a, p)
	o.cell(i, j, b, p)
}

// try reads the height at places within the radius of the stretch: the corners
// and the middle of the rectangle, drawn to the stretch as far as it takes.
func (o *Overhead) try(r *rect, p *part) {
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
