package report

import (
	"bytes"
	"fmt"
	"image/color"
	"io"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/palette"
	"gonum.org/v1/plot/palette/moreland"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/recorder"
	"gonum.org/v1/plot/vg/vgimg"
	"gonum.org/v1/plot/vg/vgsvg"
)

// Width is how wide a picture is.
type Width vg.Length

const (
	// Wide fits within the margins of a page, and Narrow is for a phone held upright: texts
	// are of one size, so that both are read alike.
	Wide   = Width(18 * vg.Centimeter)
	Narrow = Width(9 * vg.Centimeter)
)

// Picture is one that is drawn when it is written.
type Picture struct {
	width, height vg.Length
	paint         func(draw.Canvas) []Frame
}

// Frame is where data lie in a picture: the data at the edges of a rectangle, which is in
// points from the left and from the top of the picture, as a viewBox has them.
type Frame struct {
	X0, X1, Y0, Y1           float64
	Left, Right, Top, Bottom float64
}

// pngDPI is enough for print.
const pngDPI = 150

// Write writes the picture as "svg" or "png", on white.
func (p *Picture) Write(w io.Writer, format string) error {
	switch format {
	case "svg":
		text, _, err := p.svg()
		if err != nil {
			return err
		}
		_, err = w.Write(text)
		return err
	case "png":
		canvas := vgimg.PngCanvas{Canvas: vgimg.NewWith(vgimg.UseWH(p.width, p.height), vgimg.UseDPI(pngDPI))}
		p.onWhite(canvas)
		_, err := canvas.WriteTo(w)
		return err
	}
	return fmt.Errorf("pictures are svg or png, not %q", format)
}

// onWhite paints on a white canvas.
func (p *Picture) onWhite(canvas vg.CanvasSizer) []Frame {
	c := draw.New(canvas)
	c.SetColor(color.White)
	c.Fill(c.Rectangle.Path())
	return p.paint(c)
}

// svg is the picture as a document.
func (p *Picture) svg() ([]byte, []Frame, error) {
	canvas := vgsvg.New(p.width, p.height)
	frames := p.onWhite(canvas)
	var text bytes.Buffer
	if _, err := canvas.WriteTo(&text); err != nil {
		return nil, nil, err
	}
	svg := text.Bytes()
	for _, r := range [][2]string{
		// Not every viewer has the font, and without another name would take
		// one with serifs.
		{svgFont, svgFont + ",Arial,sans-serif"},
		// The canvas embeds PNG images under another kind's name, which not
		// every viewer forgives, and leaves open whether they fill their place.
		{"data:image/jpg;", "data:image/png;"},
		{"<image ", `<image preserveAspectRatio="none" `},
	} {
		svg = bytes.ReplaceAll(svg, []byte(r[0]), []byte(r[1]))
	}
	return svg, frames, nil
}

const svgFont = "font-family:Liberation Sans"

// newPlot is an empty plot in a face without serifs, of these sizes in points.
func newPlot(title, label, tick vg.Length) *plot.Plot {
	p := plot.New()
	p.BackgroundColor = color.White
	sans(&p.Title.TextStyle, title)
	for _, a := range []*plot.Axis{&p.X, &p.Y} {
		sans(&a.Label.TextStyle, label)
		sans(&a.Tick.Label, tick)
	}
	return p
}

func sans(s *draw.TextStyle, size vg.Length) {
	s.Font.Typeface, s.Font.Variant, s.Font.Size = "Liberation", "Sans", size
}

// beside is the style of a text beside something drawn.
func beside(size vg.Length) draw.TextStyle {
	s := draw.TextStyle{Font: plot.DefaultFont, Handler: plot.DefaultTextHandler}
	sans(&s, size)
	return s
}

// scale runs from dark blue to pale yellow. Its lightness grows evenly, so
// that it is in order in grey print; blue and yellow stay apart in every
// common form of colour blindness (blue and yellow are the axis that the
// commonest, red-green, leaves).
var scale = []color.Color{
	color.NRGBA{0x10, 0x1e, 0x4f, 0xff},
	color.NRGBA{0x3f, 0x4f, 0x74, 0xff},
	color.NRGBA{0x77, 0x7c, 0x86, 0xff},
	color.NRGBA{0xb6, 0xab, 0x74, 0xff},
	color.NRGBA{0xf8, 0xe9, 0x8b, 0xff},
}

// colours returns the scale from low to high, or about them where they are
// one.
func colours(scale []color.Color, low, high float64) palette.ColorMap {
	m, err := moreland.NewLuminance(scale)
	if err != nil {
		panic("report: " + err.Error()) // the scale is in order of its lightness
	}
	if low == high {
		low, high = low-0.5, high+0.5
	}
	m.SetMin(low)
	m.SetMax(high)
	return m
}

// light is a scale under lines that are to be read: in the same order, nearer white.
func light(scale []color.Color) (lighter []color.Color) {
	const left = 0.36 // of the distance from white
	for _, c := range scale {
		n := c.(color.NRGBA)
		for _, v := range []*uint8{&n.R, &n.G, &n.B} {
			*v = 255 - uint8(left*float64(255-*v))
		}
		lighter = append(lighter, n)
	}
	return lighter
}

// canvasFor is the size of a canvas on which the data of a plot have a size.
func canvasFor(p *plot.Plot, wide, high vg.Length) (w, h vg.Length) {
	w, h = wide+axisRoom, high+axisRoom
	for range 3 { // what is around depends a little on the size
		data := p.DataCanvas(draw.NewCanvas(new(recorder.Canvas), w, h)).Size()
		w, h = w+wide-data.X, h+high-data.Y
	}
	return w, h
}

// frameOf is the frame of a plot whose data were drawn on a part of a canvas.
func frameOf(all, data draw.Canvas, p *plot.Plot) Frame {
	return Frame{X0: p.X.Min, X1: p.X.Max, Y0: p.Y.Min, Y1: p.Y.Max,
		Left: (data.Min.X - all.Min.X).Points(), Right: (data.Max.X - all.Min.X).Points(),
		Top: (all.Max.Y - data.Max.Y).Points(), Bottom: (all.Max.Y - data.Min.Y).Points()}
}
