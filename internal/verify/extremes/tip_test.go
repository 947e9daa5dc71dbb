package extremes

import (
	"cmp"
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"sagitta/internal/machine"
	"sagitta/internal/surface"
	"sagitta/internal/surface/surfacetest"
)

// drawTipSurface draws a sheet, perhaps with holes, laid down askew.
func drawTipSurface(t *rapid.T) *surface.Placed {
	if rapid.IntRange(0, 2).Draw(t, "round") == 0 {
		return surfacetest.Round(t, 40)
	}
	axis := func(label string) (v []float64) {
		v = append(v, -20)
		for v[len(v)-1] < 40 {
			v = append(v, v[len(v)-1]+rapid.SampledFrom([]float64{5, 7, 12}).Draw(t, label))
		}
		return v
	}
	x, y := axis("dx"), axis("dy")
	method := rapid.SampledFrom([]string{"bilinear", "bicubic"}).Draw(t, "method")
	holes := method == "bilinear" && rapid.Bool().Draw(t, "holes")
	var z []float64
	for range len(x) * len(y) {
		h := rapid.Float64Range(-2, 2).Draw(t, "z")
		if holes && rapid.IntRange(0, 9).Draw(t, "hole") == 0 {
			h = math.NaN()
		}
		z = append(z, h)
	}
	z[0] = 1
	s, err := surface.New(x, y, z)
	if err != nil {
		t.Fatal(err)
	}
	p, err := surface.Place(s, surface.Placement{Method: method,
		RotateDeg: rapid.SampledFrom([]float64{0, 0, 90, 31}).Draw(t, "turn"), ShiftX: rapid.SampledFrom([]float64{0, 3.3}).Draw(t, "shift")})
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// What the search finds is there, and nothing that dense sampling finds is
// higher; and it is never above the ceiling that the surface gives.
func TestTipSearchAgainstSampling(t *testing.T) {
	found, runs, givenUp := 0, 0, 0
	rapid.Check(t, func(t *rapid.T) {
		p := drawTipSurface(t)
		draw := func(label string) float64 {
			v := rapid.Float64Range(-25, 45).Draw(t, label)
			if rapid.Bool().Draw(t, "round") {
				v = math.Round(v)
			}
			return v
		}
		radius := rapid.SampledFrom([]float64{0, 0.2, 3, 12}).Draw(t, "radius")
		var boxes []surface.Box
		for range rapid.IntRange(0, 2).Draw(t, "boxes") {
			x, y := draw("bx"), draw("by")
			boxes = append(boxes, surface.Box{X0: x, Y0: y, X1: x + rapid.SampledFrom([]float64{0.001, 4}).Draw(t, "wide"),
				Y1: y + rapid.SampledFrom([]float64{0.001, 9}).Draw(t, "deep"), Height: rapid.Float64Range(-1, 5).Draw(t, "tall")})
		}
		m := machine.Move{Kind: machine.Line, From: machine.Point{X: draw("x0"), Y: draw("y0")}, To: machine.Point{X: draw("x1"), Y: draw("y1")}}
		if rapid.Bool().Draw(t, "arc") {
			m.Kind = machine.Arc
			m.CX, m.CY, m.R0 = draw("cx"), draw("cy"), rapid.Float64Range(0.1, 20).Draw(t, "r")
			m.R1 = m.R0 * rapid.SampledFrom([]float64{1, 1, 1.01}).Draw(t, "r1")
			m.A0, m.Sweep = rapid.Float64Range(-3, 3).Draw(t, "a"), rapid.SampledFrom([]float64{0.1, -2, 2 * math.Pi}).Draw(t, "sweep")
			for k, at := range []*machine.Point{&m.From, &m.To} {
				r, a := [2]float64{m.R0, m.R1}[k], m.A0+float64(k)*m.Sweep
				at.X, at.Y = m.CX+r*math.Cos(a), m.CY+r*math.Sin(a)
			}
		}
		z0 := rapid.Float64Range(-1, 1).Draw(t, "z0")
		z1 := z0 + rapid.SampledFrom([]float64{0, 0, 0.7, -3}).Draw(t, "dz")
		o := NewOverhead(New(p), radius, boxes)
		floor := rapid.SampledFrom([]float64{-10, 0, 1, 2}).Draw(t, "floor")
		o.Look(&m, z0, z1, floor)
		if runs++; o.Open > o.Best+2*TipGapMM {
			givenUp++ // what it says must hold all the same
		}
		most := max(o.Best, o.Open)
		standing := surfacetest.Standing(p, boxes, 150)
		near := func(s, off, way float64) float64 {
			at := m.XY(s)
			x, y := at[0]+off*math.Cos(way), at[1]+off*math.Sin(way)
			v, _ := p.At(x, y)
			for _, b := range standing {
				if math.Hypot(max(b.X0-at[0], at[0]-b.X1, 0), max(b.Y0-at[1], at[1]-b.Y1, 0)) <= off {
					v = max(v, b.Height)
				}
			}
			return v - (z0 + s*(z1-z0))
		}
		r := max(radius-2*radiusSlackMM, 0)
		for range 400 {
			s := rapid.SampledFrom([]float64{0, 1, 0.5, rapid.Float64Range(0, 1).Draw(t, "s")}).Draw(t, "where")
			v := near(s, r*rapid.SampledFrom([]float64{0, 0.7, 1, 1}).Draw(t, "off"), rapid.Float64Range(0, 7).Draw(t, "way"))
			if v > most+TipGapMM+p.Allowance() {
				t.Fatalf("%v at %v of the move, the search says %v", v, s, most)
			}
		}
		if !o.Hit {
			return
		}
		found++
		// The same by the surface's own bounds, along the stretch about it.
		boxes = slices.Clone(boxes)
		slices.SortFunc(boxes, func(a, b surface.Box) int { return cmp.Compare(b.Height, a.Height) })
		var c []surface.Ceiling
		if m.Kind == machine.Arc {
			c = p.AppendArcCeiling(nil, boxes, m.CX, m.CY, m.R0, m.R1, m.A0, m.Sweep, radius, 1e-3)
		} else {
			c = p.AppendLineCeiling(nil, boxes, m.From.X, m.From.Y, m.To.X, m.To.Y, radius, 1e-3)
		}
		for _, k := range c {
			if k.S0 <= o.At && o.At <= k.S1 && k.High-(z0+o.At*(z1-z0)) >= o.Best-1e-6-p.Allowance() {
				return
			}
		}
		t.Fatalf("found %v at %v of the move, above every ceiling there", o.Best, o.At)
	})
	t.Logf("%d searches, %d given up", runs, givenUp)
	if givenUp > runs/10 {
		t.Errorf("%d of %d searches were given up", givenUp, runs)
	}
	if found == 0 {
		t.Error("nothing was ever found")
	}
}

// A head without radius meets a box that its way just enters: the distance, which is
// rounded, must not hide it.
func TestPointEntersABox(t *testing.T) {
	p := surfacetest.Of(t, "bilinear", []float64{-20, 20}, []float64{-20, 20}, func(x, y float64) float64 { return -1 })
	boxes := []surface.Box{{X0: -3, Y0: 0, X1: -2.999, Y1: 0.001, Height: 1}}
	m := machine.Move{Kind: machine.Line, From: machine.Point{X: -2.9999999925494194, Y: 1}, To: machine.Point{X: -2.9999999925494194, Y: 5.551115123125783e-17}}
	o := NewOverhead(New(p), 0, boxes)
	if o.Look(&m, 0, 0, 0); !o.Hit || o.Best != 1 {
		t.Errorf("found %v (%v), the box is 1 high", o.Best, o.Hit)
	}
}

// A box stands on every turn of a round, and nowhere else, wherever the turns lead.
func TestBoxOnEveryTurn(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := surfacetest.Round(t, 40)
		draw := func(label string) float64 { return rapid.Float64Range(-90, 90).Draw(t, label) }
		x, y := draw("bx"), draw("by")
		boxes := []surface.Box{{X0: x, Y0: y, X1: x + rapid.SampledFrom([]float64{0.5, 4, 70}).Draw(t, "wide"),
			Y1: y + rapid.SampledFrom([]float64{0.5, 9, 80}).Draw(t, "deep"), Height: 5}}
		standing := surfacetest.Standing(p, boxes, 200)
		near := func(at [2]float64) float64 {
			least := math.Inf(1)
			for _, b := range standing {
				least = min(least, math.Hypot(max(b.X0-at[0], at[0]-b.X1, 0), max(b.Y0-at[1], at[1]-b.Y1, 0)))
			}
			return least
		}
		m := machine.Move{Kind: machine.Line, From: machine.Point{X: draw("x0"), Y: draw("y0")}, To: machine.Point{X: draw("x1"), Y: draw("y1")}}
		if rapid.Bool().Draw(t, "short") {
			m.To = machine.Point{X: m.From.X + 2, Y: m.From.Y}
		}
		const radius, floor = 3, 3
		o := NewOverhead(New(p), radius, boxes)
		o.Look(&m, 0, 0, floor)
		if o.Hit && (o.Best != 5 || near(m.XY(o.At)) > radius) {
			t.Fatalf("found %g at %v, %g from the box", o.Best, m.XY(o.At), near(m.XY(o.At)))
		}
		for k := range 201 {
			at := m.XY(float64(k) / 200)
			if d := near(at); d < radius-1e-6 && max(o.Best, o.Open) < 5 {
				t.Fatalf("the box is %g mm from %v, the search says %g", d, at, max(o.Best, o.Open))
			}
		}
	})
}

