package set

import (
	"fmt"
	"io"
	"math"

	"sagitta/internal/machine"
	"sagitta/internal/verify"
	"sagitta/internal/verify/set/touch"
)

// Original is the program that a set was made from. It is read once from where it
// stands to its end, and then here and there again.
type Original interface {
	io.Reader
	io.ReaderAt
}

// place is how far the original is behind some of its burns: how many, of which points
// have no length, and how many mm.
type place struct {
	burn, points int32
	mm           float64
}

// behind is the place behind the burn o that begins here.
func (p place) behind(o *verify.Step) place {
	p.burn++
	p.mm += o.M.Length
	if o.M.Length == 0 {
		p.points++
	}
	return p
}

// section is a stretch of the original between two marks: where it begins, and the
// box about its burns, of which done have been found whole; up to its end the burns take
// so many points as lines.
type section struct {
	mark   verify.Mark
	from   place
	box    box
	done   int32
	points int
}

// boxed is how many sections there is a box about.
const boxed = 128

// mostBurns is how many burns a job may have, and mostSections into how many sections it
// is divided at most: then they grow.
const (
	mostBurns    = math.MaxInt32 - 1
	mostSections = 1 << 15
	firstSection = 32
)

// original is what there is to know of the original as a whole.
type original struct {
	src  Original
	name string
	cfg  machine.Config
	// stream is that of its one whole reading, at its end.
	stream *verify.Stream
	end    place
	// firstZ is where its first burn begins.
	firstZ   float64
	sections []section
	boxes    []box // each about so many of them
	lines    int
	// before and behind are its steps before the first burn and behind the last that
	// a program may owe, and the air meanwhile; airs is any that it has.
	before, behind       []verify.Step
	airBefore, airBehind air
	airs                 air
	// paths has a motion under each path control that it says, one after the other.
	paths []verify.Step
	// ends is the word that ends it, nil where none does.
	ends *verify.Step
	// between are words that switch between burns, of which there are switches.
	between  []switched
	switches int
	// whole has what is wrong with it whatever the programs do.
	whole verify.Result
	// seconds is how long it takes.
	seconds float64
	// points is how many points its burns take as lines, those that go on straight being
	// one.
	points int
}

// mostPaths is more changes of path control than any job has.
const mostPaths = 1 << 12

// read reads the original as a whole; several tells that the job goes to several
// programs, or to one with stops.
func (g *original) read(several bool, opt *verify.Options, switches func(*verify.Step) bool) error {
	st := verify.NewStream(g.src, g.name, g.cfg, false)
	g.stream = st
	first, _ := st.Mark()
	clock := verify.NewClock(opt)
	defer func() { g.seconds = clock.Seconds() }()
	g.sections = append(g.sections, section{mark: first, box: noBox})
	every := firstSection
	var since []verify.Step // the last burn
	var now, seen air
	var run touch.Sleeve
	for {
		var o verify.Step
		if err := st.Next(&o); err != nil {
			return err
		}
		if o.Kind == verify.Motion || o.Kind == verify.Dwell {
			clock.Take(&o)
		}
		now = airOf(&o)
		seen |= now
		if o.Ends() && !o.Optional && g.ends == nil {
			g.ends = new(verify.Step)
			*g.ends = o
		}
		if n := len(g.paths); o.Kind == verify.Motion && n < mostPaths && (n == 0 || !g.paths[n-1].SamePath(&o)) {
			g.paths = append(g.paths, o)
		}
		switch {
		case o.Kind == verify.AtEnd:
			g.lines = o.Line
			for i := range g.sections {
				if i%boxed == 0 {
					g.boxes = append(g.boxes, noBox)
				}
				g.boxes[i/boxed].join(&g.sections[i].box)
			}
			g.airs |= seen
			g.behind, g.airBehind = since, seen
			if g.end.burn == 0 {
				g.before, g.airBefore = since, seen
			}
			return nil
		case o.Lit() || o.Kind == verify.Word:
			if len(since) < mostOwed {
				since = append(since, o)
			}
			continue
		case !o.M.Burn:
			continue
		}
		g.ends = nil // a word behind which it burns is not the one that ends it
		g.airs |= seen
		if g.end.burn == 0 {
			g.firstZ, g.before, g.airBefore = o.M.From.Z, since, seen
			since = nil
		}
		g.switching(since, several, switches)
		since, seen = since[:0], now
		g.burn(&o, &run, &every)
		if g.end.burn == mostBurns {
			return fmt.Errorf("%s has more than %d burns", g.name, mostBurns)
		}
	}
}

