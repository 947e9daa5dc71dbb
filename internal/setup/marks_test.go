package setup

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"sagitta/internal/machine"
	"sagitta/internal/surface"
	"sagitta/internal/surface/surfacetest"
)

// stock is a surface over 0 to 100 each way.
func stock(t surfacetest.T, f func(x, y float64) float64) *surface.Placed {
	var axis []float64
	for v := 0.0; v <= 100; v += 5 {
		axis = append(axis, v)
	}
	return surfacetest.Of(t, "", axis, axis, f)
}

// A point is on the stock, at the height asked for where the stock has it, and
// as far from marks as there is room; it is said how far.
func TestPoints(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := rapid.Float64Range(-0.05, 0.05).Draw(t, "a"), rapid.Float64Range(-0.05, 0.05).Draw(t, "b")
		p := stock(t, func(x, y float64) float64 { return a*(x-50) + b*(y-50) + math.Sin(x/9) })
		m := NewMarks(p)
		var marks []machine.Move
		for range rapid.IntRange(0, 6).Draw(t, "marks") {
			at := func(l string) float64 { return rapid.Float64Range(5, 95).Draw(t, l) }
			v := machine.Move{Kind: machine.Line, From: machine.Point{X: at("x"), Y: at("y")}, To: machine.Point{X: at("to x"), Y: at("to y")}}
			m.Move(&v)
			marks = append(marks, v)
		}
		low, high, _, _ := p.Range()
		h := low + (high-low)*rapid.Float64Range(0.1, 0.9).Draw(t, "part") // the mesh ends short of the edge
		got := m.At(h)
		if at, where := p.At(got.X, got.Y); where != surface.On || math.Abs(at-h) > PointTolerance || at != got.Height {
			t.Fatalf("%+v is %g high, want %g", got, at, h)
		}
		least := math.Inf(1)
		for i := range marks {
			for k := range 401 {
				xy := marks[i].XY(float64(k) / 400)
				least = min(least, math.Hypot(xy[0]-got.X, xy[1]-got.Y))
			}
		}
		// The map is of cells, and its distances a tenth off at most.
		if cell := 100.0 / markCells * math.Sqrt2; got.FromMarks > 1.1*(min(least, ClearOfMarks)+2*cell) || got.FromMarks < 0.9*min(least, ClearOfMarks)-2*cell {
			t.Fatalf("%+v is %g from marks", got, least)
		}
	})
}

// Of what is clear the nearest to the middle is taken; what was marked since
// counts; a height that the stock has not is told by how much.
func TestPointsByHand(t *testing.T) {
	p := stock(t, func(x, y float64) float64 { return x / 10 })
	m := NewMarks(p)
	if got := m.At(3); math.Abs(got.X-30) > 0.05 || math.Abs(got.Y-50) > 2 || got.FromMarks != ClearOfMarks {
		t.Errorf("unmarked: %+v", got)
	}
	m.Line(30, 30, 30, 90)
	if got := m.At(3); math.Abs(got.X-30) > 0.05 || got.Y > 23 || got.Y < 18 {
		t.Errorf("below the mark: %+v", got)
	}
	circle := machine.Move{Kind: machine.Arc, CX: 30, CY: 20, R0: 6, R1: 6, Sweep: 2 * math.Pi, Length: 12 * math.Pi,
		From: machine.Point{X: 36, Y: 20}, To: machine.Point{X: 36, Y: 20}}
	m.Move(&circle)
	if got := m.At(3); got.Y > 14-7 || got.FromMarks < 7 {
		t.Errorf("below the circle: %+v", got)
	}
	if got := m.At(11); got.Height != 10 {
		t.Errorf("too high: %+v", got)
	}
}

