package advise

import (
	"fmt"
	"math"

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
	figures, steps counts

	run            bool
	x0, y0, x1, y1 float64 // of the figure
	burns          int
	// row is the last stroke along an axis.
	row stroke

	mm   float64
	from string
}

// stroke is a straight run of burns along an axis: its place across, and from
// where to where it goes.
type stroke struct {
	axis           byte
	across, lo, hi float64
}

func (g *guess) init() { g.clear() }

func (g *guess) clear() {
	g.x0, g.y0, g.x1, g.y1 = math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)
	g.run, g.burns = false, 0
}

func (g *guess) take(x, y float64) {
	g.x0, g.x1 = min(g.x0, x), max(g.x1, x)
	g.y0, g.y1 = min(g.y0, y), max(g.y1, y)
}

// move takes a move or a dwell.
func (g *guess) move(m *machine.Move) {
	if !m.Burn {
		if m.Length > 0 || m.From.Z != m.To.Z || m.FromUnknown {
			g.figure()
		}
		return
	}
	if m.Length == 0 {
		return
	}
	axis, _ := direction(m)
	if g.run && axis != 0 && g.row.axis == axis && g.isRow() && !g.onRow(axis, m) {
		// A raster that is burned without a stop: each row is for itself.
		g.figure()
	}
	g.run = true
	g.burns++
	g.take(m.From.X, m.From.Y)
	g.take(m.To.X, m.To.Y)
	if m.Kind == machine.Arc {
		const turns = 8
		for k := 1; k < turns; k++ {
			at := m.XY(float64(k) / turns)
			g.take(at[0], at[1])
		}
	}
}

func (g *guess) isRow() bool { return g.x0 == g.x1 || g.y0 == g.y1 }

func (g *guess) onRow(axis byte, m *machine.Move) bool {
	if axis == 'X' {
		return g.y0 == m.From.Y && g.y0 == g.y1
	}
	return g.x0 == m.From.X && g.x0 == g.x1
}

// figure ends the figure.
func (g *guess) figure() {
	if !g.run {
		return
	}
	w, h := g.x1-g.x0, g.y1-g.y0
	switch {
	case h == 0:
		g.stroke(stroke{'X', g.y0, g.x0, g.x1})
	case w == 0:
		g.stroke(stroke{'Y', g.x0, g.y0, g.y1})
	default:
		g.figures.add(max(w, h))
		g.row = stroke{}
	}
	g.clear()
}

// stroke takes a row, and how far it is from the row before where that runs
// beside it.
func (g *guess) stroke(s stroke) {
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
func (g *guess) finish() {
	g.figure()
	if g.steps.n >= fewRows {
		d := g.steps.at(straySteps)
		g.mm = record.StrokesOfDetail * d
		g.from = fmt.Sprintf("the raster, %d rows of which, %.3g mm apart, make the smallest letter", record.StrokesOfDetail, d)
	}
	if g.figures.n > 0 {
		if d := g.figures.at(strayFigures); d <= largestFigure && (g.mm == 0 || d < g.mm) {
			g.mm, g.from = d, "the size of the smallest figures"
		}
	}
}

// binsPerDoubling is how finely lengths are counted: to about one percent.
const binsPerDoubling = 64

// counts counts lengths in bins of equal proportion, from 1 µm to 1 km.
type counts struct {
	n    int
	bins [30 * binsPerDoubling]int
	sums [30 * binsPerDoubling]float64
}

func (c *counts) add(mm float64) {
	k := int(math.Log2(mm*1000) * binsPerDoubling)
	k = min(max(k, 0), len(c.bins)-1)
	c.n++
	c.bins[k]++
	c.sums[k] += mm
}

// at is the length below which a part of those counted lies: the mean of its
// bin.
func (c *counts) at(part float64) float64 {
	skip := int(part * float64(c.n))
	for k, n := range c.bins {
		if skip < n {
			return c.sums[k] / float64(n)
		}
		skip -= n
	}
	return 0
}
