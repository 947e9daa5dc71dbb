package report

import (
	"bytes"
	"encoding/xml"
	"errors"
	"image/png"
	"io"
	"math"
	"strconv"
	"strings"
	"testing"
)

var lenses = []LensCurve{
	{Name: "short", Waist: 0.0955, Rayleigh: 0.52, Near: 1.5, Far: 2},
	{Name: "long <&>", Waist: 0.159, Rayleigh: 1.44, Near: 0.66, Far: 0.66, Assumed: true},
	{Name: "tested", Near: 2, Far: 2},
	{Name: "nothing known"},
}

// texts gives the texts of an SVG, the height of each, and the dash patterns of
// its strokes.
func texts(t *testing.T, svg []byte) (all string, height map[string]float64, dashes map[string]bool) {
	t.Helper()
	dashes, height = map[string]bool{}, map[string]float64{}
	y := 0.0
	var b strings.Builder
	for d := xml.NewDecoder(bytes.NewReader(svg)); ; {
		tok, err := d.Token()
		if errors.Is(err, io.EOF) {
			return b.String(), height, dashes
		}
		if err != nil {
			t.Fatal(err)
		}
		switch e := tok.(type) {
		case xml.CharData:
			text := strings.TrimSpace(string(e))
			height[text] = y
			b.WriteString(text + "\n")
		case xml.StartElement:
			for _, a := range e.Attr {
				if a.Name.Local == "y" {
					y, _ = strconv.ParseFloat(a.Value, 64)
				}
				for style := range strings.SplitSeq(a.Value, ";") {
					if dash, ok := strings.CutPrefix(strings.TrimSpace(style), "stroke-dasharray:"); ok {
						dashes[dash] = true
					}
				}
			}
		}
	}
}

func TestLensPlotSVG(t *testing.T) {
	var b, again bytes.Buffer
	if err := LensPlot(&b, "svg", lenses); err != nil {
		t.Fatal(err)
	}
	all, height, dashes := texts(t, b.Bytes())
	for _, want := range []string{"\nshort\n", "\nlong <&>\n", "\n-1.5 to +2 mm\n", "\n-0.66 to +0.66 mm, assumed\n", "\n-2 to +2 mm\n", "\ndepth not known\n",
		"\nspot, 1/e² diameter, µm\n", "minus nearer the lens", "\n-2\n", "\n100\n"} {
		if !strings.Contains(all, want) {
			t.Errorf("no %q in\n%s", want, all)
		}
	}
	if len(dashes) != 2 { // the first of the three that are drawn is solid
		t.Errorf("dashes %v do not tell the lenses apart", dashes)
	}
	for name, bar := range map[string]string{"short": "-1.5 to +2 mm", "long <&>": "-0.66 to +0.66 mm, assumed", "tested": "-2 to +2 mm", "nothing known": "depth not known"} {
		if math.Abs(height[name]-height[bar]) > 5 { // points, of two sizes of type
			t.Errorf("%s stands at %g, its bar at %g", name, height[name], height[bar])
		}
	}
	if err := LensPlot(&again, "svg", lenses); err != nil || !bytes.Equal(b.Bytes(), again.Bytes()) {
		t.Error("the same lenses give another picture")
	}
}

func TestLensPlotPNG(t *testing.T) {
	var b bytes.Buffer
	if err := LensPlot(&b, "png", lenses); err != nil {
		t.Fatal(err)
	}
	img, err := png.Decode(&b)
	if err != nil {
		t.Fatal(err)
	}
	seen := map[[3]uint32]bool{}
	for y := range img.Bounds().Dy() {
		for x := range img.Bounds().Dx() {
			r, g, b, _ := img.At(x, y).RGBA()
			seen[[3]uint32{r >> 8, g >> 8, b >> 8}] = true
		}
	}
	for i := range lenses[:3] {
		ink := inks[i]
		if !seen[[3]uint32{uint32(ink.R), uint32(ink.G), uint32(ink.B)}] {
			t.Errorf("lens %d is not drawn in %v", i, ink)
		}
	}
}

// Neighbours in the list differ in grey, and no two of the first as many as
// there are colours times dashes look alike.
func TestInksDiffer(t *testing.T) {
	grey := func(i int) float64 {
		c := inks[i%len(inks)]
		return 0.299*float64(c.R) + 0.587*float64(c.G) + 0.114*float64(c.B) // ITU-R BT.601
	}
	for i := range len(inks) - 1 {
		if math.Abs(grey(i)-grey(i+1)) < 25 { // a tenth of the range
			t.Errorf("inks %d and %d are alike in grey: %.0f, %.0f", i, i+1, grey(i), grey(i+1))
		}
	}
	looks := map[[2]int]bool{}
	for i := range len(inks) * len(dashes) {
		looks[[2]int{i % len(inks), i % len(dashes)}] = true
	}
	if len(looks) != len(inks)*len(dashes) {
		t.Errorf("%d looks", len(looks))
	}
}

func TestLensPlotAtTheEdges(t *testing.T) {
	for _, l := range []LensCurve{
		{}, {Near: 1e6, Far: 1e-6}, {Waist: 1e6, Rayleigh: 1e-6, Near: 1e6, Far: 1e6}, {Waist: 1e-6, Rayleigh: 1e6, Near: 1e-6, Far: 1e-6},
		{Waist: 0.1, Rayleigh: 1}, {Name: strings.Repeat("long ", 100), Near: 1, Far: 1},
	} {
		if err := LensPlot(io.Discard, "svg", []LensCurve{l}); err != nil {
			t.Errorf("%+v: %v", l, err)
		}
	}
	for _, l := range []LensCurve{{Near: 1e300, Far: 1}, {Near: 1, Far: 5e-324}, {Waist: 1e-7, Rayleigh: 1}, {Waist: 1, Rayleigh: math.Inf(1)}} {
		if err := LensPlot(io.Discard, "svg", []LensCurve{l}); err == nil {
			t.Errorf("%+v is drawn", l)
		}
	}
}
