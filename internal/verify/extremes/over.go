package extremes

import (
	"math"

	"sagitta/internal/machine"
	"sagitta/internal/surface"
)

// Over bounds the highest that stands within the radius of the rectangle between the
// ends of a move, by less than TipGapMM from above: where each axis goes at its own
// rate, nobody knows more of its way. Of a surface that lies aslant, and at the
// corners, it takes all of the rectangle along its axes about that.
func (o *Overhead) Over(m *machine.Move) float64 {
	if o.levels == nil {
		o.build()
	}
	o.work = 0
	r := rect{min(m.From.X, m.To.X), min(m.From.Y, m.To.Y), max(m.From.X, m.To.X), max(m.From.Y, m.To.Y)}
	s := highest{o: o, found: math.Inf(-1), bound: math.Inf(-1)}
	for k := range o.boxes {
		if o.stands(&o.boxes[k], &r) {
			s.found = max(s.found, o.boxes[k].Height)
		}
	}
	at := rect{math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)}
	for _, c := range [4][2]float64{{r.x0, r.y0}, {r.x1, r.y0}, {r.x0, r.y1}, {r.x1, r.y1}} {
		x, y := o.f.at.Local(c[0], c[1])
		at = rect{min(at.x0, x-o.radius), min(at.y0, y-o.radius), max(at.x1, x+o.radius), max(at.y1, y+o.radius)}
	}
	s.block(len(o.levels)-1, 0, 0, at)
	return max(s.found, s.bound)
}

// stands reports whether a box stands within the radius of a rectangle, on whatever
// turn; it does where there are too many to look at.
func (o *Overhead) stands(b *surface.Box, r *rect) bool {
	first, last := 0.0, 0.0
	if length := math.Hypot(o.turn[0], o.turn[1]); length > 0 {
		x, y := r.middle()
		apart := ((x-(b.X0+b.X1)/2)*o.turn[0] + (y-(b.Y0+b.Y1)/2)*o.turn[1]) / (length * length)
		wide := (math.Hypot(r.x1-r.x0, r.y1-r.y0)/2 + math.Hypot(b.X1-b.X0, b.Y1-b.Y0)/2 + o.radius + finestTipMM) / length
		if first, last = math.Ceil(apart-wide), math.Floor(apart+wide); last-first > mostTurns {
			return true
		}
	}
	for turn := first; turn <= last; turn++ {
		dx, dy := turn*o.turn[0], turn*o.turn[1]
		if math.Hypot(max(b.X0+dx-r.x1, r.x0-b.X1-dx, 0), max(b.Y0+dy-r.y1, r.y0-b.Y1-dy, 0)) <= o.radius {
			return true
		}
	}
	return false
}

// highest looks for the highest in a rectangle: found is some height in it, and
// nothing in it is above both found and bound.
type highest struct {
	o            *Overhead
	found, bound float64
}

// block looks at what of a block of cells is in the rectangle.
func (s *highest) block(level, i, j int, in rect) {
	o := s.o
	r := in.common(o.block(level, i, j))
	nx, _ := o.blocks(level)
	if r.x0 > r.x1 || r.y0 > r.y1 || o.levels[level][j*nx+i] <= s.found {
		return
	}
	if level == 0 {
		s.patch(i, j, r)
		return
	}
	nx, ny := o.blocks(level - 1)
	for k := range 4 {
		if i, j := 2*i+k%2, 2*j+k/2; i < nx && j < ny {
			s.block(level-1, i, j, r)
		}
	}
}

// patch looks at a rectangle within a cell, halving it as long as its coefficients
// allow more than was found: those at its corners are heights.
func (s *highest) patch(i, j int, r rect) {
	n := s.o.net(i, j, &r)
	s.found = max(s.found, n[0][0], n[0][3], n[3][0], n[3][3])
	most := math.Inf(-1)
	for _, row := range n {
		most = max(most, row[0], row[1], row[2], row[3])
	}
	wide, tall := r.x1-r.x0, r.y1-r.y0
	if most <= s.found+TipGapMM {
		s.bound = max(s.bound, most)
		return
	}
	if s.o.work++; s.o.work > maxTipWork || max(wide, tall) < finestTipMM {
		s.bound = max(s.bound, most)
		return
	}
	p, q := r, r
	if mx, my := r.middle(); wide >= tall {
		p.x1, q.x0 = mx, mx
	} else {
		p.y1, q.y0 = my, my
	}
	s.patch(i, j, p)
	s.patch(i, j, q)
}
