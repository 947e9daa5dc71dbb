package report

import (
	"cmp"
	"math"
	"slices"
	"strings"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/simplify"
	"gonum.org/v1/plot"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/recorder"

	"sagitta/internal/phrase"
)

// contour is the lines of one height.
type contour struct {
	level float64
	text  string
	lines [][]vg.Point
}

// contours are those of the heights between the least and the greatest.
func (g *sampled) contours(c draw.Canvas, p *plot.Plot) (all []contour) {
	step := interval(g.low, g.high)
	if g.flat() || step == 0 {
		return nil
	}
	decimals := max(0, -int(math.Floor(math.Log10(step)+1e-9)))
	for k := math.Ceil(g.low/step - 1e-9); k*step <= g.high+1e-9*step; k++ {
		text := strings.Replace(phrase.Trimmed(k*step, decimals), "-", minus, 1)
		all = append(all, contour{k * step, text, g.lines(c, p, k*step)})
	}
	return all
}

// minus is the sign that is as wide as plus.
const minus = "\u2212"

// lines are the lines of one height, in the same order each time: the library keeps them
// in a map.
func (g *sampled) lines(c draw.Canvas, p *plot.Plot, level float64) (lines [][]vg.Point) {
	var drawn recorder.Canvas
	plotter.NewContour(g, []float64{level}, nil).Plot(draw.Canvas{Canvas: &drawn, Rectangle: c.Rectangle}, p)
	for _, a := range drawn.Actions {
		if stroke, ok := a.(*recorder.Stroke); ok {
			var line []vg.Point
			for _, comp := range stroke.Path {
				if comp.Type == vg.MoveComp || comp.Type == vg.LineComp {
					line = append(line, comp.Pos)
				}
			}
			if n := len(stroke.Path); n > 0 && stroke.Path[n-1].Type == vg.CloseComp && len(line) > 0 {
				line = append(line, line[0])
			}
			lines = append(lines, line)
		}
	}
	slices.SortFunc(lines, func(a, b []vg.Point) int {
		return slices.CompareFunc(a, b, func(a, b vg.Point) int { return cmp.Or(cmp.Compare(a.X, b.X), cmp.Compare(a.Y, b.Y)) })
	})
	return lines
}

const (
	// labelEvery is how far apart the labels of a line are at least; a line of less than
	// labelLeast that is not the longest of its height has none.
	labelEvery = 9 * vg.Centimeter
	labelLeast = 2.5 * vg.Centimeter
)

// label places the labels of contours on them, where there is room.
func (p *panel) label(all []contour) {
	for k := range all {
		lines := slices.Clone(all[k].lines)
		slices.SortStableFunc(lines, func(a, b []vg.Point) int { return cmp.Compare(length(b), length(a)) })
		labelled := false
		for _, line := range lines {
			if long := length(line); labelled && long < labelLeast {
				break
			}
			labelled = p.along(all[k].text, line) || labelled
		}
	}
}

// along places a text on a line, in its middle or as near to that as there is room, and
// again where it is long. Where marks of places leave no room it lies over them.
func (p *panel) along(text string, line []vg.Point) (any bool) {
	defer func() { p.labels.yield = false }()
	whole := length(line)
	n := max(1, int(whole/labelEvery))
	for k := range n {
		middle, half := whole*vg.Length(2*k+1)/vg.Length(2*n), whole/vg.Length(2*n)
		p.labels.yield = false
		any = p.near(text, line, middle, half) || any
		if p.labels.yield = true; !any {
			any = p.near(text, line, middle, half)
		}
	}
	return any
}

// near places a text on a line as near to a place along it as there is room, half so far off
// at most.
func (p *panel) near(text string, line []vg.Point, middle, half vg.Length) bool {
	for off := vg.Length(0); off <= half; off += labelSize / 2 {
		if p.putOn(text, line, middle+off) || p.putOn(text, line, middle-off) {
			return true
		}
	}
	return false
}

// putOn places a text on a line, so far along it, if its box is where there are heights.
func (p *panel) putOn(text string, line []vg.Point, along vg.Length) bool {
	at := pointAt(line, along)
	half := size(text).Scale(0.5)
	for _, corner := range [...]vg.Point{{}, half, half.Scale(-1), {X: half.X, Y: -half.Y}, {X: -half.X, Y: half.Y}} {
		if _, there := p.m.At(p.back(at.Add(corner))); !there {
			return false
		}
	}
	return p.labels.put(text, at)
}

// length is that of a line.
func length(line []vg.Point) (sum vg.Length) {
	for k := range line[min(1, len(line)):] {
		sum += apart(line[k], line[k+1])
	}
	return sum
}

func apart(a, b vg.Point) vg.Length { return vg.Length(math.Hypot(float64(b.X-a.X), float64(b.Y-a.Y))) }

// pointAt is the point so far along a line.
func pointAt(line []vg.Point, along vg.Length) vg.Point {
	for k := range line[1:] {
		d := apart(line[k], line[k+1])
		if along <= d && d > 0 {
			return line[k].Add(line[k+1].Sub(line[k]).Scale(max(along, 0) / d))
		}
		along -= d
	}
	return line[len(line)-1]
}

var (
	contourStyle = draw.LineStyle{Color: sheetInk, Width: 0.5}
	underStyle   = draw.LineStyle{Color: faint, Width: 0.35} // under a job
)

// unseen is how far a line may be off that is drawn in fewer points.
const unseen = vg.Length(0.1)

// simplified is a line of fewer points that nobody tells from it.
func simplified(line []vg.Point) []vg.Point {
	if len(line) < 3 {
		return line
	}
	way := make(orb.LineString, len(line))
	for k, at := range line {
		way[k] = orb.Point{float64(at.X), float64(at.Y)}
	}
	way = simplify.DouglasPeucker(float64(unseen)).LineString(way)
	fewer := make([]vg.Point, len(way))
	for k, q := range way {
		fewer[k] = vg.Point{X: vg.Length(q[0]), Y: vg.Length(q[1])}
	}
	return fewer
}
