package report

import (
	"fmt"
	"image/color"
	"math"

	"github.com/paulmach/orb/planar"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"sagitta/internal/phrase"
	"sagitta/internal/report/trace"
)

// By is what burns are told apart by.
type By uint8

const (
	// ByDefocus tells how much of the usable depth is spent, ByZone which program burns, and
	// ByC how high the focus stands.
	ByDefocus By = iota
	ByZone
	ByC
)

// group is burns that are drawn alike: lines from the lowest to the topmost, or cells in one
// colour.
type group struct {
	lines []draw.LineStyle
	fill  color.NRGBA
	text  string // what they have in common
	name  string // is written beside them; "" for nothing
	out   bool   // they are out of focus
}

// groups are all that burns of a picture come into, and which of them one comes into.
type groups struct {
	classes []group
	of      func(defocus, c float64, program int) int
}

// spent are the colours of what is spent of a depth, the darker the more, and outColour is
// beyond it. On a light map they are in order in grey print as well.
var (
	spent     = [...]color.NRGBA{{0x55, 0x96, 0xc8, 0xff}, {0x1d, 0x62, 0xa0, 0xff}, {0x0a, 0x22, 0x48, 0xff}}
	outColour = color.NRGBA{213, 94, 0, 255}
)

// cased is a line that nobody overlooks: a core in black and white.
func cased(core color.Color, dash ...vg.Length) []draw.LineStyle {
	return []draw.LineStyle{{Color: sheetPaper, Width: 3.4}, {Color: sheetInk, Width: 2.3}, {Color: core, Width: 1.2, Dashes: dash}}
}

// groups are those that a job is drawn by.
func (o *Over) groups() groups {
	switch o.By {
	case ByZone:
		return byZone(o.Trace.Programs, &o.Trace.Above)
	case ByC:
		return byC(&o.Trace.Above)
	}
	return groups{[]group{
		{lines: []draw.LineStyle{{Color: spent[0], Width: 0.8}}, fill: spent[0], text: "burns in focus: up to a third of the usable depth is spent"},
		{lines: []draw.LineStyle{{Color: spent[1], Width: 1.1, Dashes: []vg.Length{5, 1.2}}}, fill: spent[1], text: "in focus: up to two thirds"},
		{lines: []draw.LineStyle{{Color: spent[2], Width: 1.6, Dashes: []vg.Length{2.4, 1}}}, fill: spent[2], text: "in focus: more than two thirds"},
		{lines: cased(sheetPaper, 1.5, 1.5), fill: color.NRGBA{0x50, 0x50, 0x50, 0xff}, text: "no height is known under these burns", out: true},
		{lines: cased(outColour), fill: outColour, text: "OUT OF FOCUS: beyond the usable depth", out: true},
	}, func(defocus, _ float64, _ int) int {
		const rounding = 1e-9 // of what is at the depth
		switch part := math.Abs(defocus) - rounding; {
		case part <= 1./3:
			return 0
		case part <= 2./3:
			return 1
		case part <= 1:
			return 2
		case math.IsNaN(part):
			return 3
		}
		return 4
	}}
}

// tones are colours that are told apart on a light map, neighbours in grey as well.
var tones = []color.NRGBA{{0, 90, 150, 255}, {200, 110, 20, 255}, {20, 20, 20, 255}, {0, 150, 110, 255}, {110, 20, 90, 255}}

// byZone tells programs apart by colour and by dashes: those that burn the most have the
// plainest, for much of what they burn is small.
func byZone(programs []trace.Program, above *trace.Above) groups {
	burned := make([]float64, len(programs))
	for _, s := range above.Strokes {
		if s.Program >= 0 && s.Program < len(programs) {
			burned[s.Program] += finiteOr0(planar.Length(s.Points))
		}
	}
	rank := make([]int, len(programs))
	for k := range rank {
		for i := range burned {
			if burned[i] > burned[k] || burned[i] == burned[k] && i < k {
				rank[k]++
			}
		}
	}
	var all []group
	for k, p := range programs {
		colour := tones[k%len(tones)]
		// As many dashes as do not come round together with the colours.
		g := group{lines: []draw.LineStyle{{Color: colour, Width: 1.2, Dashes: dashes[rank[k]%(len(dashes)-1)]}}, fill: colour}
		g.name = fmt.Sprintf("zone %d", k+1)
		g.text = fmt.Sprintf("zone %d: %s, focus at %s mm over the datum", k+1, phrase.Printable(p.Name), phrase.Offset(p.FocusMM))
		if p.Lens != "" {
			g.text += ", lens " + phrase.Printable(p.Lens)
		}
		all = append(all, g)
	}
	return groups{all, func(_, _ float64, program int) int {
		if program < 0 || program >= len(all) {
			return -1
		}
		return program
	}}
}

// cClasses is how many classes there are of c.
const cClasses = 5

// byC has as many even classes of c as are told apart, the darker the higher.
func byC(above *trace.Above) groups {
	low, high := math.Inf(1), math.Inf(-1)
	each(above, func(_, c float64, _ int) {
		if finite(c) {
			low, high = min(low, c), max(high, c)
		}
	})
	n := cClasses
	if !(high-low >= flatMM) {
		n = 1
	}
	var all []group
	for k := range n {
		at := func(k int) string { return signed(low+(high-low)*float64(k)/float64(n), 2) }
		text := fmt.Sprintf("focus moved by %s to %s mm", at(k), at(k+1))
		if n == 1 {
			text = fmt.Sprintf("focus moved by %s mm", at(0))
		}
		part := 1 - float64(k)/cClasses
		colour := color.NRGBA{uint8(0x10 + 0x58*part), uint8(0x1e + 0x80*part), uint8(0x4f + 0x80*part), 0xff}
		all = append(all, group{lines: []draw.LineStyle{{Color: colour, Width: 0.8 + 0.25*vg.Length(k), Dashes: dashes[(n-1-k)%len(dashes)]}}, fill: colour, text: text})
	}
	return groups{all, func(_, c float64, _ int) int {
		if !finite(c) {
			return -1
		}
		return min(max(int(float64(n)*(c-low)/(high-low)), 0), n-1)
	}}
}

// drawn tells which groups there are any of.
func (g groups) drawn(above *trace.Above) []bool {
	any := make([]bool, len(g.classes))
	each(above, func(defocus, c float64, program int) {
		if k := g.of(defocus, c, program); k >= 0 {
			any[k] = true
		}
	})
	return any
}

// sample draws burns of a group, as lines or as cells.
func (g group) sample(cells bool) sample {
	if !cells {
		return sampleLine(g.lines...)
	}
	return func(c draw.Canvas, room vg.Rectangle) {
		inset := vg.Point{X: 3, Y: 2}
		c.SetColor(g.fill)
		r := vg.Rectangle{Min: room.Min.Add(inset), Max: room.Max.Sub(inset)}
		c.Fill(r.Path())
		if g.out {
			c.SetLineStyle(draw.LineStyle{Color: sheetInk, Width: 1})
			c.Stroke(r.Path())
		}
	}
}
