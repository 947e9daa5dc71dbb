package surface

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// A cell is found as a search through all nodes finds it: on uneven axes, at
// nodes, and a step of float64 beside them.
func TestCellIsTheOneAround(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := []float64{rapid.Float64Range(-100, 100).Draw(t, "node")}
		for range rapid.IntRange(1, 30).Draw(t, "cells") {
			v = append(v, v[len(v)-1]+rapid.SampledFrom([]float64{1, 1, 1, 0.3, 7, 1e-5, 120}).Draw(t, "width"))
		}
		a := newAxis(v)
		x := v[rapid.IntRange(0, len(v)-1).Draw(t, "at")]
		switch rapid.IntRange(0, 3).Draw(t, "beside") {
		case 1:
			x = math.Nextafter(x, math.Inf(1))
		case 2:
			x = math.Nextafter(x, math.Inf(-1))
		case 3:
			x = rapid.Float64Range(v[0], v[len(v)-1]).Draw(t, "x")
		}
		x = a.clamp(x)
		want, before := 0, 0
		for i := range a.cells() {
			if v[i] <= x {
				want = i
			}
			if v[i] < x {
				before = i
			}
		}
		if i, j := a.cell(x), a.before(x); i != want || j != before {
			t.Fatalf("%v is in cell %d, before it %d; want %d and %d of %v", x, i, j, want, before, v)
		}
	})
}
