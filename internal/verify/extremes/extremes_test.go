package extremes

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"sagitta/internal/machine"
	"sagitta/internal/surface"
	"sagitta/internal/surface/surfacetest"
)

// narrow is how wide the narrowest cells are, in mm.
const narrow = 0.02

// drawPlace gives a place in program XY: anywhere about the surface, on a
// node, on a grid line, or beside one by next to nothing.
func drawPlace(t *rapid.T, p *surface.Placed) (x, y float64) {
	along := func(node []float64) float64 {
		i := rapid.IntRange(0, len(node)-1).Draw(t, "node")
		return rapid.OneOf(
			rapid.Just(node[i]),
			rapid.Float64Range(node[0]-5, node[len(node)-1]+5),
			rapid.Map(rapid.SampledFrom([]float64{-1e-6, -1e-9, -1e-12, 1e-12, 1e-9, 1e-6}), func(d float64) float64 { return node[i] + d }),
		).Draw(t, "place")
	}
	return p.Program(along(p.Surface().X()), along(p.Surface().Y()))
}

// drawLine gives a straight move: between two places, or 1 µm or 10 m long,
// or along a grid line.
func drawLine(t *rapid.T, p *surface.Placed) *machine.Move {
	x0, y0 := drawPlace(t, p)
	x1, y1 := drawPlace(t, p)
	switch rapid.IntRange(0, 4).Draw(t, "kind of line") {
	case 0:
		x1, y1 = x0+0.001*rapid.Float64Range(-1, 1).Draw(t, "dx"), y0+0.001
	case 1:
		x1, y1 = x0+10000, y0+rapid.Float64Range(-3000, 3000).Draw(t, "dy")
	case 2:
		lx, _ := p.Local(x0, y0)
		x1, y1 = p.Program(lx, p.Surface().Y()[0])
	}
	m := &machine.Move{Kind: machine.Line}
	m.From, m.To = machine.Point{X: x0, Y: y0}, machine.Point{X: x1, Y: y1}
	m.Length = math.Hypot(x1-x0, y1-y0)
	return m
}

// drawArc gives an arc whose centre and radius come near nodes and grid lines.
func drawArc(t *rapid.T, p *surface.Placed) *machine.Move {
	m := &machine.Move{Kind: machine.Arc}
	m.CX, m.CY = drawPlace(t, p)
	m.R0 = rapid.OneOf(rapid.Float64Range(0.001, 20), rapid.Just(5.0), rapid.Float64Range(100, 10000)).Draw(t, "radius")
	m.R1 = m.R0 + rapid.SampledFrom([]float64{0, 0, 0.0015, -0.0009}).Draw(t, "drift")
	m.A0 = rapid.OneOf(rapid.Float64Range(-math.Pi, math.Pi), rapid.SampledFrom([]float64{0, math.Pi / 2})).Draw(t, "angle")
	m.Sweep = rapid.OneOf(rapid.Float64Range(-2*math.Pi, 2*math.Pi), rapid.SampledFrom([]float64{2 * math.Pi, -2 * math.Pi, math.Pi, 1e-6})).Draw(t, "sweep")
	if m.Sweep == 0 {
		m.Sweep = 1
	}
	at := func(r, a float64) machine.Point {
		sin, cos := math.Sincos(a)
		return machine.Point{X: m.CX + r*cos, Y: m.CY + r*sin}
	}
	m.From, m.To = at(m.R0, m.A0), at(m.R1, m.A0+m.Sweep)
	m.Length = math.Hypot(m.Sweep*(m.R0+m.R1)/2, m.R1-m.R0)
	return m
}

