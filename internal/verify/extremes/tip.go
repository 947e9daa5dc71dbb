package extremes

import (
	"cmp"
	"math"
	"slices"

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
	// boxLevel is that of a box among blocks of cells.
	boxLevel = -1
)

// mostTurns ends the search on one move for a box that stands on every turn of a
// surface that repeats: more is no bench.
const mostTurns = 1 << 12

// Overhead looks for what stands highest against the tip of the head along a
// move: a disk about the beam whose height is some constant and the move's lift.
// What is looked for is the greatest of h - lift, h the height of what stands
// there: over all fractions of the move and all places within the radius of each.
//
// It divides parts of the move and rectangles below them until nothing is left that
// could be above what was found, beginning with large blocks of cells.
type Overhead struct {
	f      *Field
	boxes  []surface.Box
	turn   [2]float64 // from a place to the same a turn on, in program XY; 0 where nothing repeats
	radius float64
	// levels are the maxima of blocks of cells, 1, 2, 4 ... along each axis; none
	// before the first move that is in question.
	levels [][]float64
	// High is the highest of all, in mm.
	High float64

	// The coefficients of the cell last looked at.
	ofCell   [4][4]float64
	ofI, ofJ int
	known    bool

	// Of the move under way.
	move   machine.Move
	curve  float64
	z0, z1 float64
	work   int

	// Best is the greatest of h - lift that was found, at the fraction At, or
	// the floor below which nothing is of interest where Hit is not set. Open
	// is what could not be ruled out.
	Best, At, Open float64
	Hit            bool
}

// NewOverhead returns the search of a head of this radius over a field and boxes.
func NewOverhead(f *Field, radius float64, boxes []surface.Box) *Overhead {
	o := &Overhead{f: f, boxes: slices.Clip(boxes), radius: max(radius-radiusSlackMM, 0), High: f.High}
	for _, b := range boxes {
		o.High = max(o.High, b.Height)
	}
	if turn := f.at.Surface().Header().WrapsYMM; turn > 0 {
		x0, y0 := f.at.Program(0, 0)
		x1, y1 := f.at.Program(0, turn)
		o.turn = [2]float64{x1 - x0, y1 - y0}
	}
	return o
}

// Add lets a box stand there from now on.
func (o *Overhead) Add(b surface.Box) {
	o.boxes = append(o.boxes, b)
	o.High = max(o.High, b.Height)
}

// build works the maxima out.
func (o *Overhead) build() {
	nx, ny := o.blocks(0)
	high := make([]float64, nx*ny)
	for k := range high {
		high[k] = o.f.highest(k%nx, k/nx)
	}
	o.levels = append(o.levels, high)
	for len(high) > 1 {
		upX, upY := o.blocks(len(o.levels))
		up := slices.Repeat([]float64{math.Inf(-1)}, upX*upY)
		for k, h := range high {
			at := k/nx/2*upX + k%nx/2
			up[at] = max(up[at], h)
		}
		high, nx = up, upX
		o.levels = append(o.levels, high)
	}
}

// blocks is how many blocks of a level there are along each axis.
func (o *Overhead) blocks(level int) (nx, ny int) {
	return (len(o.f.x)-2)>>level + 1, (len(o.f.y)-2)>>level + 1
}

// Look finds the greatest of h - lift along a move whose lift goes from z0 to
// z1, if it is over floor.
func (o *Overhead) Look(m *machine.Move, z0, z1, floor float64) {
	o.Best, o.Hit, o.Open, o.work = floor, false, math.Inf(-1), 0
	if o.High-min(z0, z1) <= floor {
		return
	}
	if o.levels == nil {
		o.build()
	}
	o.z0, o.z1, o.move, o.curve = z0, z1, *m, curvature(m)
	for k := range o.boxes {
		o.lookAtBox(k)
	}
	r := o.on(area{level: len(o.levels) - 1, rect: everywhere}, 0, 1)
	if o.bound(&r) {
		o.look(&r)
	}
}

