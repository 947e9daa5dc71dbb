package cover

import (
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// A set of many separate heights stays small, and loses none.
func TestHeightsKeepAll(t *testing.T) {
	var h Heights
	var want []float64
	for i := range 3 * mostSpans {
		v := float64(i*7919%(3*mostSpans)) * 0.001
		want = append(want, v)
		h.Add(Span{v, v})
	}
	spans := h.Spans()
	if len(spans) > mostSpans {
		t.Errorf("%d spans", len(spans))
	}
	for _, v := range want {
		if got, ok := Within(spans, Span{v, v}); !ok || got.Lo != v {
			t.Fatalf("%g is lost", v)
		}
	}
	if spans[0].Lo != 0 || spans[len(spans)-1].Hi != slices.Max(want) {
		t.Errorf("from %g to %g", spans[0].Lo, spans[len(spans)-1].Hi)
	}
}

// Heights that are to be sure stay few, are all of those that were seen, and reach from
// the first to the last.
func TestSureHeightsAreSeen(t *testing.T) {
	h := Heights{Sure: true}
	const n = 3 * mostSpans
	for i := range n {
		v := float64(i * 7919 % n)
		h.Add(Span{v, v + 0.5})
	}
	spans := h.Spans()
	if len(spans) > mostSpans || len(spans) < mostSpans/4 {
		t.Errorf("%d spans", len(spans))
	}
	for _, s := range spans {
		if s.Hi != s.Lo+0.5 {
			t.Fatalf("%v was not seen", s)
		}
	}
	if spans[len(spans)-1].Lo != n-1 {
		t.Errorf("up to %v", spans[len(spans)-1])
	}
}

// Spans are in order, apart, and hold what was added and nothing else;
// Within gives the extremes of what they have within an interval.
func TestHeightsAreWhatWasAdded(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var h Heights
		var seen [151]bool // heights in halves
		for range rapid.IntRange(1, 9).Draw(t, "spans") {
			lo := rapid.IntRange(0, 60).Draw(t, "lo")
			hi := lo + rapid.IntRange(0, 15).Draw(t, "size")
			h.Add(Span{float64(lo), float64(hi)})
			for k := 2 * lo; k <= 2*hi; k++ {
				seen[k] = true
			}
			if rapid.Bool().Draw(t, "between") {
				h.Spans()
			}
		}
		spans := h.Spans()
		for i := range spans[1:] {
			if spans[i].Hi >= spans[i+1].Lo {
				t.Fatalf("%v", spans)
			}
		}
		lo := rapid.IntRange(-2, 90).Draw(t, "from")
		hi := lo + rapid.IntRange(0, 9).Draw(t, "to")
		want := Span{1e9, -1e9}
		for k, is := range seen {
			if v := float64(k) / 2; is && v >= float64(lo) && v <= float64(hi) {
				want = Span{min(want.Lo, v), max(want.Hi, v)}
			}
		}
		got, any := Within(spans, Span{float64(lo), float64(hi)})
		if any != (want.Lo <= want.Hi) || any && got != want {
			t.Fatalf("%v within %d to %d: %v, %v, want %v", spans, lo, hi, got, any, want)
		}
	})
}
