package setup

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"sagitta/internal/machine"
	"sagitta/internal/surface"
)

// stroke is a straight burn.
type stroke [4]float64

// from is how far a place is from the nearest of some, by sampling.
func from(x, y float64, list []stroke) float64 {
	least := math.Inf(1)
	for _, s := range list {
		for k := range 201 {
			t := float64(k) / 200
			least = min(least, math.Hypot(s[0]+(s[2]-s[0])*t-x, s[1]+(s[3]-s[1])*t-y))
		}
	}
	return least
}

// marked is a map with these burns in layers of their own, in their order.
func marked(p *surface.Placed, layers ...[]stroke) *Marks {
	m := NewMarks(p)
	m.Foot = 10
	for _, list := range layers {
		for _, s := range list {
			m.Line(s[0], s[1], s[2], s[3])
		}
	}
	for k, list := range layers {
		m.In(k)
		for _, s := range list {
			m.Line(s[0], s[1], s[2], s[3])
		}
	}
	m.In(-1)
	return m
}

// A focus point of a zone is on the stock and has the height that is said of it; the
// foot of the gauge stands on nothing that was burned before, or it is said, and then
// there is no place near that would do; it is told how uneven the stock is there.
func TestPlaces(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := rapid.Float64Range(-0.01, 0.01).Draw(t, "a"), rapid.Float64Range(-0.01, 0.01).Draw(t, "b")
		p := stock(t, func(x, y float64) float64 { return a*(x-50) + b*(y-50) })
		layers := make([][]stroke, rapid.IntRange(2, 4).Draw(t, "zones"))
		for k := range layers {
			x, y := rapid.Float64Range(15, 85).Draw(t, "x"), rapid.Float64Range(15, 85).Draw(t, "y")
			for range rapid.IntRange(1, 5).Draw(t, "strokes") {
				at := func(l string, about float64) float64 { return about + rapid.Float64Range(-10, 10).Draw(t, l) }
				layers[k] = append(layers[k], stroke{at("x0", x), at("y0", y), at("x1", x), at("y1", y)})
			}
		}
		m := marked(p, layers...)
		own := len(layers) - 1
		var before []int
		var burned []stroke
		for k := range own {
			before, burned = append(before, k), append(burned, layers[k]...)
		}
		h, _ := p.At(layers[own][0][0], layers[own][0][1])
		got := m.Place(h, own, before)
		if at, where := p.At(got.X, got.Y); where != surface.On || at != got.Height {
			t.Fatalf("%+v is %g high", got, at)
		}
		if far := from(got.X, got.Y, burned); !got.Spoiled && far < m.Foot/2-2*m.step() {
			t.Fatalf("%+v stands on what was burned, %g mm from it", got, far)
		}
		if got.Spoiled {
			t.Fatalf("%+v, and there is room", got)
		}
		// Of gentle stock the height is found anywhere.
		if off := math.Abs(got.Height - h); off > 0.05 {
			t.Errorf("%+v is %g off", got, off)
		}
		if uneven := 5 * math.Hypot(a, b); math.Abs(got.Uneven-uneven) > 0.1*uneven+1e-6 && got.Uneven != overEdge {
			t.Errorf("%+v: uneven by %g", got, uneven)
		}
	})
}

// It lies within the zone's burns or next to them, off all burns where there is room.
func TestPlacesAreNear(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := stock(t, func(x, y float64) float64 { return 1 })
		x, y := rapid.Float64Range(10, 80).Draw(t, "x"), rapid.Float64Range(10, 80).Draw(t, "y")
		own := []stroke{{x, y, x + 10, y}, {x + 10, y, x + 10, y + 10}}
		other := stroke{rapid.Float64Range(0, 100).Draw(t, "x0"), rapid.Float64Range(0, 100).Draw(t, "y0"), 100, rapid.Float64Range(0, 100).Draw(t, "y1")}
		m := marked(p, []stroke{other}, own)
		got := m.Place(1, 1, []int{0})
		if far := from(got.X, got.Y, own); far > m.Foot+5*m.step() {
			t.Fatalf("%+v is %g from %v", got, far, own)
		}
		if got.Spoiled || got.Uneven != 0 && got.Uneven != overEdge {
			t.Fatalf("%+v", got)
		}
	})
}