// lookAtBox looks at a box on all turns that the move comes near.
func (o *Overhead) lookAtBox(k int) {
	b := o.boxes[k]
	most := b.Height - min(o.z0, o.z1)
	if most <= o.Best+TipGapMM {
		return
	}
	if reach := o.radius + o.curve/8 + finestTipMM; o.turn == [2]float64{} {
		m := &o.move
		if b.X0-max(m.From.X, m.To.X) > reach || min(m.From.X, m.To.X)-b.X1 > reach ||
			b.Y0-max(m.From.Y, m.To.Y) > reach || min(m.From.Y, m.To.Y)-b.Y1 > reach {
			return
		}
	}
	r := o.on(area{level: boxLevel, i: k, rect: rect{b.X0, b.Y0, b.X1, b.Y1}}, 0, 1)
	first, last := 0, 0
	if length := math.Hypot(o.turn[0], o.turn[1]); length > 0 {
		// How far the middles of both are apart in turns, and by how much that differs.
		mx, my := r.rect.middle()
		apart := func(at [2]float64) float64 {
			return ((at[0]-mx)*o.turn[0] + (at[1]-my)*o.turn[1]) / (length * length)
		}
		wide := (math.Hypot(b.X1-b.X0, b.Y1-b.Y0)/2 + o.radius + r.bow + finestTipMM) / length
		from, to := min(apart(r.a), apart(r.b))-wide, max(apart(r.a), apart(r.b))+wide
		if to-from > mostTurns {
			o.Open = max(o.Open, most)
			return
		}
		first, last = int(math.Ceil(from)), int(math.Floor(to))
	}
	for r.j = first; r.j <= last; r.j++ {
		if q := o.on(r, 0, 1); o.bound(&q) {
			o.look(&q)
		}
	}
}

// area is a part of the move, and what of a block of cells, or of a box, is below
// it: a rectangle in the surface's coordinates, or that of box i in program XY, the move
// being brought j turns back to it. The move leaves the chord between the part's ends
// by bow at most.
type area struct {
	level, i, j int
	rect        rect
	s0, s1      float64
	a, b        [2]float64 // the ends, in the rectangle's coordinates
	bow         float64
	high, span  float64 // bounds of h - lift, and of how much h differs
}

func (o *Overhead) lift(s float64) float64 { return o.z0 + (o.z1-o.z0)*s }

// place is that at a fraction of the move, in the coordinates of the area.
func (o *Overhead) place(r *area, s float64) [2]float64 {
	at := o.move.XY(s)
	if r.level != boxLevel {
		at[0], at[1] = o.f.at.Local(at[0], at[1])
		return at
	}
	return [2]float64{at[0] - float64(r.j)*o.turn[0], at[1] - float64(r.j)*o.turn[1]}
}

// on gives the area below the part of the move from s0 to s1.
func (o *Overhead) on(r area, s0, s1 float64) area {
	r.s0, r.s1, r.bow = s0, s1, o.curve*(s1-s0)*(s1-s0)/8
	r.a, r.b = o.place(&r, s0), o.place(&r, s1)
	return r
}

// bound works the bounds of an area out, and reports whether it may matter: first
// by what is there at most, then by where it is, at last by its patch.
func (o *Overhead) bound(r *area) bool {
	low := min(o.lift(r.s0), o.lift(r.s1))
	if r.level == boxLevel {
		r.high = o.boxes[r.i].Height - low
	} else {
		nx, _ := o.blocks(r.level)
		r.high = o.levels[r.level][r.j*nx+r.i] - low
	}
	if !o.matters(r) {
		return false
	}
	reach := o.radius + r.bow
	r.rect = r.rect.common(rect{
		min(r.a[0], r.b[0]) - reach, min(r.a[1], r.b[1]) - reach, max(r.a[0], r.b[0]) + reach, max(r.a[1], r.b[1]) + reach,
	})
	// The distance is rounded: a head without radius is within it all the same.
	if r.rect.x0 > r.rect.x1 || r.rect.y0 > r.rect.y1 || r.rect.distance(r.a, r.b) > reach+finestTipMM {
		return false
	}
	if r.level == 0 {
		r.high, r.span = o.patch(r, low)
	}
	return o.matters(r)
}