// Nothing that is sampled in the rectangle of a loose rapid is above the bound over
// it, the bound is not much above what is there, and the surface's own agrees.
func TestOverRectangles(t *testing.T) {
	const samples = 12
	rapid.Check(t, func(t *rapid.T) {
		p := drawTipSurface(t)
		draw := func(label string) float64 {
			return rapid.OneOf(rapid.Float64Range(-25, 45), rapid.SampledFrom([]float64{-20, -20 + 1e-9, 0, 7})).Draw(t, label)
		}
		x, y, r := draw("x"), draw("y"), rapid.SampledFrom([]float64{0, 0, 0.5, 6}).Draw(t, "radius")
		wide, deep := rapid.SampledFrom([]float64{0, 1e-7, 3, 30}).Draw(t, "wide"), rapid.SampledFrom([]float64{0, 1e-7, 3, 30}).Draw(t, "deep")
		m := machine.Move{Kind: machine.Line, Loose: true, From: machine.Point{X: x + wide, Y: y}, To: machine.Point{X: x, Y: y + deep}}
		var boxes []surface.Box
		if rapid.Bool().Draw(t, "box") {
			bx, by := draw("x0"), draw("y0")
			boxes = append(boxes, surface.Box{X0: bx, Y0: by, X1: bx + 4, Y1: by + 1, Height: 1.5})
		}
		over := NewOverhead(New(p), r, boxes).Over(&m)
		stock := NewOverhead(New(p), r, nil).Over(&m)
		most := math.Inf(-1)
		at := func(x, y float64) {
			h, _ := p.At(x, y)
			most = max(most, h)
		}
		for i := range samples + 1 {
			for j := range samples + 1 {
				at(x-r+(wide+2*r)*float64(i)/samples, y-r+(deep+2*r)*float64(j)/samples)
			}
		}
		// Samples of the square that the bound is of, unless that lies aslant.
		step := math.Hypot(wide+2*r, deep+2*r) / samples * p.MaxSlope()
		square := math.Mod(turnOf(p), 90) == 0
		switch {
		case r == 0 && stock < most-1e-6:
			t.Fatalf("%g is said to be the most, %g was found", stock, most)
		case square && p.Surface().Missing() == 0 && stock > most+step+TipGapMM+1e-6:
			t.Fatalf("%g is said to be the most, where %g is", stock, most)
		}
		if own := p.HighestIn(x, y, x+wide, y+deep, r, 1e-4); wide > 0 && deep > 0 && p.Surface().Missing() == 0 && math.Abs(own-stock) > 2e-3+1e-4*p.MaxSlope() {
			t.Fatalf("%g is said to be the most, by the surface %g", stock, own)
		}
		if len(boxes) == 0 {
			return
		}
		near := math.Inf(1)
		for _, b := range surfacetest.Standing(p, boxes, 150) {
			near = min(near, math.Hypot(max(b.X0-x-wide, x-b.X1, 0), max(b.Y0-y-deep, y-b.Y1, 0)))
		}
		if near < r-1e-6 && over < boxes[0].Height || near > r+1e-6 && over != stock {
			t.Fatalf("a box %g mm away, and a radius of %g: %g, without it %g", near, r, over, stock)
		}
	})
}

// turnOf is the angle that a placed surface lies at, in degrees.
func turnOf(p *surface.Placed) float64 {
	x0, y0 := p.Program(0, 0)
	x1, y1 := p.Program(1, 0)
	return math.Round(math.Atan2(y1-y0, x1-x0)*180/math.Pi*1e6) / 1e6
}
