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