// square is one about a middle.
func square(x, y, half float64) []stroke {
	return []stroke{{x - half, y - half, x + half, y - half}, {x + half, y - half, x + half, y + half}, {x + half, y + half, x - half, y + half}, {x - half, y + half, x - half, y - half}}
}

// What a closed figure may have cut free is no place to set the focus at, whatever zones
// have burned its parts; what is only begun has cut nothing.
func TestLoosePieces(t *testing.T) {
	p := stock(t, func(x, y float64) float64 { return 1 })
	inside := func(f FocusPoint) bool { return math.Abs(f.X-50) < 25 && math.Abs(f.Y-50) < 25 }
	own, ring := []stroke{{45, 50, 55, 50}}, square(50, 50, 25)
	m := marked(p, own, ring[:2], ring[2:])
	if got := m.Place(1, 0, nil); !inside(got) || got.Spoiled {
		t.Errorf("before it is cut: %+v", got)
	}
	if got := m.Place(1, 0, []int{1}); !inside(got) || got.Spoiled {
		t.Errorf("half cut: %+v", got)
	}
	if got := m.Place(1, 0, []int{1, 2}); inside(got) || got.Spoiled {
		t.Errorf("cut free: %+v", got)
	}
	// Where all else is out of reach, it is said.
	m.Reach = machine.Reach{X: &[2]float64{40, 60}, Y: &[2]float64{40, 60}}
	if got := m.Place(1, 0, []int{1, 2}); !inside(got) || !got.Spoiled {
		t.Errorf("nowhere else in reach: %+v", got)
	}
	// A round is cut through all about, and holds at both ends; it has no edge at its
	// seam.
	r := round240(t, surface.Placement{})
	m = marked(r, []stroke{{50, 0, 50, 240}}, []stroke{{30, 0, 30, 240}}, []stroke{{70, 0, 70, 240}})
	if got := m.Place(0, 0, []int{1}); got.Spoiled || math.Abs(got.X-50) > 8 {
		t.Errorf("an end of a round: %+v", got)
	}
	if got := m.Place(0, 0, []int{1, 2}); got.Spoiled || got.X > 30 && got.X < 70 {
		t.Errorf("a ring off a round: %+v", got)
	}
	m = marked(r, []stroke{{40, 215, 40, 220}}, []stroke{{20, 200, 60, 200}, {20, 200, 20, 240}, {60, 200, 60, 240}})
	if got := m.Place(0, 0, []int{1}); got.Spoiled || math.Mod(got.Y+480, 240) < 200 {
		t.Errorf("what is open over the seam: %+v", got)
	}
}

// The head, boxes, and stock that is steep under the foot count.
func TestPlacesElsewhere(t *testing.T) {
	p := stock(t, func(x, y float64) float64 { return max(0, x-50) * 0.4 })
	own := []stroke{{48, 50, 48, 60}}
	m := marked(p, own)
	if got := m.Place(0, 0, nil); got.Uneven > FlatEnough || math.Abs(got.X-48) > 10 {
		t.Errorf("beside a slope: %+v", got)
	}
	m.Box(surface.Box{X0: 30, Y0: 30, X1: 47, Y1: 80}, 0)
	if got := m.Place(0, 0, nil); got.X > 25 && got.Y > 25 && got.Y < 85 && got.X < 48 || got.Height > 0.1 {
		t.Errorf("beside a box: %+v", got)
	}
	m.Over = func(x, y, height float64) float64 { return max(0, 70-y) }
	if got := m.Place(0, 0, nil); got.Y < 70 {
		t.Errorf("under the head: %+v", got)
	}
}

// By heights, a burn is in the layers of all zones that serve it.
func TestMarksByHeight(t *testing.T) {
	p := stock(t, func(x, y float64) float64 { return x / 10 })
	m := NewMarks(p)
	m.Line(10, 50, 90, 50)
	m.InBand(0, 6, 10)
	m.InBand(1, 0, 4)
	for x := 2.0; x < 98; x += 0.7 {
		c := m.cell(x, 50)
		if burned := x > 10 && x < 90; x > 60.6 && m.layers[0].has(c) != burned && math.Abs(x-90) > 1 || x < 59 && m.layers[0].has(c) || x > 10.6 && x < 39 && !m.layers[1].has(c) || x > 41 && m.layers[1].has(c) {
			t.Errorf("at %g: %v, %v", x, m.layers[0].has(c), m.layers[1].has(c))
		}
	}
}
