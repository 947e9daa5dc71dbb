package report

import (
	"cmp"
	"fmt"
	"image/color"
	"io"
	"slices"

	"sagitta/internal/optics"
	"sagitta/internal/phrase"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// LensCurve is what a picture shows of a lens. Lengths are in mm.
type LensCurve struct {
	Name string
	// Waist and Rayleigh are the beam's; 0 where it is not known.
	Waist, Rayleigh float64
	// Near and Far are the sides of the depth; 0 where it is not known.
	Near, Far float64
	// Assumed tells that the depth was worked out and not seen.
	Assumed bool
}

// inks are the colours of M. Okabe and K. Ito, Color Universal Design (2008),
// which people of any colour vision tell apart, in an order in which
// neighbours also differ in grey.
var inks = []color.NRGBA{
	{0, 114, 178, 255}, {230, 159, 0, 255}, {0, 0, 0, 255}, {86, 180, 233, 255}, {213, 94, 0, 255}, {204, 121, 167, 255}, {0, 158, 115, 255},
}

// dashes tell curves apart without colour; there are as many as not to come
// round together with the colours.
var dashes = [][]vg.Length{
	nil, {vg.Points(7), vg.Points(3)}, {vg.Points(2), vg.Points(2.5)}, {vg.Points(9), vg.Points(3), vg.Points(2), vg.Points(3)}, {vg.Points(14), vg.Points(4)},
}

const (
	spotsHigh = 10 * vg.Centimeter
	barHigh   = 0.8 * vg.Centimeter
	barsExtra = 2.1 * vg.Centimeter // title and axis below the bars
	// curvePoints are enough that no corner shows in print.
	curvePoints = 400
	// around is how much of Z is shown against the deepest depth.
	around = 1.35
	// shade is the strength of a shaded depth, so that several over each
	// other can still be told.
	shade = 56
	// longestName is how much of a width the name of a lens has.
	longestName = 0.25
)

func lineStyle(i int) draw.LineStyle {
	return draw.LineStyle{Color: inks[i%len(inks)], Width: vg.Points(1.6), Dashes: dashes[i%len(dashes)]}
}

func shadeOf(i int) color.Color {
	c := inks[i%len(inks)]
	c.A = shade
	return c
}

// drawable reports whether all lengths are ones that a picture can hold, in mm:
// from below any wavelength to beyond any bench. Others would run out of the
// numbers of an axis.
func (l LensCurve) drawable() bool {
	const least, most = 1e-6, 1e6
	return !slices.ContainsFunc([]float64{l.Waist, l.Rayleigh, l.Near, l.Far}, func(v float64) bool {
		return v != 0 && !(v >= least && v <= most)
	})
}

// LensPlot draws spot against Z, the depth shaded, any number of lenses over
// each other, and below their depths as bars. format is "svg" or "png". A lens
// whose lengths are beyond any picture is an error.
func LensPlot(w io.Writer, format string, lenses []LensCurve) error {
	p, err := LensPicture(lenses, Wide)
	if err != nil {
		return err
	}
	return p.Write(w, format)
}

// LensPicture is that picture in a width.
func LensPicture(lenses []LensCurve, width Width) (*Picture, error) {
	for _, l := range lenses {
		if !l.drawable() {
			return nil, fmt.Errorf("lens %s cannot be drawn: a waist, rayleigh length or depth of its record is beyond any bench", l.Name)
		}
	}
	spots, bars := newLensPlot(width), newLensPlot(width)
	ticks := evenTicks{ticksIn(vg.Length(width) - 2*axisRoom)}
	reach := zReach(lenses)
	var curves []plot.Plotter
	names := make([]string, len(lenses))
	for i, l := range lenses {
		if l.Waist > 0 {
			addShade(spots, i, l)
			curves = append(curves, &plotter.Line{XYs: l.along(-reach, reach), LineStyle: lineStyle(i)})
		}
		y := len(lenses) - 1 - i // the first lens stands at the top
		addBar(bars, float64(y), i, l, reach, width)
		names[y] = fitted(phrase.Printable(l.Name), bars.Y.Tick.Label, vg.Length(width)*longestName)
	}
	spots.Add(curves...) // over all shades
	bars.NominalY(names...)
	spots.Title.Text = "Spot over defocus, depth shaded"
	spots.Y.Label.Text = "spot, 1/e² diameter, µm"
	spots.Y.Min = 0
	bars.X.Label.Text = "defocus, mm: minus nearer the lens, plus further"
	if width < Wide {
		bars.X.Label.Text = "defocus, mm: − nearer, + further"
	}
	spots.Y.Tick.Marker = ticks
	for _, p := range []*plot.Plot{spots, bars} {
		p.X.Tick.Marker = ticks
		p.X.Min, p.X.Max = -reach, reach
	}
	bars.Y.Min, bars.Y.Max = -0.6, float64(len(lenses))-0.4
	below := barHigh*vg.Length(len(lenses)) + barsExtra
	if len(curves) == 0 {
		bars.Title.Text = "Depth (no record has beam data)"
		return &Picture{vg.Length(width), below + vg.Centimeter, func(c draw.Canvas) []Frame {
			bars.Draw(inside(c))
			return nil
		}}, nil
	}
	return &Picture{vg.Length(width), spotsHigh + below, func(c draw.Canvas) []Frame {
		return drawOver(c, inside(c), []vg.Length{spotsHigh, below}, spots, bars)
	}}, nil
}

// inside leaves an edge around what is drawn.
func inside(c draw.Canvas) draw.Canvas {
	const edge = 0.3 * vg.Centimeter
	return draw.Crop(c, edge, -edge, edge, -edge)
}

func newLensPlot(width Width) *plot.Plot {
	p := newPlot(12, 12, 10)
	if width < Wide {
		p = newPlot(titleSize, 9, 8)
	}
	grid := plotter.NewGrid()
	light := ink(30)
	grid.Vertical.Color, grid.Horizontal.Color = light, light
	p.Add(grid)
	return p
}

// zReach is how far from best focus the picture goes.
func zReach(lenses []LensCurve) float64 {
	var deepest, longest float64
	for _, l := range lenses {
		deepest, longest = max(deepest, around*l.Near, around*l.Far), max(longest, 2*l.Rayleigh)
	}
	return cmp.Or(deepest, longest, 1)
}

func (l LensCurve) spotUM(z float64) float64 { return 1000 * optics.Diameter(l.Waist, l.Rayleigh, z) }

// along gives the spot from one Z to another.
func (l LensCurve) along(lo, hi float64) plotter.XYs {
	out := make(plotter.XYs, curvePoints+1)
	for k := range out {
		z := lo + (hi-lo)*float64(k)/curvePoints
		out[k] = plotter.XY{X: z, Y: l.spotUM(z)}
	}
	return out
}

// addShade shades the depth under the curve, with its limits.
func addShade(p *plot.Plot, i int, l LensCurve) {
	if !(l.Near > 0) {
		return
	}
	area := append(l.along(-l.Near, l.Far), plotter.XY{X: l.Far}, plotter.XY{X: -l.Near})
	p.Add(&plotter.Polygon{XYs: []plotter.XYs{area}, Color: shadeOf(i), LineStyle: draw.LineStyle{Color: color.Transparent}})
	limit := lineStyle(i)
	limit.Width = vg.Points(0.8)
	for _, z := range []float64{-l.Near, l.Far} {
		p.Add(&plotter.Line{XYs: plotter.XYs{{X: z}, {X: z, Y: l.spotUM(z)}}, LineStyle: limit})
	}
}

const (
	// barHalf is half of a bar's height, of the distance between two.
	barHalf = 0.3
	// besideBar is how far a bar may go, of the reach, and leave room for
	// its text beside it; a longer one has room within.
	besideBar = 0.45
	barText   = 9 // points
)

// addBar draws the depth of lens i at height y.
func addBar(p *plot.Plot, y float64, i int, l LensCurve, reach float64, width Width) {
	text, at, align := "depth not known", 0.0, draw.XCenter
	if l.Near > 0 {
		bar := plotter.XYs{{X: -l.Near, Y: y - barHalf}, {X: l.Far, Y: y - barHalf}, {X: l.Far, Y: y + barHalf}, {X: -l.Near, Y: y + barHalf}}
		p.Add(&plotter.Polygon{XYs: []plotter.XYs{bar}, Color: shadeOf(i), LineStyle: lineStyle(i)})
		text, at = fmt.Sprintf("%.3g to %+.3g mm", -l.Near, l.Far), (l.Far-l.Near)/2
		if l.Assumed {
			text += ", assumed"
		}
		if l.Far < besideBar*reach && width >= Wide {
			at, align = l.Far+reach/40, draw.XLeft
		}
	}
	style := beside(barText)
	if width < Wide {
		style = beside(labelSize)
	}
	style.XAlign, style.YAlign = align, draw.YCenter
	p.Add(&plotter.Labels{XYs: plotter.XYs{{X: at, Y: y}}, Labels: []string{text}, TextStyle: []draw.TextStyle{style}})
}