// matters reports whether what is in the area may be above what was found.
func (o *Overhead) matters(r *area) bool { return r.high > o.Best+TipGapMM }

// look looks at an area: at some places in it (of blocks, in the largest only), and
// then at its parts.
func (o *Overhead) look(r *area) {
	if o.matters(r) && (r.level <= 0 || r.level == len(o.levels)-1) {
		o.try(r)
	}
	if !o.matters(r) {
		return
	}
	wide, tall := r.rect.x1-r.rect.x0, r.rect.y1-r.rect.y0
	size, long := max(wide, tall), math.Hypot(r.b[0]-r.a[0], r.b[1]-r.a[1])+r.bow
	fine := long < finestTipMM && (r.level == boxLevel || r.level == 0 && size < finestTipMM)
	if o.work++; o.work > maxTipWork || fine {
		o.Open = max(o.Open, r.high)
		return
	}
	var room [4]area
	parts := room[:0]
	keep := func(q area) {
		if o.bound(&q) {
			parts = append(parts, q)
		}
	}
	slant := math.Abs(o.lift(r.s1) - o.lift(r.s0))
	switch {
	case r.level > 0:
		nx, ny := o.blocks(r.level - 1)
		for k := range 4 {
			q := *r
			q.level, q.i, q.j = r.level-1, 2*r.i+k%2, 2*r.j+k/2
			if q.i < nx && q.j < ny {
				q.rect = r.rect.common(o.block(q.level, q.i, q.j))
				keep(q)
			}
		}
	case r.level == boxLevel || r.bow > size/4 || slant > r.span || size < finestTipMM:
		mid := (r.s0 + r.s1) / 2
		keep(o.on(*r, r.s0, mid))
		keep(o.on(*r, mid, r.s1))
	default:
		p, q := *r, *r
		if mx, my := r.rect.middle(); wide >= tall {
			p.rect.x1, q.rect.x0 = mx, mx
		} else {
			p.rect.y1, q.rect.y0 = my, my
		}
		keep(p)
		keep(q)
	}
	// The highest first: it makes the others be of no interest.
	slices.SortFunc(parts, func(p, q area) int { return cmp.Compare(q.high, p.high) })
	for k := range parts {
		o.look(&parts[k])
	}
}

// block is the rectangle of a block of cells. Beyond the edge its height goes on.
func (o *Overhead) block(level, i, j int) rect {
	nx, ny := o.blocks(level)
	r := everywhere
	if i > 0 {
		r.x0 = o.f.x[i<<level]
	}
	if j > 0 {
		r.y0 = o.f.y[j<<level]
	}
	if i+1 < nx {
		r.x1 = o.f.x[(i+1)<<level]
	}
	if j+1 < ny {
		r.y1 = o.f.y[(j+1)<<level]
	}
	return r
}

// try reads heights at places within the radius of the part: the corners and the
// middle of the rectangle, drawn to the chord as far as it takes.
func (o *Overhead) try(r *area) {
	q := &r.rect
	mx, my := q.middle()
	for _, at := range [5][2]float64{{mx, my}, {q.x0, q.y0}, {q.x1, q.y0}, {q.x0, q.y1}, {q.x1, q.y1}} {
		s := r.s0 + (r.s1-r.s0)*nearest(at, r.a, r.b)
		from := o.place(r, s)
		if r.level == boxLevel {
			if q.distance(from, from) <= o.radius {
				o.found(o.boxes[r.i].Height, s)
			}
			continue
		}
		dx, dy := at[0]-from[0], at[1]-from[1]
		if d := math.Hypot(dx, dy); d > o.radius {
			at = [2]float64{from[0] + dx*(o.radius/d), from[1] + dy*(o.radius/d)}
		}
		h, _ := o.f.at.At(o.f.at.Program(at[0], at[1]))
		o.found(h, s)
	}
}

// found notes that h stands within the radius at the fraction s.
func (o *Overhead) found(h, s float64) {
	if v := h - o.lift(s); v > o.Best {
		o.Best, o.At, o.Hit = v, s, true
	}
}
