package cover

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// The search for where burns fit whole finds the best of all covers whose
// intervals begin at borders of bins.
func TestPlaceKeepsMostBurnsWhole(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		// Bins of 1; a width of 8 of them, as if of 64.
		w := NewWhole(binsPerWidth)
		const width = 8
		type burn struct{ lo, hi, n int32 }
		var burns []burn
		var h Heights
		for range rapid.IntRange(1, 7).Draw(t, "burns") {
			lo := int32(rapid.IntRange(0, 24).Draw(t, "lo"))
			b := burn{lo, lo + int32(rapid.IntRange(1, 10).Draw(t, "size")), int32(rapid.SampledFrom([]int{1, 1, 2, 5}).Draw(t, "copies"))}
			s := Span{float64(b.lo), float64(b.hi)}
			for range b.n {
				w.Count(s, 1)
			}
			burns = append(burns, b)
			h.Add(s)
		}
		spans := h.Spans()
		highest := Fewest(spans, width)
		fit := func(lows []float64) (n int) {
			for _, b := range burns {
				if slices.ContainsFunc(lows, func(v float64) bool {
					return v <= float64(b.lo)+1e-9 && float64(b.hi) <= v+width+1e-9
				}) {
					n += int(b.n)
				}
			}
			return n
		}
		got := w.Place(spans, width, highest)
		if len(got) != len(highest) || !covers(got, spans, width+1e-6) {
			t.Fatalf("%v for %v", got, spans)
		}
		best := 0
		lows := make([]float64, len(highest))
		var try func(k int)
		try = func(k int) {
			if k == len(lows) {
				if covers(lows, spans, width) {
					best = max(best, fit(lows))
				}
				return
			}
			for v := math.Floor(highest[k]) - width; v <= highest[k]; v++ {
				if k == 0 || v > lows[k-1] {
					lows[k] = v
					try(k + 1)
				}
			}
		}
		if len(highest) <= 4 {
			try(0)
			if n := fit(got); n < best {
				t.Fatalf("%v keeps %d of %v whole, %d could be", got, n, burns, best)
			}
		}
	})
}

// A burn that two neighbours both serve counts once: three settings can keep
// all of these whole, though others share the two at 12.
func TestPlaceCountsOnce(t *testing.T) {
	w := NewWhole(binsPerWidth)
	var h Heights
	for _, s := range []Span{{4, 9}, {0, 1}, {12, 13}, {12, 13}, {15, 17}} {
		w.Count(s, 1)
		h.Add(s)
	}
	got := w.Place(h.Spans(), 8, Fewest(h.Spans(), 8))
	for _, s := range h.Spans() {
		if !slices.ContainsFunc(got, func(v float64) bool { return v <= s.Lo && s.Hi <= v+8 }) {
			t.Errorf("%v divides %v", got, s)
		}
	}
}

// Settings share what they have too much evenly where no burn asks for more.
func TestPlaceIsEven(t *testing.T) {
	w := NewWhole(1)
	spans := []Span{{0, 2.5}}
	if got := w.Place(spans, 1, Fewest(spans, 1)); !slices.Equal(got, []float64{0, 0.75, 1.5}) {
		t.Errorf("%v", got)
	}
	// What is a little too high for one setting does not count, nor what no setting
	// serves as a whole, however high it reaches.
	for _, h := range []Span{{0, 65.0 / 64}, {-1e15, 3}, {-3, 1e15}} {
		w.Count(h, 1)
	}
	if len(w.rows) > 0 {
		t.Errorf("%v", w.rows)
	}
}

func TestToStepsTable(t *testing.T) {
	for _, c := range []struct {
		at      []float64
		spans   []Span
		width   float64
		want    []float64
		covered bool
	}{
		{[]float64{0.06}, []Span{{0, 1.2}}, 1.25, []float64{0}, true},    // up would leave the lowest
		{[]float64{-0.06}, []Span{{0, 1.2}}, 1.22, []float64{0}, true},   // down would leave the highest
		{[]float64{-0.04}, []Span{{0, 1.2}}, 1.22, []float64{0}, true},   // the nearest
		{[]float64{0.06}, []Span{{0.05, 1.3}}, 1.2, []float64{0}, false}, // there is none
		{[]float64{0, 0.96}, []Span{{0, 0.5}, {0.92, 1.9}}, 0.97, []float64{0, 0.9}, false},
		{[]float64{0, 0.96}, []Span{{0, 0.5}, {0.92, 1.79}}, 0.9, []float64{0, 0.9}, true}, // up would leave what the first does not serve
		{[]float64{0, 0.96}, []Span{{0, 0.5}, {1.02, 1.9}}, 1, []float64{0, 1}, true},
	} {
		got, covered := ToSteps(c.at, 0.1, c.spans, 0, c.width)
		if covered != c.covered || !slices.EqualFunc(got, c.want, func(a, b float64) bool { return math.Abs(a-b) < 1e-9 }) {
			t.Errorf("%+v: %v, %v", c, got, covered)
		}
	}
}

// Settings are moved to whole steps, no further than to the next, and it is
// told whether they serve all.
func TestToSteps(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		spans := drawSpans(t)
		width := float64(rapid.IntRange(4, 20).Draw(t, "width")) / 8
		step := float64(rapid.IntRange(1, 10).Draw(t, "step")) / 16
		low := rapid.SampledFrom([]float64{0, -0.3, 1.7}).Draw(t, "low")
		at := Fewest(spans, width)
		for i := range at {
			at[i] -= low
		}
		got, covered := ToSteps(at, step, spans, low, width)
		lows := make([]float64, len(got))
		for i, f := range got {
			if n := math.Round(f / step); math.Abs(f-n*step) > 1e-9 || math.Abs(f-at[i]) > 1.5*step+1e-9 {
				t.Fatalf("%g is moved to %g in steps of %g", at[i], f, step)
			}
			lows[i] = f + low
		}
		if covered != covers(lows, spans, width) {
			t.Fatalf("%v for %v: %v", lows, spans, covered)
		}
		// Where each has a step's room either side, it is there.
		if room, _ := ToSteps(at, 1.0/64, spans, low-1.0/64, width+1.0/32); !covers(added(room, low-1.0/64), spans, width+1.0/32) {
			t.Fatalf("%v in fine steps do not serve %v", room, spans)
		}
	})
}

func added(v []float64, by float64) []float64 {
	out := slices.Clone(v)
	for i := range out {
		out[i] += by
	}
	return out
}
