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
	"gonum.org/v1/plot/vg/vgimg"
	"gonum.org/v1/plot/vg/vgsvg"
)

// pngDPI is enough for print.
const pngDPI = 150

// picture has paint draw on a white canvas and writes it as "svg" or "png".
func picture(w io.Writer, format string, width, height vg.Length, paint func(draw.Canvas)) error {
	var canvas interface {
		vg.CanvasWriterTo
		vg.CanvasSizer
	}
	switch format {
	case "svg":
		canvas = vgsvg.New(width, height)
	case "png":
		canvas = vgimg.PngCanvas{Canvas: vgimg.NewWith(vgimg.UseWH(width, height), vgimg.UseDPI(pngDPI))}
	default:
		return fmt.Errorf("pictures are svg or png, not %q", format)
	}
	c := draw.New(canvas)
	c.SetColor(color.White)
	c.Fill(c.Rectangle.Path())
	paint(c)
	if format == "png" {
		_, err := canvas.WriteTo(w)
		return err
	}
	var text bytes.Buffer
	if _, err := canvas.WriteTo(&text); err != nil {
		return err
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
	_, err := w.Write(svg)
	return err
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
func colours(low, high float64) palette.ColorMap {
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
