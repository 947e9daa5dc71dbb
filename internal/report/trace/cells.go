package trace

import (
	"math"

	"github.com/paulmach/orb"
)

// across is how many cells a lattice has at most along either side; once it was too small
// it has half of them at least along the longer one.
const across = 400

// leastCell in mm is the least side of a cell: what is nearer no picture tells apart.
const leastCell = 0.01

// cells is a lattice that grows: the cell of a place is floor(place / size), kept at that
// modulo across, so that it may grow to any side.
type cells struct {
	size           float64
	x0, x1, y0, y1 int // those that are used, x1 and y1 included
	any            bool
	at             []cell
}

// cell is one; line is 0 where nothing burns.
type cell struct {
	part, c       float32
	program, line int32
}

func newCells(side float64) *cells {
	return &cells{size: max(side*4/(3*across), leastCell), at: make([]cell, across*across)}
}

func (c *cells) cell(x, y int) *cell { return &c.at[wrap(y)*across+wrap(x)] }

func wrap(k int) int {
	if k %= across; k < 0 {
		k += across
	}
	return k
}

// line takes a burned line.
func (c *cells) line(i *ink) {
	dx, dy := i.to[0]-i.from[0], i.to[1]-i.from[1]
	long := max(math.Abs(dx), math.Abs(dy))
	if long > c.size/2 {
		// Both ends first: so cells are as great as they will be for it.
		c.mark(i.from, i.part0, i.c0, i)
		c.mark(i.to, i.part1, i.c1, i)
	}
	n := int(math.Ceil(long/c.size + 0.5))
	for k := range n {
		u := (float64(k) + 0.5) / float64(n)
		c.mark(orb.Point{i.from[0] + dx*u, i.from[1] + dy*u}, i.part0+(i.part1-i.part0)*u, i.c0+(i.c1-i.c0)*u, i)
	}
}

// mark takes a burned place.
func (c *cells) mark(p orb.Point, part, corr float64, i *ink) {
	x, y := int(math.Floor(p[0]/c.size)), int(math.Floor(p[1]/c.size))
	if !c.any {
		c.any, c.x0, c.x1, c.y0, c.y1 = true, x, x, y, y
	}
	if x < c.x0 || x > c.x1 || y < c.y0 || y > c.y1 {
		for max(x, c.x1)-min(x, c.x0) >= across || max(y, c.y1)-min(y, c.y0) >= across {
			c.double()
			x, y = x>>1, y>>1
		}
		c.x0, c.x1, c.y0, c.y1 = min(x, c.x0), max(x, c.x1), min(y, c.y0), max(y, c.y1)
	}
	c.cell(x, y).take(cell{float32(part), float32(corr), int32(i.program), int32(i.line)})
}

// take takes what is worse.
func (c *cell) take(o cell) {
	if c.line == 0 || math.Abs(float64(o.part)) > math.Abs(float64(c.part)) {
		o.line = max(o.line, 1)
		*c = o
	}
}

// double makes cells twice as great.
func (c *cells) double() {
	was := *c
	c.size *= 2
	c.at = make([]cell, across*across)
	c.x0, c.x1, c.y0, c.y1 = c.x0>>1, c.x1>>1, c.y0>>1, c.y1>>1
	for y := was.y0; y <= was.y1; y++ {
		for x := was.x0; x <= was.x1; x++ {
			if o := was.cell(x, y); o.line > 0 {
				c.cell(x>>1, y>>1).take(*o)
			}
		}
	}
}

// cells is the lattice as others have it.
func (c *cells) cells() *Cells {
	nx, ny := c.x1-c.x0+1, c.y1-c.y0+1
	out := &Cells{NX: nx, NY: ny, Bounds: orb.Bound{
		Min: orb.Point{float64(c.x0) * c.size, float64(c.y0) * c.size}, Max: orb.Point{float64(c.x1+1) * c.size, float64(c.y1+1) * c.size}}}
	nan := float32(math.NaN())
	for y := c.y0; y <= c.y1; y++ {
		for x := c.x0; x <= c.x1; x++ {
			o := *c.cell(x, y)
			if o.line == 0 {
				o.part, o.c = nan, nan
			}
			out.Defocus, out.C = append(out.Defocus, o.part), append(out.C, o.c)
			out.Program, out.Line = append(out.Program, o.program), append(out.Line, o.line)
		}
	}
	return out
}
