package advise

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"sagitta/internal/machine"
	"sagitta/internal/record"
)

// Detail is the smallest detail that must stay legible.
type Detail struct {
	// MM is its height; 0 where it is not known.
	MM float64
	// From says where it comes from, for people.
	From string
	// Guessed tells that it was read off the program, which refuses no lens
	// by itself.
	Guessed bool
}

// guess reads the smallest detail off a program. There are two signs of it.
// A figure (an unbroken run of burns) is no smaller than its longer side: the
// smallest but a twentieth, which dots of letters and stray marks are, counts.
// A raster's rows are parallel strokes; they can draw nothing finer than a
// letter of as many rows as a legible one has strokes, so the spacing that
// most of the finest rows have counts, times that number.
type guess struct {
	figures, steps histogram

	// burned bounds the burns, figure those of the figure under way.
	burned, figure orb.Bound
	// row is the last stroke along an axis.
	row rowLine
}

// rowLine is a straight run of burns along an axis: its place across, and from
// where to where it goes.
type rowLine struct {
	axis           byte
	across, lo, hi float64
}

// nowhere is a bound of nothing.
var nowhere = orb.MultiPoint(nil).Bound()

// move takes a move or a dwell.
func (g *guess) move(m *machine.Move) {
	if !m.Burn {
		if m.Length > 0 || m.From.Z != m.To.Z || m.FromUnknown {
			g.endFigure()
		}
		return
	}
	if m.Length == 0 {
		return
	}
	turns := 1
	if m.Kind == machine.Arc {
		turns = 8
	}
	box := nowhere
	for k := range turns + 1 {
		box = box.Extend(m.XY(float64(k) / float64(turns)))
	}
	g.burned = g.burned.Union(box)
	both := g.figure.Union(box)
	if axis, _ := direction(m); axis != 0 && g.row.axis == axis && row(g.figure).axis != 0 && row(both).axis != axis {
		// A raster that is burned without a stop: each row is for itself.
		g.endFigure()
		both = box
	}
	g.figure = both
}

// row is a figure without width or height as a row, whose axis is 0 for
// others.
func row(b orb.Bound) rowLine {
	switch {
	case b.Min[1] == b.Max[1]:
		return rowLine{'X', b.Min[1], b.Min[0], b.Max[0]}
	case b.Min[0] == b.Max[0]:
		return rowLine{'Y', b.Min[0], b.Min[1], b.Max[1]}
	}
	return rowLine{}
}

// endFigure ends the figure under way.
func (g *guess) endFigure() {
	if g.figure.IsEmpty() {
		return
	}
	if s := row(g.figure); s.axis != 0 {
		g.stroke(s)
	} else {
		b := g.figure
		g.figures.add(max(b.Max[0]-b.Min[0], b.Max[1]-b.Min[1]))
		g.row = rowLine{}
	}
	g.figure = nowhere
}

// stroke takes a row, and how far it is from the row before where that runs
// beside it.
func (g *guess) stroke(s rowLine) {
	r := &g.row
	if r.axis == s.axis && s.across != r.across && s.lo < r.hi && s.hi > r.lo {
		if d := math.Abs(s.across - r.across); d <= widestRows {
			g.steps.add(d)
		}
	}
	*r = s
}

const (
	// widestRows is up to which spacing in mm parallel strokes are rows of
	// a raster; wider ones are drawn lines.
	widestRows = 1
	// largestFigure is up to which size in mm figures may be the detail
	// itself; larger ones tell nothing of what is in them.
	largestFigure = 10
	// fewRows is how many rows make a raster.
	fewRows = 8
	// strayFigures and straySteps are the parts of the smallest figures and
	// closest rows that do not count.
	strayFigures, straySteps = 0.05, 0.05
)

// finish makes the guess.
func (g *guess) finish() (d Detail) {
	g.endFigure()
	if g.steps.n >= fewRows {
		step := g.steps.at(straySteps)
		d = Detail{record.StrokesOfDetail * step,
			fmt.Sprintf("the raster, %d rows of which, %.3g mm apart, make the smallest letter", record.StrokesOfDetail, step), true}
	}
	if size := g.figures.at(strayFigures); size > 0 && size <= largestFigure && (d.MM == 0 || size < d.MM) {
		d = Detail{size, "the size of the smallest figures", true}
	}
	return d
}

// binsPerDoubling is how finely lengths are counted: to about one percent.
const binsPerDoubling = 64

// histogram counts lengths in bins of equal proportion, from 1 µm to 1 km.
type histogram struct {
	n    int
	bins [30 * binsPerDoubling]struct {
		n   int
		sum float64
	}
}

func (c *histogram) add(mm float64) {
	k := int(math.Log2(mm*1000) * binsPerDoubling)
	b := &c.bins[min(max(k, 0), len(c.bins)-1)]
	c.n++
	b.n++
	b.sum += mm
}

// at is the length below which a part of those counted lies: the mean of its
// bin; 0 where there are none.
func (c *histogram) at(part float64) float64 {
	skip := int(part * float64(c.n))
	for _, b := range c.bins {
		if skip < b.n {
			return b.sum / float64(b.n)
		}
		skip -= b.n
	}
	return 0
}
