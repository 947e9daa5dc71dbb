package trace

import (
	"math"

	"github.com/paulmach/orb"
)

const (
	// mostStrokes and mostPoints are how many lines and points there are at most before
	// cells take their place, and mostWays and mostWayPoints the same of travels, which are
	// then shown no more.
	mostStrokes, mostPoints = 6000, 24000
	mostWays, mostWayPoints = 2000, 8000
	// even is how far the defocus on a stroke may differ, in parts of the depth.
	even = 0.125
	// straight is how far in mm a line may leave its points: the width of no mark.
	straight = 0.005
	// inLine is how many points a stroke has at most.
	inLine = 1000
)

// above collects what is burned, as seen from above.
type above struct {
	strokes []Stroke
	points  int
	// Of the last stroke, while it may go on: whether it may, the range of its defocus and
	// c, and that a point of it may still be moved on in the direction that it was met in.
	on            bool
	defocus, c    Range
	free          bool
	cells         *cells
	ways          []orb.LineString
	wayPoints     int
	manyWays      bool
	wayOn         bool
	freeWay       bool
	bounds, moved box
}

// box is a rectangle.
type box struct{ x, y Range }

func newBox() box { return box{Empty(), Empty()} }

func (b *box) add(p orb.Point) {
	b.x.Add(p[0])
	b.y.Add(p[1])
}

func (b *box) join(o box) {
	b.x.Join(o.x)
	b.y.Join(o.y)
}

// bound is the box as others have it, zero where it is empty.
func (b *box) bound() orb.Bound {
	if b.x.IsEmpty() || b.y.IsEmpty() {
		return orb.Bound{}
	}
	return orb.Bound{Min: orb.Point{b.x.Lo, b.y.Lo}, Max: orb.Point{b.x.Hi, b.y.Hi}}
}

// side is that of its longer side, 0 where it is empty.
func (b *box) side() float64 { return max(b.x.Hi-b.x.Lo, b.y.Hi-b.y.Lo, 0) }

// ink is a burned line: from and to where, with the defocus in parts of the depth and c at
// its ends.
type ink struct {
	from, to      orb.Point
	part0, part1  float64
	c0, c1        float64
	program, line int
}

// burn takes a burned line.
func (a *above) burn(i *ink) {
	if !sane(i.from) || !sane(i.to) {
		return
	}
	a.wayOn = false
	a.bounds.add(i.from)
	a.bounds.add(i.to)
	if a.cells != nil {
		a.cells.line(i)
		return
	}
	n := 1
	if by := math.Abs(i.part1 - i.part0); by > even {
		n = int(min(math.Ceil(2*by/even), bins))
	}
	for k := range n {
		p := *i
		at := func(u float64) orb.Point {
			return orb.Point{i.from[0] + (i.to[0]-i.from[0])*u, i.from[1] + (i.to[1]-i.from[1])*u}
		}
		u0, u1 := float64(k)/float64(n), float64(k+1)/float64(n)
		if k > 0 {
			p.from = at(u0)
		}
		if k < n-1 {
			p.to = at(u1)
		}
		p.part0, p.part1 = i.part0+(i.part1-i.part0)*u0, i.part0+(i.part1-i.part0)*u1
		p.c0, p.c1 = i.c0+(i.c1-i.c0)*u0, i.c0+(i.c1-i.c0)*u1
		a.stroke(&p)
	}
	if len(a.strokes) > mostStrokes || a.points > mostPoints {
		a.rasterise()
	}
}

// stroke takes a burned line that is even, or as even as the most parts make it: that is a
// stroke by itself.
func (a *above) stroke(i *ink) {
	with := func(r Range, v0, v1 float64) Range {
		r.Add(v0)
		r.Add(v1)
		return r
	}
	d, c := with(a.defocus, i.part0, i.part1), with(a.c, i.c0, i.c1)
	if a.on {
		s := &a.strokes[len(a.strokes)-1]
		a.on = s.Program == i.program && s.Points[len(s.Points)-1] == i.from && d.Hi-d.Lo <= even && len(s.Points) < inLine
	}
	if !a.on {
		a.on, a.free = true, false
		d, c = with(Empty(), i.part0, i.part1), with(Empty(), i.c0, i.c1)
		a.strokes = append(a.strokes, Stroke{Program: i.program, Line: i.line, Points: orb.LineString{i.from}})
		a.points++
	}
	s := &a.strokes[len(a.strokes)-1]
	a.defocus, a.c = d, c
	if s.Defocus = d.Hi; -d.Lo > d.Hi {
		s.Defocus = d.Lo
	}
	s.C = (c.Lo + c.Hi) / 2
	before := len(s.Points)
	s.Points = appendPoint(s.Points, i.to, &a.free)
	a.points += len(s.Points) - before
}

// appendPoint appends a point to a line, or moves the last one on where it is in line with
// that. free tells that the last may be moved: it stands where the line has gone straight
// since the one before.
func appendPoint(l orb.LineString, to orb.Point, free *bool) orb.LineString {
	n := len(l)
	if *free && n >= 2 {
		a, b := l[n-2], l[n-1]
		dx, dy := to[0]-a[0], to[1]-a[1]
		ex, ey := b[0]-a[0], b[1]-a[1]
		if long := math.Hypot(dx, dy); ex*dx+ey*dy >= 0 && math.Abs(ex*dy-ey*dx) <= straight/8*long && long >= math.Hypot(ex, ey) {
			l[n-1] = to
			return l
		}
	}
	*free = true
	return append(l, to)
}

// travel takes a travel.
func (a *above) travel(from, to orb.Point) {
	if !sane(from) || !sane(to) {
		return
	}
	a.on = false
	a.moved.add(from)
	a.moved.add(to)
	if a.manyWays || from == to {
		return
	}
	if !a.wayOn {
		a.ways, a.wayOn, a.freeWay = append(a.ways, orb.LineString{from}), true, false
		a.wayPoints++
	}
	w := &a.ways[len(a.ways)-1]
	before := len(*w)
	if (*w)[before-1] != from {
		*w = append(*w, from)
		a.freeWay = false
	}
	*w = appendPoint(*w, to, &a.freeWay)
	a.wayPoints += len(*w) - before
	if len(a.ways) > mostWays || a.wayPoints > mostWayPoints {
		a.ways, a.manyWays = nil, true
	}
}

// rasterise puts cells in the place of strokes.
func (a *above) rasterise() {
	a.cells = newCells(a.bounds.side())
	for k := range a.strokes {
		s := &a.strokes[k]
		for i := 1; i < len(s.Points); i++ {
			a.cells.line(&ink{s.Points[i-1], s.Points[i], s.Defocus, s.Defocus, s.C, s.C, s.Program, s.Line})
		}
	}
	a.strokes, a.on = nil, false
}

// sane reports whether a place is one.
func sane(p orb.Point) bool { return math.Abs(p[0]) <= furthest && math.Abs(p[1]) <= furthest }

// furthest in mm is further than any bench reaches.
const furthest = 1e9