// What is marked on one turn of a round is marked on all, over the seam too: the point
// is as far from it as is said, wherever the stock was drawn.
func TestPointsOnARound(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := surfacetest.Round(t, 90)
		turn := p.Surface().Header().WrapsYMM
		here, there := NewMarks(p), NewMarks(p)
		onward := func(m *Marks, x, y, turns float64) (float64, float64) {
			lx, ly := p.Local(x, y)
			return p.Program(lx, ly+turns*turn)
		}
		var marks []machine.Move
		for range rapid.IntRange(1, 5).Draw(t, "marks") {
			at := func(l string) float64 { return rapid.Float64Range(-80, 120).Draw(t, l) }
			v := machine.Move{Kind: machine.Line, From: machine.Point{X: at("x"), Y: at("y")}, To: machine.Point{X: at("to x"), Y: at("to y")}}
			k := float64(rapid.IntRange(-3, 3).Draw(t, "turns on"))
			here.Move(&v)
			marks = append(marks, v)
			v.From.X, v.From.Y = onward(there, v.From.X, v.From.Y, k)
			v.To.X, v.To.Y = onward(there, v.To.X, v.To.Y, k)
			there.Move(&v)
		}
		low, high, _, _ := p.Range()
		h := low + (high-low)*rapid.Float64Range(0.3, 0.7).Draw(t, "part")
		a, b := here.At(h), there.At(h)
		// Where a mark ends between cells is a matter of rounding.
		cell := math.Hypot(here.dx, here.dy)
		for _, got := range []FocusPoint{a, b} {
			least := math.Inf(1)
			for i := range marks {
				for k := range 401 {
					xy := marks[i].XY(float64(k) / 400)
					lx, ly := p.Local(xy[0], xy[1])
					gx, gy := p.Local(got.X, got.Y)
					least = min(least, math.Hypot(lx-gx, math.Remainder(ly-gy, turn)))
				}
			}
			if got.FromMarks > 1.1*(min(least, ClearOfMarks)+2*cell) || got.FromMarks < 0.9*min(least, ClearOfMarks)-2*cell {
				t.Fatalf("%+v is %g from marks", got, least)
			}
		}
	})
}

// round240 is flat and goes round in 240 mm.
func round240(t *testing.T, at surface.Placement) *surface.Placed {
	s, err := surface.New([]float64{0, 100}, []float64{0, 60, 120, 180}, make([]float64, 8))
	if err == nil {
		s, err = s.WithHeader(surface.Header{WrapsYMM: 240})
	}
	if err != nil {
		t.Fatal(err)
	}
	p, err := surface.Place(s, at)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// The map goes on over the seam: what is marked before it is near to what comes after.
func TestPointsAtTheSeam(t *testing.T) {
	for _, free := range [][2]float64{{238, 250}, {230, 242}, {240, 250}} {
		m := NewMarks(round240(t, surface.Placement{}))
		for y := free[1]; y <= free[0]+240; y++ {
			m.Line(-1, y, 101, y)
		}
		got := m.At(0)
		y := math.Mod(got.Y-free[0]+480, 240)
		if want := (free[1] - free[0]) / 2; math.Abs(y-want) > 1.5 || math.Abs(got.FromMarks-want) > 1.5 {
			t.Errorf("free from %g to %g: %+v", free[0], free[1], got)
		}
	}
}

// A box stands on every turn, one that is wider than a turn everywhere along it.
func TestBoxesOnARound(t *testing.T) {
	for _, c := range []struct {
		rotate float64
		box    surface.Box
		x, y   [2]float64 // where the point is, in the surface's coordinates
	}{
		{0, surface.Box{X0: 0, Y0: -220, X1: 100, Y1: -30}, [2]float64{0, 100}, [2]float64{210, 260}},
		{0, surface.Box{X0: 20, Y0: -700, X1: 110, Y1: -300}, [2]float64{0, 20}, [2]float64{0, 240}},
		{90, surface.Box{X0: 30, Y0: 0, X1: 220, Y1: 100}, [2]float64{0, 100}, [2]float64{210, 260}},
	} {
		p := round240(t, surface.Placement{RotateDeg: c.rotate})
		m := NewMarks(p)
		m.Box(c.box, 0)
		got := m.At(0)
		x, y := p.Local(got.X, got.Y)
		if x < c.x[0] || x > c.x[1] || math.Mod(y-c.y[0]+960, 240) > c.y[1]-c.y[0] {
			t.Errorf("%+v: the point is at %g, %g of the surface", c, x, y)
		}
		if got.FromMarks < 7 {
			t.Errorf("%+v: %+v", c, got)
		}
	}
}

// A point is within the machine's reach where any place of the stock is, whatever else
// there is to say for others.
func TestPointsWithinReach(t *testing.T) {
	p := stock(t, func(x, y float64) float64 { return x / 10 })
	m := NewMarks(p)
	m.Line(30, 0, 30, 40)
	m.Reach = machine.Reach{Y: &[2]float64{-50, 40}}
	if got := m.At(3); math.Abs(got.X-30) > 0.05 || got.Y > 40 {
		t.Errorf("%+v", got)
	}
	m.Reach = machine.Reach{X: &[2]float64{45, 200}}
	if got := m.At(3); got.X < 45 || got.X > 50 || got.Height > 5 {
		t.Errorf("of another height: %+v", got)
	}
}
