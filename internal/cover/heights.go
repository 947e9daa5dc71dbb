package cover

import (
	"math"
	"slices"
	"sort"
)

// Span is a closed interval of heights in mm.
type Span struct{ Lo, Hi float64 }

// Heights gathers the heights that burns see, as disjoint spans. The zero
// Heights is ready for use.
type Heights struct {
	// Sure lets every second span go where there are too many, so that what is
	// kept was seen for certain. Otherwise the smallest gaps count as filled, so
	// that all that was seen is kept, which can only ask for more settings.
	Sure  bool
	spans []Span // sorted and disjoint
}

// mostSpans bounds the disjoint spans kept.
const mostSpans = 1 << 12

// Add adds a span.
func (h *Heights) Add(s Span) {
	i, k := overlapping(h.spans, s)
	if i < k {
		s = Span{min(s.Lo, h.spans[i].Lo), max(s.Hi, h.spans[k-1].Hi)}
	}
	h.spans = slices.Replace(h.spans, i, k, s)
	switch {
	case len(h.spans) <= mostSpans:
	case h.Sure:
		h.thin()
	default:
		h.fillGaps()
	}
}

// thin lets go of every second span but the last.
func (h *Heights) thin() {
	out, last := h.spans[:0], h.spans[len(h.spans)-1]
	for i := 0; i < len(h.spans)-1; i += 2 {
		out = append(out, h.spans[i])
	}
	h.spans = append(out, last)
}

// fillGaps fills the smaller half of the gaps.
func (h *Heights) fillGaps() {
	gaps := make([]float64, 0, len(h.spans))
	for i := range h.spans[1:] {
		gaps = append(gaps, h.spans[i+1].Lo-h.spans[i].Hi)
	}
	slices.Sort(gaps)
	out := h.spans[:1]
	for _, s := range h.spans[1:] {
		if last := &out[len(out)-1]; s.Lo-last.Hi <= gaps[len(gaps)/2] {
			last.Hi = s.Hi
		} else {
			out = append(out, s)
		}
	}
	h.spans = out
}

// Spans gives what was added as disjoint spans, lowest first. It is the
// receiver's own, and holds until the next Add.
func (h *Heights) Spans() []Span { return h.spans }

// overlapping gives those of sorted, disjoint spans that have heights of another,
// from i up to k; none where it lies before i.
func overlapping(spans []Span, s Span) (i, k int) {
	i = sort.Search(len(spans), func(n int) bool { return spans[n].Hi >= s.Lo })
	for k = i; k < len(spans) && spans[k].Lo <= s.Hi; {
		k++
	}
	return i, k
}

// Within gives the lowest and highest of the heights of sorted, disjoint
// spans that are within an interval, and false where there are none.
func Within(spans []Span, in Span) (Span, bool) {
	i, k := overlapping(spans, in)
	if i == k {
		return Span{}, false
	}
	return Span{max(spans[i].Lo, in.Lo), min(spans[k-1].Hi, in.Hi)}, true
}

// Bands are the heights that settings serve, in order: both ends
// of each are above those of the one before.
type Bands []Span

// Serving gives the settings that serve all of some heights: n of them, from
// first on.
func (s Bands) Serving(h Span) (first, n int) {
	first = sort.Search(len(s), func(i int) bool { return s[i].Hi >= h.Hi })
	for first+n < len(s) && s[first+n].Lo <= h.Lo {
		n++
	}
	return first, n
}

// Shared reports whether several settings serve any of some heights.
func (s Bands) Shared(h Span) bool {
	first := sort.Search(len(s), func(i int) bool { return s[i].Hi >= h.Lo })
	return first+1 < len(s) && s[first+1].Lo <= h.Hi
}

// nearest gives the setting that misses some heights by least, in mm.
func (s Bands) nearest(h Span) (i int, miss float64) {
	miss = math.Inf(1)
	for k, b := range s {
		if m := max(b.Lo-h.Lo, h.Hi-b.Hi); m < miss {
			i, miss = k, m
		}
	}
	return i, miss
}

// ToSteps moves settings to whole multiples of a step, each to the nearest
// that leaves no height below it unserved. A setting at f serves heights from
// f+low on, over a width. It reports false where the spans (sorted and
// disjoint) are not covered so.
func ToSteps(at []float64, step float64, spans []Span, low, width float64) ([]float64, bool) {
	out, lows := make([]float64, len(at)), make([]float64, len(at))
	need, high := spans[0].Lo, spans[len(spans)-1].Hi // need is the lowest height that is not served yet
	for i, f := range at {
		n := math.Round(f / step)
		switch {
		case n*step+low > need:
			n--
		case i == len(at)-1 && n*step+low+width < high:
			n++
		}
		out[i] = math.Round(n*step*1e9) / 1e9
		lows[i] = out[i] + low
		if rest, any := Within(spans, Span{lows[i] + width, high}); any {
			need = rest.Lo
		}
	}
	return out, covers(lows, spans, width)
}
