package surface

import (
	"cmp"
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// drawBoxes draws boxes about the surface.
func drawBoxes(t *rapid.T, p *Placed) []Box {
	var boxes []Box
	for range rapid.IntRange(0, 3).Draw(t, "boxes") {
		x, y := drawPoint(t, p, "box")
		dx, dy := rapid.Float64Range(0.01, 30).Draw(t, "wide"), rapid.Float64Range(0.01, 30).Draw(t, "deep")
		boxes = append(boxes, Box{x, y, x + dx, y + dy, rapid.Float64Range(-5, 50).Draw(t, "height")})
	}
	slices.SortFunc(boxes, func(a, b Box) int { return cmp.Compare(b.Height, a.Height) })
	return boxes
}

// checkCeiling samples heights and boxes within r of a move.
func checkCeiling(t *rapid.T, p *Placed, boxes []Box, c []Ceiling, at func(float64) (float64, float64), r float64) {
	if len(c) == 0 || c[0].S0 != 0 || c[len(c)-1].S1 != 1 {
		t.Fatalf("pieces from %v to %v", c[0], c[len(c)-1])
	}
	for k := range c {
		if !(c[k].S1 > c[k].S0) || k > 0 && c[k].S0 != c[k-1].S1 {
			t.Fatalf("piece %d goes from %v to %v", k, c[k].S0, c[k].S1)
		}
	}
	for range 60 {
		k := rapid.IntRange(0, len(c)-1).Draw(t, "piece")
		s := lerp(c[k].S0, c[k].S1, rapid.SampledFrom([]float64{0, 0.1, 0.5, 0.77, 1}).Draw(t, "part"))
		x, y := at(s)
		sin, cos := math.Sincos(rapid.Float64Range(0, 2*math.Pi).Draw(t, "way"))
		d := r * rapid.SampledFrom([]float64{0, 0.3, 0.9, 1, 1}).Draw(t, "off")
		h, _ := p.At(x+d*cos, y+d*sin)
		if h > c[k].High+p.Allowance() {
			t.Fatalf("height %v within %v mm of %v,%v, at fraction %v; the ceiling is %v", h, d, x, y, s, c[k].High)
		}
		for _, b := range onTurns(p, boxes, x, y) {
			if b.from(x, y) <= r && b.Height > c[k].High {
				t.Fatalf("box %v is within %v mm of %v,%v; the ceiling is %v", b, r, x, y, c[k].High)
			}
		}
	}
}

// onTurns are boxes as they stand on the turns about a place.
func onTurns(p *Placed, boxes []Box, x, y float64) []Box {
	turn := p.s.header.WrapsYMM
	if turn == 0 {
		return boxes
	}
	var all []Box
	_, ly := p.Local(x, y)
	for _, b := range boxes {
		_, by := p.Local(b.X0, b.Y0)
		for k := -3.0; k <= 3; k++ {
			x0, y0 := p.Program(0, 0)
			x1, y1 := p.Program(0, (k+math.Round((ly-by)/turn))*turn)
			all = append(all, Box{b.X0 + x1 - x0, b.Y0 + y1 - y0, b.X1 + x1 - x0, b.Y1 + y1 - y0, b.Height})
		}
	}
	return all
}

// drawRound draws a surface, or one that repeats.
func drawRound(t *rapid.T) *Placed {
	if rapid.Bool().Draw(t, "sheet") {
		return drawPlaced(t)
	}
	turn := rapid.SampledFrom([]float64{3, 30, 90}).Draw(t, "turn length")
	y := []float64{-10, -10 + turn/4, -10 + turn/2, -10 + 3*turn/4}
	var z []float64
	for range 2 * len(y) {
		z = append(z, rapid.Float64Range(-0.5, 0.5).Draw(t, "z"))
	}
	s, err := New([]float64{0, 60}, y, z)
	if err == nil {
		s, err = s.WithHeader(Header{WrapsYMM: turn})
	}
	if err != nil {
		t.Fatal(err)
	}
	p, err := Place(s, Placement{ShiftX: rapid.SampledFrom([]float64{0, 13}).Draw(t, "shift x"), ShiftY: rapid.SampledFrom([]float64{0, -7}).Draw(t, "shift y"),
		RotateDeg: rapid.SampledFrom([]float64{0, 90, 180, -90, 31}).Draw(t, "rotate")})
	if err != nil {
		t.Fatal(err)
	}
	return p
}

var headRadii = []float64{0, 0.5, 8, 40}

func TestLineCeilingCertified(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawRound(t)
		boxes := drawBoxes(t, p)
		x0, y0 := drawPoint(t, p, "from")
		x1, y1 := drawPoint(t, p, "to")
		if rapid.IntRange(0, 4).Draw(t, "still") == 0 {
			x1, y1 = x0, y0
		}
		r := rapid.SampledFrom(headRadii).Draw(t, "radius")
		c := p.AppendLineCeiling(nil, boxes, x0, y0, x1, y1, r, rapid.SampledFrom([]float64{0.02, 0.3}).Draw(t, "tol"))
		checkCeiling(t, p, boxes, c, func(s float64) (float64, float64) { return lerp(x0, x1, s), lerp(y0, y1, s) }, r)
	})
}

