package touch

import (
	"errors"
	"math"
)

// Lines are the centre lines of burns. The zero value has none.
type Lines struct {
	// Most bounds how many points are kept, 0 for no bound. An arc takes ArcPoints.
	Most int
	// Overlap is how far in mm stretches may go on over where they join.
	Overlap float64
	// From and To are the Y between which lines are looked at, where To is greater.
	From, To float64

	points []point
	arcs   []arc
	blocks []block
	now    block // what Begin said
	run    Sleeve
	open   bool // the last block goes on
}

// ArcPoints is how many points an arc counts as.
const ArcPoints = 6

// ErrMany says that there are more lines than may be kept, ErrFar that they are too far
// out.
var (
	ErrMany = errors.New("too many lines at one place")
	ErrFar  = errors.New("lines further out than 200 m")
)

// point is a place, in steps.
type point struct{ x, y int32 }

func at(x, y float64) (point, error) {
	if !(math.Abs(x) <= farthest && math.Abs(y) <= farthest) {
		return point{}, ErrFar
	}
	return point{int32(math.Round(x * perMM)), int32(math.Round(y * perMM))}, nil
}

// arc is a part of a circle, whose radius goes evenly from r0 to r1.
type arc struct{ cx, cy, r0, r1, a0, sweep float64 }

func (a *arc) at(t float64) vec {
	sin, cos := math.Sincos(a.a0 + t*a.sweep)
	r := a.r0 + t*(a.r1-a.r0)
	return vec{a.cx + r*cos, a.cy + r*sin}
}

// block is a few lines that follow each other, or a few arcs, of one stretch.
type block struct {
	first, n int32 // points, one more than lines, or arcs
	bent     bool
	stretch  int32
	rank     int32
	hash     uint32
	box      box
}

// inBlock is how many lines a block has at most.
const inBlock = 16

// box is a rectangle, in steps.
type box struct{ x0, y0, x1, y1 int32 }

func (b *box) take(p point) {
	b.x0, b.y0, b.x1, b.y1 = min(b.x0, p.x), min(b.y0, p.y), max(b.x1, p.x), max(b.y1, p.y)
}

func (b *box) meets(o *box, by int32) bool {
	return b.x0 <= o.x1+by && o.x0 <= b.x1+by && b.y0 <= o.y1+by && o.y0 <= b.y1+by
}

// Reset takes all lines out, and looks at those between two Y from then on.
func (l *Lines) Reset(from, to float64) {
	*l = Lines{Most: l.Most, Overlap: l.Overlap, From: from, To: to, points: l.points[:0], arcs: l.arcs[:0], blocks: l.blocks[:0]}
}

// Begin begins a stretch, or another figure of it: what follows does not go on with what
// was there before.
func (l *Lines) Begin(stretch, rank int) {
	l.now = block{stretch: int32(stretch), rank: int32(rank)}
	l.open, l.run = false, Sleeve{}
}

// outside reports whether what lies between two Y is not looked at.
func (l *Lines) outside(y0, y1 float64) bool {
	return l.To > l.From && (max(y0, y1) < l.From-2*Near || min(y0, y1) > l.To+2*Near)
}

// Line puts a line in, or a point where its ends are one. hash is the same for lines
// that are interchangeable where they lie on one another.
func (l *Lines) Line(x0, y0, x1, y1 float64, hash uint32) error {
	a, err := at(x0, y0)
	b, err1 := at(x1, y1)
	if err = errors.Join(err, err1); err != nil {
		return err
	}
	if l.outside(y0, y1) {
		l.open, l.run = false, Sleeve{}
		return nil
	}
	straight := l.run.Takes(x0, y0, x1, y1)
	n := len(l.blocks) - 1
	switch {
	case l.open && straight && l.blocks[n].n > 1:
		l.points[len(l.points)-1] = b
	case l.open && l.points[len(l.points)-1] == a && l.blocks[n].n <= inBlock:
		l.points = append(l.points, b)
		l.blocks[n].n++
	default:
		l.begin(block{first: int32(len(l.points)), n: 2})
		n = len(l.blocks) - 1
		l.points = append(l.points, a, b)
		l.blocks[n].box.take(a)
	}
	l.blocks[n].box.take(b)
	l.blocks[n].mix(hash)
	l.open = true
	return l.room()
}

func (l *Lines) begin(b block) {
	b.stretch, b.rank = l.now.stretch, l.now.rank
	b.box = box{math.MaxInt32, math.MaxInt32, math.MinInt32, math.MinInt32}
	l.blocks = append(l.blocks, b)
}

func (b *block) mix(hash uint32) { b.hash = b.hash*16777619 ^ hash }

func (l *Lines) room() error {
	if l.Most > 0 && len(l.points)+ArcPoints*len(l.arcs) > l.Most {
		return ErrMany
	}
	return nil
}

// Arc puts an arc in: about cx, cy, its radius going from r0 to r1, from the angle a0 over
// sweep, in radians.
func (l *Lines) Arc(cx, cy, r0, r1, a0, sweep float64, hash uint32) error {
	a := arc{cx, cy, r0, r1, a0, sweep}
	l.open, l.run = false, Sleeve{}
	var around box
	for i, p := range a.sides() {
		q, err := at(p.x, p.y)
		if err != nil {
			return err
		}
		if i == 0 {
			around = box{q.x, q.y, q.x, q.y}
		}
		around.take(q)
	}
	if l.outside(float64(around.y0)/perMM, float64(around.y1)/perMM) {
		return nil
	}
	n := len(l.blocks) - 1
	if n < 0 || !l.blocks[n].bent || l.blocks[n].stretch != l.now.stretch || l.blocks[n].rank != l.now.rank || l.blocks[n].n >= inBlock/4 {
		l.begin(block{first: int32(len(l.arcs)), bent: true})
		n++
	}
	b := &l.blocks[n]
	b.box.take(point{around.x0, around.y0})
	b.box.take(point{around.x1, around.y1})
	b.n++
	b.mix(hash)
	l.arcs = append(l.arcs, a)
	return l.room()
}

// sides are the ends of an arc and the sides of its circle that it passes.
func (a *arc) sides() []vec {
	list := []vec{a.at(0), a.at(1)}
	for k := range 4 {
		side := float64(k) * math.Pi / 2
		ahead := math.Copysign(1, a.sweep) * (side - a.a0)
		if ahead -= 2 * math.Pi * math.Floor(ahead/(2*math.Pi)); ahead <= math.Abs(a.sweep) {
			list = append(list, a.at(ahead/math.Abs(a.sweep)))
		}
	}
	return list
}

// Sleeve tells which lines go straight on, one after the other. The zero value has none.
type Sleeve struct {
	any      bool
	from, to vec
	dir      vec
	lo, hi   float64 // the outermost directions, against dir
}

// Takes takes a line, and reports whether it goes straight on with those before.
func (s *Sleeve) Takes(x0, y0, x1, y1 float64) bool {
	a, b := vec{x0, y0}, vec{x1, y1}
	d := b.sub(s.from)
	if s.any && a == s.to && d.dot(s.dir) > 0 && b.sub(a).dot(s.dir) > 0 {
		angle, slack := math.Atan2(s.dir.cross(d), s.dir.dot(d)), straightMM/d.length()
		if angle >= s.lo && angle <= s.hi {
			s.lo, s.hi, s.to = max(s.lo, angle-slack), min(s.hi, angle+slack), b
			return true
		}
	}
	d = b.sub(a)
	slack := straightMM / d.length()
	*s = Sleeve{a != b, a, b, d, -slack, slack}
	return false
}
