package cover

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// drawDemands draws demands at whole tenths, so that a search over tenths is exact.
func drawDemands(t *rapid.T) (list []Demand) {
	for range rapid.IntRange(1, 3).Draw(t, "kinds") {
		var h Heights
		for range rapid.IntRange(0, 3).Draw(t, "spans") {
			lo := rapid.IntRange(0, 30).Draw(t, "lo")
			h.Add(Span{float64(lo), float64(lo + rapid.IntRange(0, 8).Draw(t, "range"))})
		}
		low := rapid.IntRange(-6, 2).Draw(t, "low")
		list = append(list, Demand{h.Spans(), float64(low), float64(low + rapid.IntRange(1, 7).Draw(t, "width"))})
	}
	return list
}

// The settings serve all, one fewer do not wherever they stand, and moving each within what its
// neighbours leave it keeps that.
func TestFewestForIsLeast(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		list := drawDemands(t)
		at := FewestFor(list, 1000)
		if !ServeAll(at, list) {
			t.Fatalf("%v do not serve %v", at, list)
		}
		if n := least(list); n != len(at) {
			t.Fatalf("%d settings, %d are enough for %v", len(at), n, list)
		}
		moved := append([]float64{}, at...)
		for i := range moved {
			lo, hi := math.Inf(-1), math.Inf(1)
			below, above := math.Inf(-1), math.Inf(1)
			if i > 0 {
				below = moved[i-1]
			}
			if i+1 < len(moved) {
				above = moved[i+1]
			}
			for k := range list {
				if h, any := list[k].Between(below, above); any {
					lo, hi = max(lo, h.Hi+list[k].Low), min(hi, h.Lo+list[k].High)
				}
			}
			if lo > hi {
				t.Fatalf("setting %d of %v may stand nowhere between %v and %v", i, moved, below, above)
			}
			if lo > below && hi < above {
				moved[i] = lo + (hi-lo)*rapid.Float64Range(0, 1).Draw(t, "place")
			}
		}
		for k := range list { // but by rounding
			list[k].Low, list[k].High = list[k].Low-1e-6, list[k].High+1e-6
		}
		if !ServeAll(moved, list) {
			t.Fatalf("%v served, %v do not: %v", at, moved, list)
		}
	})
}

// least is the least number of settings for demands at whole places, by sampling the heights
// finely: of the samples that no setting serves yet, that which lets the next stand lowest.
func least(list []Demand) (n int) {
	const step = 1.0 / 64
	type point struct{ low, high float64 }
	var all []point
	for _, d := range list {
		for _, s := range d.Spans {
			for h := s.Lo; h <= s.Hi; h += step {
				all = append(all, point{h + d.Low, h + d.High})
			}
		}
	}
	// No more than so many of them have nothing in common.
	for {
		first := math.Inf(1)
		for _, p := range all {
			first = min(first, p.high)
		}
		if math.IsInf(first, 1) {
			return n
		}
		n++
		rest := all[:0]
		for _, p := range all {
			if p.low > first+step { // what is between the samples counts as served
				rest = append(rest, p)
			}
		}
		all = rest
	}
}

func TestServeAllSeesGaps(t *testing.T) {
	list := []Demand{{[]Span{{0, 1}, {5, 5}}, -1, 1}}
	for _, c := range []struct {
		at   []float64
		want bool
	}{{[]float64{0.5, 5}, true}, {[]float64{0.5}, false}, {[]float64{-0.5, 5}, false}, {[]float64{-0.5, 1, 6}, true}, {nil, false}, {[]float64{1, 3.9}, false}} {
		if ServeAll(c.at, list) != c.want {
			t.Errorf("%v: not %v", c.at, c.want)
		}
	}
	if !ServeAll(nil, nil) || len(FewestFor(nil, 9)) > 0 {
		t.Error("nothing needs settings")
	}
	if n := len(FewestFor([]Demand{{[]Span{{0, 100}}, -0.1, 0.1}}, 9)); n != 10 {
		t.Errorf("%d settings are made of at most 9 and one", n)
	}
}