// checkExtremes holds what is found along a move to dense samples: no sample
// is beyond a certified extreme, and each extreme is met at its place.
func checkExtremes(t *rapid.T, p *surface.Placed, m *machine.Move) {
	f := New(p)
	var sp Below
	sp.C0 = rapid.Float64Range(-1, 1).Draw(t, "c0")
	sp.C1 = rapid.Float64Range(-1, 1).Draw(t, "c1")
	sp.Watch = rapid.Bool().Draw(t, "watch")
	none, all := math.Inf(1), math.Inf(-1)
	sp.Focus.Begin(none, all)
	sp.Height.Begin(none, all)
	sp.Spent.Begin(none, all)
	if sp.Uneven = rapid.Bool().Draw(t, "uneven"); sp.Uneven {
		for range (len(f.x) - 1) * (len(f.y) - 1) {
			less := rapid.SampledFrom([]float64{0, 0, 0, 0.25, 3}).Draw(t, "less")
			f.less, f.mostLess = append(f.less, less), max(f.mostLess, less)
		}
	}
	f.Along(&sp, m, false)
	e, h := &sp.Focus, &sp.Height
	if open := CertainMM + surface.PlaceToleranceMM*p.MaxSlope(); e.OpenLo < e.Lo-open || e.OpenHi > e.Hi+open {
		t.Fatalf("left open: focus %v..%v, open %v..%v", e.Lo, e.Hi, e.OpenLo, e.OpenHi)
	}
	holes := p.Surface().Missing() > 0
	look := func(s float64) {
		at := m.XY(s)
		v, w := p.At(at[0], at[1])
		if holes && nearBorder(p, at) {
			return // the height jumps there
		}
		// The slope may be 2000 (4 mm over 2 µm): a place known to 1e-9 mm.
		slack := 2*gapMM + 3*p.Allowance()
		if v < h.Lo-slack || v > h.Hi+slack {
			t.Fatalf("height %v at %v (%v) is not within %v..%v", v, s, at, h.Lo, h.Hi)
		}
		if d := sp.c(s) - v; d < e.Lo-slack || d > e.Hi+slack {
			t.Fatalf("focus %v at %v (%v) is not within %v..%v", d, s, at, e.Lo, e.Hi)
		}
		if d, less := sp.c(s)-v, lessThere(f, at); sp.Uneven && (d-less < sp.Spent.Lo-slack || d+less > sp.Spent.Hi+slack) {
			t.Fatalf("%v -+%v spent at %v (%v) is not within %v..%v", d, less, s, at, sp.Spent.Lo, sp.Spent.Hi)
		}
		if sp.Watch && w == surface.Hole && !sp.Holes && sp.Off == 0 {
			t.Fatalf("a hole at %v (%v) was not seen", s, at)
		}
		if sp.Watch && sp.Off == 0 && f.beyond(p.Local(at[0], at[1])) > 3*surface.PlaceToleranceMM {
			t.Fatalf("off the surface at %v (%v) was not seen", s, at)
		}
	}
	const samples = 3000
	for i := range samples + 1 {
		look(float64(i) / samples)
	}
	// About the extremes, where a bound that is too low shows first.
	for _, s := range []float64{h.AtLo, h.AtHi, e.AtLo, e.AtHi} {
		for _, d := range []float64{1e-2, 1e-3, 1e-4, 1e-6} {
			look(math.Max(0, s-d))
			look(math.Min(1, s+d))
		}
	}
	met := func(what string, s, got float64, value func(h, s float64) float64) {
		at := m.XY(s)
		v, _ := p.At(at[0], at[1])
		// A place on a move of 10 m is known to 1e-12 of it.
		if holes && nearBorder(p, at) {
			return
		}
		if d := math.Abs(value(v, s) - got); d > 1e-8+4*p.MaxSlope()*1e-9 {
			t.Fatalf("%s: %v was found at %v (%v), where it is %v", what, got, s, at, value(v, s))
		}
	}
	height := func(h, _ float64) float64 { return h }
	focus := func(h, s float64) float64 { return sp.c(s) - h }
	met("lowest", h.AtLo, h.Lo, height)
	met("highest", h.AtHi, h.Hi, height)
	met("nearest", e.AtLo, e.Lo, focus)
	met("furthest", e.AtHi, e.Hi, focus)
	if sp.Uneven {
		met("most spent nearer", sp.Spent.AtLo, sp.Spent.Lo+sp.Spent.LessLo, focus)
		met("most spent further", sp.Spent.AtHi, sp.Spent.Hi-sp.Spent.LessHi, focus)
		if lo, hi := m.XY(sp.Spent.AtLo), m.XY(sp.Spent.AtHi); sp.Spent.LessLo < lessThere(f, lo) || sp.Spent.LessHi < lessThere(f, hi) ||
			sp.Spent.LessLo > f.lessAbout(lo) || sp.Spent.LessHi > f.lessAbout(hi) {
			t.Fatalf("less by %v and %v, where it is %v and %v", sp.Spent.LessLo, sp.Spent.LessHi, f.lessAt(lo), f.lessAt(hi))
		}
	}
}

