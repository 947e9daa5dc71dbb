package probe

import (
	"math"
	"testing"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"
	"pgregory.net/rapid"

	"sagitta/internal/bench"
	"sagitta/internal/diag"
	"sagitta/internal/machine"
	"sagitta/internal/record"
	"sagitta/internal/surface"
)

// What is said to be clear is so at every place that is looked at, and what is
// refused is not by much: the tip of the tool, and the head beside it, over boxes
// on the ways between touches and down to where a touch reaches.
func TestClearIsClear(t *testing.T) {
	refused := 0
	rapid.Check(t, func(t *rapid.T) {
		p, err := New(orb.MultiLineString{{{0, 0}, {60, 30}}}, Pitch{X: 20, Y: 20}, 2, nil, machine.Reach{})
		if err != nil {
			t.Fatal(err)
		}
		m := record.DefaultMachine()
		m.ZPlus = rapid.SampledFrom([]string{record.Away, record.Toward}).Draw(t, "plus")
		m.ProbeDepthMM = rapid.Float64Range(1, 8).Draw(t, "depth")
		m.ProbeOffsetMM = rapid.SampledFrom([][3]float64{{}, {15, -10, 0}, {0, 20, 1}, {-30, 0, -2}}).Draw(t, "offset")
		aloft := Level(rapid.Float64Range(2, 8).Draw(t, "clear"))
		aloft.PerMM = rapid.SampledFrom([]float64{0, 0.05}).Draw(t, "rises")
		var boxes []surface.Box
		for range rapid.IntRange(0, 4).Draw(t, "boxes") {
			x, y := rapid.Float64Range(-50, 100).Draw(t, "x"), rapid.Float64Range(-50, 80).Draw(t, "y")
			side := rapid.Float64Range(1, 10).Draw(t, "side")
			boxes = append(boxes, surface.Box{X0: x, Y0: y, X1: x + side, Y1: y + side, Height: rapid.Float64Range(-8, 12).Draw(t, "height")})
		}
		turn := rapid.SampledFrom([]float64{0, 0, 45}).Draw(t, "turn")
		var head *bench.Head
		if rapid.Bool().Draw(t, "head known") {
			head = &bench.Head{Radius: rapid.Float64Range(2, 12).Draw(t, "radius"), Standoff: 6, Gap: 1.5, Boxes: boxes}
		}
		var start *[2]float64
		if rapid.Bool().Draw(t, "start") {
			start = &[2]float64{rapid.Float64Range(-40, 90).Draw(t, "from x"), rapid.Float64Range(-40, 70).Draw(t, "from y")}
		}
		// least is what is left over the boxes, each wider by beside.
		least := func(beside float64) float64 {
			least := math.Inf(1)
			at := func(x, y, height float64) {
				o := m.ProbeOffsetMM
				for _, b := range standing(boxes, turn) {
					distance := func(x, y float64) float64 {
						return math.Hypot(max(b.X0-x, x-b.X1, 0), max(b.Y0-y, y-b.Y1, 0)) - beside
					}
					if distance(x, y) <= 0 {
						least = min(least, height-b.Height)
					}
					if head != nil && distance(x-o[0], y-o[1]) <= head.Radius {
						least = min(least, height-m.Sigma()*o[2]+head.Standoff-head.Gap-b.Height)
					}
				}
			}
			travels := func(q, next orb.Point, clearMM float64) {
				for s := range 101 {
					f := float64(s) / 100
					at(q[0]+f*(next[0]-q[0]), q[1]+f*(next[1]-q[1]), clearMM)
				}
			}
			for k, q := range p.Places {
				at(q[0], q[1], -m.ProbeDepthMM)
				next := p.Places[(k+1)%len(p.Places)]
				travels(q, next, aloft.OverMM+math.Floor(aloft.PerMM*max(planar.Distance(q, p.Places[0]), planar.Distance(next, p.Places[0]))))
			}
			if start != nil {
				travels(orb.Point{start[0] + m.ProbeOffsetMM[0], start[1] + m.ProbeOffsetMM[1]}, p.Places[0], p.Highest(aloft))
			}
			return least
		}
		err = p.Clear(m, aloft, boxes, turn, head, start)
		const step, early = 1.3, 0.3 // between places looked at; how far ahead of a box its height may begin
		switch {
		case err == nil && least(0) < 0:
			t.Fatalf("said to be clear, and is %g mm too low", -least(0))
		case err != nil && (!diag.Is(err, diag.Unmet) || least(step+early) > 0.01):
			t.Fatalf("%v, though there are %g mm left", err, least(step+early))
		case err != nil:
			refused++
		}
	})
	if refused == 0 {
		t.Error("nothing was ever refused")
	}
}

// standing are boxes as they stand on the turns about the job.
func standing(boxes []surface.Box, turn float64) []surface.Box {
	if turn == 0 {
		return boxes
	}
	var all []surface.Box
	for k := -4.0; k <= 4; k++ {
		for _, b := range boxes {
			b.Y0, b.Y1 = b.Y0+k*turn, b.Y1+k*turn
			all = append(all, b)
		}
	}
	return all
}
