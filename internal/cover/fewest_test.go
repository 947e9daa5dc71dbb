package cover

import (
	"testing"

	"pgregory.net/rapid"
)

// drawSpans draws spans of heights whose ends are whole eighths.
func drawSpans(t *rapid.T) []Span {
	var h Heights
	for range rapid.IntRange(1, 9).Draw(t, "spans") {
		lo := float64(rapid.IntRange(-20, 60).Draw(t, "lo")) / 8
		h.Add(Span{lo, lo + float64(rapid.IntRange(0, 12).Draw(t, "size"))/8})
	}
	return h.Spans()
}

// fewest tries all covers by intervals that begin at sixteenths: with ends of
// spans and widths at eighths, none other is smaller.
func fewest(spans []Span, width float64) int {
	var heights []int // in thirty-seconds: the ends and what lies between
	for _, s := range spans {
		for v := int(s.Lo * 32); v <= int(s.Hi*32); v++ {
			heights = append(heights, v)
		}
	}
	wide := int(width * 32)
	best := map[int]int{} // by the heights covered, from below
	var least func(from int) int
	least = func(from int) int {
		if from == len(heights) {
			return 0
		}
		if n, ok := best[from]; ok {
			return n
		}
		n := len(heights)
		for low := heights[from] - wide; low <= heights[from]; low++ {
			if low%2 != 0 {
				continue
			}
			k := from
			for k < len(heights) && heights[k] <= low+wide {
				k++
			}
			if k > from {
				n = min(n, 1+least(k))
			}
		}
		best[from] = n
		return n
	}
	return least(0)
}

func TestFewestIsLeast(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		spans, width := drawSpans(t), float64(rapid.IntRange(1, 20).Draw(t, "width"))/8
		got := Fewest(spans, width)
		if want := fewest(spans, width); len(got) != want {
			t.Fatalf("%d intervals of %g for %v, want %d", len(got), width, spans, want)
		}
		if n := Count(spans, width); n != float64(len(got)) {
			t.Fatalf("counted %g, made %d", n, len(got))
		}
		if !covers(got, spans, width) {
			t.Fatalf("%v does not cover %v", got, spans)
		}
		below := fewestFromAbove(spans, width)
		if len(below) != len(got) || !covers(below, spans, width) {
			t.Fatalf("from above %v, from below %v", below, got)
		}
		for i := range got {
			if below[i] > got[i] {
				t.Fatalf("interval %d begins at %g to %g", i, below[i], got[i])
			}
			if i > 0 && got[i]-got[i-1] < width {
				t.Fatalf("the witnesses %v are nearer than %g", got, width)
			}
		}
	})
}

// Heights that end where intervals do, but for rounding, need as many
// intervals as exact ones, but for a width that is larger or smaller by as
// much.
func TestFewestIsSteady(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		spans, width := drawSpans(t), float64(rapid.IntRange(1, 20).Draw(t, "width"))/8
		const by = 1e-9
		off := rapid.SampledFrom([]float64{-by, -1e-15, 0, 1e-15, by})
		var h Heights
		for _, s := range spans {
			lo := s.Lo + off.Draw(t, "lo")
			h.Add(Span{lo, max(lo, s.Hi+off.Draw(t, "hi"))})
		}
		beside := h.Spans()
		n, wide, narrow := len(Fewest(beside, width)), len(Fewest(spans, width+3*by)), len(Fewest(spans, width-3*by))
		if n < wide || n > narrow {
			t.Fatalf("%d intervals of %g for %v, %d to %d for %v", n, width, beside, wide, narrow, spans)
		}
		if lows := Fewest(beside, width); !covers(lows, beside, width) {
			t.Fatalf("%v does not cover %v", lows, beside)
		}
	})
}

// A width that is lost beside the heights ends the search.
func TestFewestEnds(t *testing.T) {
	for _, width := range []float64{1e-20, 0, -1} {
		if got := Fewest([]Span{{1, 2}, {3, 4}}, width); len(got) != 1 {
			t.Errorf("width %g: %v", width, got)
		}
	}
	if got := Fewest(nil, 1); got != nil {
		t.Errorf("of nothing: %v", got)
	}
}

// covers must not be easily pleased: it is what the other tests lean on.
func TestCoversSeesGaps(t *testing.T) {
	spans := []Span{{0, 2}, {5, 5}, {7, 8}}
	for _, c := range []struct {
		lows []float64
		want bool
	}{
		{[]float64{0, 5, 7}, true}, {[]float64{0, 6}, false}, {[]float64{-1, 1, 4, 6.5}, true}, {[]float64{0.1, 5, 7}, false},
		{[]float64{0, 3, 7}, true}, {[]float64{0, 5.1, 7}, false}, {[]float64{0, 5, 7.1}, false}, {nil, false}, {[]float64{-1, 1.1, 5, 7}, false},
	} {
		if got := covers(c.lows, spans, 2); got != c.want {
			t.Errorf("%v: %v", c.lows, got)
		}
	}
}