// lessThere is by how much a depth is less at a place of program XY, found by a look at
// all cells; on a grid line, where a nanometre decides, it is the least about it.
func lessThere(f *Field, at [2]float64) float64 {
	return eachCell(f, at, math.Inf(1), func(a, b float64) float64 { return min(a, b) })
}

// lessAbout is the greatest there.
func (f *Field) lessAbout(at [2]float64) float64 {
	return eachCell(f, at, 0, func(a, b float64) float64 { return max(a, b) })
}

func eachCell(f *Field, at [2]float64, v float64, of func(a, b float64) float64) float64 {
	x, y := f.at.Local(at[0], at[1])
	x, y = min(max(x, f.x[0]), f.x[len(f.x)-1]), min(max(y, f.y[0]), f.y[len(f.y)-1])
	const near = 2e-8
	for k, less := range f.less {
		i, j := k%(len(f.x)-1), k/(len(f.x)-1)
		if x >= f.x[i]-near && x <= f.x[i+1]+near && y >= f.y[j]-near && y <= f.y[j+1]+near {
			v = of(v, less)
		}
	}
	return v
}

// nearBorder reports whether a place is within 2e-8 mm of where the height
// jumps, between a cell with all its heights and one without, or of where a hole
// ends with the surface: what a place at the end of the search may be off.
func nearBorder(p *surface.Placed, at [2]float64) bool {
	const d = 2e-8
	s := p.Surface()
	lx, ly := p.Local(at[0], at[1])
	near := func(node []float64, v float64) (cells []int) {
		v = math.Min(math.Max(v, node[0]), node[len(node)-1])
		for i := range len(node) - 1 {
			if v >= node[i]-d && v <= node[i+1]+d {
				cells = append(cells, i)
			}
		}
		return cells
	}
	edge := func(node []float64, v float64) bool { return v < node[0]+d || v > node[len(node)-1]-d }
	hole, good := false, edge(s.X(), lx) || edge(s.Y(), ly)
	for _, j := range near(s.Y(), ly) {
		for _, i := range near(s.X(), lx) {
			if sum := s.Height(i, j) + s.Height(i+1, j) + s.Height(i, j+1) + s.Height(i+1, j+1); sum == sum {
				good = true
			} else if hole = true; len(near(s.X(), lx))*len(near(s.Y(), ly)) > 1 {
				good = true // two holes may hold different heights
			}
		}
	}
	return hole && good
}

func TestLineExtremes(t *testing.T) {
	for _, method := range []string{"bilinear", "bicubic"} {
		t.Run(method, func(t *testing.T) {
			rapid.Check(t, func(t *rapid.T) {
				p := surfacetest.Wild(t, method, false, narrow)
				checkExtremes(t, p, drawLine(t, p))
			})
		})
	}
	t.Run("holes", func(t *testing.T) {
		rapid.Check(t, func(t *rapid.T) {
			p := surfacetest.Wild(t, "bilinear", true, narrow)
			checkExtremes(t, p, drawLine(t, p))
		})
	})
}

func TestArcExtremes(t *testing.T) {
	for _, method := range []string{"bilinear", "bicubic"} {
		t.Run(method, func(t *testing.T) {
			rapid.Check(t, func(t *rapid.T) {
				p := surfacetest.Wild(t, method, false, narrow)
				checkExtremes(t, p, drawArc(t, p))
			})
		})
	}
	t.Run("holes", func(t *testing.T) {
		rapid.Check(t, func(t *rapid.T) {
			p := surfacetest.Wild(t, "bilinear", true, narrow)
			checkExtremes(t, p, drawArc(t, p))
		})
	})
}