// burn takes a burn.
func (g *original) burn(o *verify.Step, run *touch.Sleeve, every *int) {
	s := &g.sections[len(g.sections)-1]
	s.box.take(&o.M)
	g.end = g.end.behind(o)
	switch m := &o.M; {
	case m.Kind == machine.Arc:
		g.points += touch.ArcPoints
	case !run.Takes(m.From.X, m.From.Y, m.To.X, m.To.Y):
		g.points++
	}
	s.points = g.points
	if o.Line-s.mark.Line() < *every {
		return
	}
	mark, ok := g.stream.Mark()
	if !ok {
		return
	}
	if len(g.sections) == mostSections {
		*every *= 2
		g.merge()
	}
	g.sections = append(g.sections, section{mark: mark, from: g.end, box: noBox})
}

// merge makes one section of two.
func (g *original) merge() {
	half := g.sections[:0]
	for i := 0; i < len(g.sections); i += 2 {
		s := g.sections[i]
		if i+1 < len(g.sections) {
			s.box.join(&g.sections[i+1].box)
			s.points = g.sections[i+1].points
		}
		half = append(half, s)
	}
	g.sections = half
}

// switching takes the words since the last burn, as another burn comes: where the job
// goes to several programs, none can be told to be in the right ones.
func (g *original) switching(since []verify.Step, several bool, switches func(*verify.Step) bool) {
	for i := range since {
		o := &since[i]
		switch {
		case several && (switches(o) || o.Kind == verify.Word && o.Stops):
			f := lacks(o, "")
			f.Kind = verify.WordDiffers
			f.Detail = fmt.Sprintf("%s stands between burns of the original, and cannot be told to be in force where it is wanted in several zones", o)
			g.whole.Fail(f)
		case !several && switches(o):
			if g.switches++; len(g.between) < mostOwed {
				g.between = append(g.between, switched{*o, g.end.burn, false})
			}
		}
	}
}

// box is a rectangle over XY.
type box struct{ x0, y0, x1, y1 float64 }

var noBox = box{math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)}

func (b *box) join(o *box) {
	b.x0, b.y0, b.x1, b.y1 = min(b.x0, o.x0), min(b.y0, o.y0), max(b.x1, o.x1), max(b.y1, o.y1)
}

// take widens the box to have the ends of a burn in it; an arc may leave it between.
func (b *box) take(m *machine.Move) {
	b.at(m.From)
	b.at(m.To)
	if m.Kind == machine.Arc {
		r := max(m.R0, m.R1)
		b.at(machine.Point{X: m.CX - r, Y: m.CY - r})
		b.at(machine.Point{X: m.CX + r, Y: m.CY + r})
	}
}

func (b *box) at(p machine.Point) {
	b.x0, b.y0, b.x1, b.y1 = min(b.x0, p.X), min(b.y0, p.Y), max(b.x1, p.X), max(b.y1, p.Y)
}

// has reports whether both ends of a burn are in the box, or no further out than tol.
func (b *box) has(m *machine.Move, tol float64) bool {
	return min(m.From.X, m.To.X) >= b.x0-tol && max(m.From.X, m.To.X) <= b.x1+tol &&
		min(m.From.Y, m.To.Y) >= b.y0-tol && max(m.From.Y, m.To.Y) <= b.y1+tol
}
