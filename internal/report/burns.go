package report

import (
	"image"
	"image/color"
	"math"
	"slices"

	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"sagitta/internal/report/trace"
)

// each goes through what is burned, be it lines or cells.
func each(above *trace.Above, visit func(defocus, c float64, program int)) {
	for _, s := range above.Strokes {
		visit(s.Defocus, s.C, s.Program)
	}
	if c := above.Cells; c != nil {
		for k := range c.NX * c.NY {
			if burns(c, k) {
				visit(float64(c.Defocus[k]), float64(c.C[k]), int(c.Program[k]))
			}
		}
	}
}

// burns draws what is burned.
func (p *panel) burns() {
	g := p.m.Over.groups()
	if p.m.Over.Trace.Above.Cells != nil {
		p.cells(g)
		return
	}
	lines := make([][][]vg.Point, len(g.classes))
	last := -1
	for _, s := range p.m.Over.Trace.Above.Strokes {
		k := g.of(s.Defocus, s.C, s.Program)
		line := p.line(s.Points)
		if k < 0 || len(line) == 0 {
			last = -1
			continue
		}
		if n := len(lines[k]); k == last && n > 0 && lines[k][n-1][len(lines[k][n-1])-1] == line[0] {
			// One line, so that dashes run on.
			lines[k][n-1] = append(lines[k][n-1], line[1:]...)
			continue
		}
		last = k
		lines[k] = append(lines[k], line)
	}
	for k, c := range g.classes {
		for _, style := range c.lines {
			p.stroke(style, lines[k])
			p.points(style, lines[k])
		}
	}
	for k, c := range g.classes {
		if c.name != "" {
			p.naming = append(p.naming, func() { p.name(c.name, lines[k]) })
		}
	}
}

// names writes the names of what is burned, after the texts of what a person looks for.
func (p *panel) names() {
	p.labels.room = labelGap * 2
	for _, name := range p.naming {
		name()
	}
	p.labels.room = 0
}

// points draws lines without length: what is burned while the head stands.
func (p *panel) points(style draw.LineStyle, lines [][]vg.Point) {
	for _, line := range lines {
		if p.inside(line[0]) && !slices.ContainsFunc(line, func(at vg.Point) bool { return at != line[0] }) {
			p.canvas.SetColor(style.Color)
			p.canvas.Fill(ring(line[0], style.Width)[0])
		}
	}
}

// name writes a name on the longest of some lines.
func (p *panel) name(text string, lines [][]vg.Point) {
	lines = p.canvas.ClipLinesXY(lines...)
	slices.SortStableFunc(lines, func(a, b []vg.Point) int {
		return int(math.Copysign(1, float64(length(b)-length(a))))
	})
	for _, line := range lines[:min(len(lines), 20)] {
		if whole := length(line); p.near(text, line, whole/2, whole/2) {
			return
		}
	}
}

// cells draws a lattice of what is burned, and around what is out of focus a line.
func (p *panel) cells(g groups) {
	c := withWidth(p.m.Over.Trace.Above.Cells)
	if c == nil {
		return
	}
	in := classed(c, g)
	img := imageOf(c, in, g)
	b := c.Bounds
	around := p.around(c, in, func(class int) bool { return class >= 0 && g.classes[class].out })
	for _, s := range [...]draw.LineStyle{{Color: sheetPaper, Width: 3.4}, {Color: sheetInk, Width: 1.8}} {
		p.stroke(s, around)
	}
	plotter.NewImage(img, b.Min[0], b.Min[1], b.Max[0], b.Max[1]).Plot(p.canvas, p.plot)
	for k, class := range g.classes {
		if class.name != "" {
			p.naming = append(p.naming, func() { p.nameCells(class.name, c, in, k) })
		}
	}
}

// withWidth are cells whose bounds are usable, and have some width and height; nil for none.
func withWidth(c *trace.Cells) *trace.Cells {
	if !usable(c.Bounds) || c.NX < 1 || c.NY < 1 {
		return nil
	}
	wide := *c
	for k := range 2 {
		if wide.Bounds.Max[k]-wide.Bounds.Min[k] < leastArea/10 {
			wide.Bounds.Min[k] -= leastArea / 20
			wide.Bounds.Max[k] += leastArea / 20
		}
	}
	return &wide
}

// mostPixels is about how many pixels an image of cells has along its longer side.
const mostPixels = 1200

// imageOf has the cells as squares of several pixels, so that none runs into the next
// however it is scaled.
func imageOf(c *trace.Cells, in []int, g groups) image.Image {
	colours := color.Palette{color.Transparent}
	for _, class := range g.classes {
		colours = append(colours, class.fill)
	}
	per := max(mostPixels/max(c.NX, c.NY), 1)
	img := image.NewPaletted(image.Rect(0, 0, c.NX*per, c.NY*per), colours)
	for y := range c.NY * per {
		for x := range c.NX * per {
			img.Pix[y*img.Stride+x] = uint8(1 + in[(c.NY-1-y/per)*c.NX+x/per])
		}
	}
	return img
}

// classed are the groups that cells come into, -1 where nothing burns.
func classed(c *trace.Cells, g groups) []int {
	in := make([]int, c.NX*c.NY)
	for k := range in {
		in[k] = -1
		if burns(c, k) {
			in[k] = g.of(float64(c.Defocus[k]), float64(c.C[k]), int(c.Program[k]))
		}
	}
	return in
}

// around are the lines between cells that are in a set and those that are not.
func (p *panel) around(c *trace.Cells, in []int, is func(class int) bool) (lines [][]vg.Point) {
	at := func(i, j int) vg.Point {
		b := c.Bounds
		return p.at(b.Min[0]+(b.Max[0]-b.Min[0])*float64(i)/float64(c.NX), b.Min[1]+(b.Max[1]-b.Min[1])*float64(j)/float64(c.NY))
	}
	set := func(i, j int) bool {
		return i >= 0 && j >= 0 && i < c.NX && j < c.NY && is(in[j*c.NX+i])
	}
	// A line runs on as long as the side does.
	for j := 0; j <= c.NY; j++ {
		for i := 0; i < c.NX; i++ {
			first := i
			for i < c.NX && set(i, j) != set(i, j-1) {
				i++
			}
			if i > first {
				lines = append(lines, []vg.Point{at(first, j), at(i, j)})
			}
		}
	}
	for i := 0; i <= c.NX; i++ {
		for j := 0; j < c.NY; j++ {
			first := j
			for j < c.NY && set(i, j) != set(i-1, j) {
				j++
			}
			if j > first {
				lines = append(lines, []vg.Point{at(i, first), at(i, j)})
			}
		}
	}
	return lines
}

// nameCells writes a name on cells of a group, from the middle of them on.
func (p *panel) nameCells(text string, c *trace.Cells, in []int, class int) {
	var of []int
	for k, is := range in {
		if is == class {
			of = append(of, k)
		}
	}
	b := c.Bounds
	for off := range len(of) {
		// From the middle to both ends.
		k := of[(len(of)/2+(off+1)/2*(1-off%2*2)+len(of))%len(of)]
		x := b.Min[0] + (b.Max[0]-b.Min[0])*(float64(k%c.NX)+0.5)/float64(c.NX)
		y := b.Min[1] + (b.Max[1]-b.Min[1])*(float64(k/c.NX)+0.5)/float64(c.NY)
		if p.labels.put(text, p.at(x, y)) {
			return
		}
	}
}

// burns reports whether anything burns in a cell.
func burns(c *trace.Cells, k int) bool { return c.Defocus[k] == c.Defocus[k] || c.C[k] == c.C[k] }