// What is skipped because it is of no interest must not hide what is outside
// the interval, be it ever so near, nor holes and places off the surface.
func TestSkippingHidesNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		holes := rapid.Bool().Draw(t, "holes")
		method := "bilinear"
		if !holes {
			method = rapid.SampledFrom([]string{"bilinear", "bicubic"}).Draw(t, "method")
		}
		p := surfacetest.Wild(t, method, holes, narrow)
		draw := drawLine
		if rapid.Bool().Draw(t, "arc") {
			draw = drawArc
		}
		m := draw(t, p)
		part := rapid.SampledFrom([]float64{1, 0.3, 0.03, 1e-3}).Draw(t, "part")
		if part < 1 {
			end := m.XY(part)
			m.To = machine.Point{X: end[0], Y: end[1]}
			m.R1, m.Sweep, m.Length = m.R0+(m.R1-m.R0)*part, m.Sweep*part, m.Length*part
		}
		c0, c1 := rapid.Float64Range(-1, 1).Draw(t, "c0"), rapid.Float64Range(-1, 1).Draw(t, "c1")
		run := func(lo, hi float64) *Below {
			sp := Below{C0: c0, C1: c1, Watch: true}
			sp.Focus.Begin(lo, hi)
			sp.Height.Begin(math.Inf(-1), math.Inf(1))
			New(p).Along(&sp, m, false)
			return &sp
		}
		full := run(math.Inf(1), math.Inf(-1))
		beside := rapid.SampledFrom([]float64{-1, -0.01, -1e-5, 1e-5, 1e-3, 0.01, 0.1, 1})
		lo := full.Focus.Lo + beside.Draw(t, "lo")
		hi := max(lo, full.Focus.Hi-beside.Draw(t, "hi"))
		some := run(lo, hi)
		if full.Focus.Lo < lo-4*gapMM && math.Abs(some.Focus.Lo-full.Focus.Lo) > 4*gapMM {
			t.Fatalf("nearest %v instead of %v, skipping %v..%v", some.Focus.Lo, full.Focus.Lo, lo, hi)
		}
		if full.Focus.Hi > hi+4*gapMM && math.Abs(some.Focus.Hi-full.Focus.Hi) > 4*gapMM {
			t.Fatalf("furthest %v instead of %v, skipping %v..%v", some.Focus.Hi, full.Focus.Hi, lo, hi)
		}
		if full.Holes && !some.Holes && full.Over > 1e-6 || full.Off > some.Off*(1+2*offPart)+4*gapMM {
			t.Fatalf("holes over %v mm instead of %v, off by %v instead of %v", some.Over, full.Over, some.Off, full.Off)
		}
	})
}

// A move is of interest where its height is by the slope alone, or the correction at
// one of its ends.
func TestEndsAreOfInterest(t *testing.T) {
	p := surfacetest.Of(t, "bilinear", []float64{0, 100}, []float64{0, 100}, func(x, _ float64) float64 { return 0.1 * (x - 50) })
	for _, c := range []struct{ c0, c1, lo, hi, wantLo, wantHi float64 }{
		{0, 0, -0.45, 0.45, -0.5, 0.5}, {2, 0, -0.45, 9, -0.5, math.Inf(-1)}, {0, 2, -9, 1.45, math.Inf(1), 1.5},
		{-2, 0, -1.45, 9, -1.5, math.Inf(-1)}, {0, -2, -2.45, 9, -2.5, math.Inf(-1)}, {1.9, -0.1, -9, 2.35, math.Inf(1), 2.4},
	} {
		sp := Below{C0: c.c0, C1: c.c1}
		sp.Focus.Begin(c.lo, c.hi)
		sp.Height.Begin(math.Inf(-1), math.Inf(1))
		m := machine.Move{Kind: machine.Line, From: machine.Point{X: 45, Y: 50}, To: machine.Point{X: 55, Y: 50}, Length: 10}
		New(p).Along(&sp, &m, false)
		lo, hi := sp.Focus.Lo, sp.Focus.Hi
		if !math.IsInf(c.wantLo, 0) && math.Abs(lo-c.wantLo) > gapMM || !math.IsInf(c.wantHi, 0) && math.Abs(hi-c.wantHi) > gapMM {
			t.Errorf("%+v: from %v to %v", c, lo, hi)
		}
	}
}

// The Bernstein basis: coefficients from values, and halving, give the same
// polynomial back.
func TestPolynomialRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var power [maxDegree + 1]float64
		for i := range power {
			power[i] = rapid.Float64Range(-3, 3).Draw(t, "coefficient")
		}
		at := func(s float64) float64 {
			v := 0.0
			for i := len(power) - 1; i >= 0; i-- {
				v = v*s + power[i]
			}
			return v
		}
		var v [maxDegree + 1]float64
		for i, s := range sextic.at {
			v[i] = at(s)
		}
		b := sextic.through(&v)
		left, right := b.halve()
		for _, c := range []struct{ got, want float64 }{
			{b.c[0], at(0)}, {b.c[maxDegree], at(1)}, {left.c[maxDegree], at(0.5)}, {right.c[0], at(0.5)}, {left.c[0], at(0)}, {right.c[maxDegree], at(1)},
		} {
			if math.Abs(c.got-c.want) > 1e-11 {
				t.Fatalf("got %v, want %v", c.got, c.want)
			}
		}
	})
}