func TestArcCeilingCertified(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawRound(t)
		boxes := drawBoxes(t, p)
		cx, cy := drawPoint(t, p, "centre")
		r0 := rapid.Float64Range(0.01, 60).Draw(t, "r0")
		r1 := r0 * rapid.SampledFrom([]float64{1, 1, 1.3, 0.2}).Draw(t, "r1/r0")
		a0 := rapid.Float64Range(-4, 4).Draw(t, "a0")
		sweep := rapid.SampledFrom([]float64{0.001, -1, math.Pi, -2 * math.Pi, 9}).Draw(t, "sweep")
		r := rapid.SampledFrom(headRadii).Draw(t, "radius")
		c := p.AppendArcCeiling(nil, boxes, cx, cy, r0, r1, a0, sweep, r, 0.05)
		checkCeiling(t, p, boxes, c, func(s float64) (float64, float64) {
			sin, cos := math.Sincos(a0 + s*sweep)
			return cx + lerp(r0, r1, s)*cos, cy + lerp(r0, r1, s)*sin
		}, r)
	})
}

// Not much above: on smooth ground within a few times the tolerance of what
// dense samples find.
func TestCeilingIsNear(t *testing.T) {
	const tol, most = 0.01, 0.035
	for _, method := range []string{"bilinear", "bicubic"} {
		for _, rotate := range []float64{0, 30} {
			p := mustPlace(t, bumpy(t, 40), Placement{RotateDeg: rotate, Method: method})
			x0, y0 := p.Program(5, 6)
			x1, y1 := p.Program(33, 28)
			const r = 2.5
			worst := 0.0
			for _, c := range p.AppendLineCeiling(nil, nil, x0, y0, x1, y1, r, tol) {
				found := math.Inf(-1)
				for _, s := range []float64{c.S0, (c.S0 + c.S1) / 2, c.S1} {
					for k := range 90 {
						sin, cos := math.Sincos(float64(k) / 90 * 2 * math.Pi)
						for _, d := range []float64{0, r / 3, 2 * r / 3, r} {
							h, _ := p.At(lerp(x0, x1, s)+d*cos, lerp(y0, y1, s)+d*sin)
							found = max(found, h)
						}
					}
				}
				worst = max(worst, c.High-found)
			}
			if worst > most {
				t.Errorf("%s, turned by %g: up to %g mm above the highest", method, rotate, worst)
			}
		}
	}
}

// A box counts where the head is over it, and not far before.
func TestCeilingOverABox(t *testing.T) {
	s, err := New([]float64{0, 200}, []float64{0, 100}, []float64{0, 0, 0, 0})
	if err != nil {
		t.Fatal(err)
	}
	p := mustPlace(t, s, Placement{})
	box := []Box{{0, 80, 200, 100, 30}, {90, 40, 110, 60, 12}}
	const r = 8.0
	low, high := math.Inf(1), math.Inf(-1)
	for _, c := range p.AppendLineCeiling(nil, box, 0, 50, 200, 50, r, 0.01) {
		switch c.High {
		case 12:
			low, high = min(low, c.S0*200), max(high, c.S1*200)
		case 0:
		default:
			t.Errorf("a ceiling of %g", c.High)
		}
	}
	if low > 82 || low < 82-nearBoxMM || high < 118 || high > 118+nearBoxMM {
		t.Errorf("the box counts from %g to %g mm", low, high)
	}
	// Past its corner: as near as the radius, and not.
	for _, x := range [][2]float64{{7.99, 12}, {8.01, 0}} {
		d := x[0] / math.Sqrt2
		if got := p.AppendLineCeiling(nil, box[1:], 110+d, 60+d, 110+d, 60+d, r, 0.01); len(got) != 1 || got[0].High != x[1] {
			t.Errorf("%g mm from the corner: %v", x[0], got)
		}
	}
	if got := p.AppendLineCeiling(nil, box, math.NaN(), 0, 1, 1, r, 0.01); len(got) != 1 || got[0].High != 30 {
		t.Errorf("at no place: %v", got)
	}
}
