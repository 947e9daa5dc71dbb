package stock

import (
	"encoding/xml"
	"fmt"
	"io"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"sagitta/internal/record"
	"sagitta/internal/surface"
)

// place lays a surface over nodes down, whose heights h gives.
func place(t interface{ Fatal(...any) }, at surface.Placement, h func(x, y float64) float64) *surface.Placed {
	x, y := []float64{0, 40, 100, 150}, []float64{-20, 30, 90}
	var z []float64
	for _, b := range y {
		for _, a := range x {
			z = append(z, h(a, b))
		}
	}
	s, err := surface.New(x, y, z)
	if err != nil {
		t.Fatal(err)
	}
	p, err := surface.Place(s, at)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// Every point of a contour has its height, however the stock lies.
func TestContoursHaveTheirHeight(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b, c := rapid.Float64Range(-.02, .02).Draw(t, "a"), rapid.Float64Range(-.02, .02).Draw(t, "b"), rapid.Float64Range(-3e-4, 3e-4).Draw(t, "c")
		at := surface.Placement{RotateDeg: rapid.Float64Range(-180, 180).Draw(t, "turned"), ShiftX: rapid.Float64Range(-50, 50).Draw(t, "x")}
		p := place(t, at, func(x, y float64) float64 { return a*x + b*y + c*x*y })
		l := sample(p)
		if !(l.high > l.low) {
			return
		}
		level := l.low + rapid.Float64Range(0.1, 0.9).Draw(t, "level")*(l.high-l.low)
		lines := l.contour(level)
		if len(lines) == 0 {
			t.Fatalf("no contour at %g between %g and %g", level, l.low, l.high)
		}
		for _, line := range lines {
			for _, q := range line {
				h, _ := p.At(q[0], q[1])
				// The height is bilinear in a cell, the piece straight: off by no more than
				// the twist over a cell.
				if off := math.Abs(h - level); off > 1e-9+math.Abs(c)*4+0.03*(l.high-l.low) {
					t.Fatalf("height %g on the contour of %g", h, level)
				}
			}
		}
	})
}

func TestEven(t *testing.T) {
	for v, want := range map[float64]float64{0.1: 0.1, 0.11: 0.2, 0.3: 0.5, 0.7: 1, 3: 5, 12: 20} {
		if got := even(v); math.Abs(got-want) > 1e-9 {
			t.Errorf("%g: %g, not %g", v, got, want)
		}
	}
}

// A program of any length is drawn with few points, all of them in its box, and all of it
// is counted.
func TestJobIsDrawnInBounds(t *testing.T) {
	var b strings.Builder
	b.WriteString("G20 G90\nM5\nG0 X0 Y0\nM3 S100\n")
	const rows = 9000
	for k := range rows {
		fmt.Fprintf(&b, "G1 X%d Y%.4f F50\nG1 X%.3f\n", k%2*4, float64(k)/3000, float64(k%2*4)+0.01)
	}
	b.WriteString("G1 X2 Y0\nG2 I1 J0\nM5\nM2\n")
	j, err := ReadJob(strings.NewReader(b.String()), "rows.gcode", record.DefaultMachine())
	if err != nil {
		t.Fatal(err)
	}
	if j.Burns != 2*rows+2 || !j.Inches {
		t.Errorf("%d burns, inches %t", j.Burns, j.Inches)
	}
	box := j.Box.Pad(1e-9)
	n := 0
	for _, l := range j.burns.all {
		for _, at := range l {
			if n++; !box.Contains(at) {
				t.Fatalf("%v is outside of %v", at, j.Box)
			}
		}
	}
	if n > mostPoints || n < 100 {
		t.Errorf("%d points are drawn", n)
	}
}

// A drawing is well formed, and says in words what it shows.
func TestDrawing(t *testing.T) {
	j, err := ReadJob(strings.NewReader("G21\nG0 X1 Y1\nM3 S1\nG1 X20 F100\nG0 X30\nG1 X40 Y9\nM5\n"), "a.gcode", record.DefaultMachine())
	if err != nil {
		t.Fatal(err)
	}
	d := &Drawing{Job: j, Stock: place(t, surface.Placement{}, func(x, y float64) float64 { return x / 50 }), Boxes: []surface.Box{{X0: 1, Y0: 2, X1: 3, Y1: 4, Height: 25}}, Travel: true}
	text := d.SVG()
	x := xml.NewDecoder(strings.NewReader(text))
	for {
		if _, err := x.Token(); err == io.EOF {
			break
		} else if err != nil {
			t.Fatal(err)
		}
	}
	for _, want := range []string{`class="burn"`, `class="travel"`, `class="stock"`, `class="contour"`, `class="box"`, ">+25.0<", ">+1.0<", "heights from +0.00 to +3.00 mm", "2 burns from X1 Y1 to X40 Y9"} {
		if !strings.Contains(text, want) {
			t.Errorf("no %s in %s", want, text)
		}
	}
	if got := (&Drawing{}).SVG(); got != "" {
		t.Errorf("nothing is drawn as %s", got)
	}
}
