package cover

import (
	"cmp"
	"slices"
)

// Span is a closed interval of heights in mm.
type Span struct{ Lo, Hi float64 }

// Heights gathers the heights that burns see, as disjoint spans. The zero
// Heights is ready for use.
type Heights struct {
	spans []Span // sorted and disjoint
	fresh []Span
	last  Span // a span that is known to be inside
}

const (
	// freshSpans is how many spans are gathered before they are sorted in.
	freshSpans = 1 << 12
	// mostSpans bounds the disjoint spans kept. Past it the smallest gaps
	// between them count as filled, which can only ask for more settings.
	mostSpans = 1 << 15
)

// Add adds a span.
func (h *Heights) Add(s Span) {
	if s.Lo >= h.last.Lo && s.Hi <= h.last.Hi && len(h.fresh)+len(h.spans) > 0 {
		return
	}
	h.last = s
	h.fresh = append(h.fresh, s)
	if len(h.fresh) >= freshSpans {
		h.Spans()
	}
}

// Spans gives what was added as disjoint spans, lowest first. It is the
// receiver's own, and holds until the next Add.
func (h *Heights) Spans() []Span {
	if len(h.fresh) == 0 {
		return h.spans
	}
	all := append(h.spans, h.fresh...)
	h.fresh = h.fresh[:0]
	slices.SortFunc(all, func(a, b Span) int { return cmp.Compare(a.Lo, b.Lo) })
	h.spans = joined(all, 0)
	if len(h.spans) > mostSpans {
		gaps := make([]float64, 0, len(h.spans))
		for i := range h.spans[1:] {
			gaps = append(gaps, h.spans[i+1].Lo-h.spans[i].Hi)
		}
		slices.Sort(gaps)
		h.spans = joined(h.spans, gaps[len(gaps)/2])
	}
	return h.spans
}

// joined joins sorted spans, in place, that overlap or are no further apart
// than gap.
func joined(spans []Span, gap float64) []Span {
	out := spans[:1]
	for _, s := range spans[1:] {
		if last := &out[len(out)-1]; s.Lo-last.Hi <= gap {
			last.Hi = max(last.Hi, s.Hi)
		} else {
			out = append(out, s)
		}
	}
	return out
}

// Within gives the lowest and highest of the heights of sorted, disjoint
// spans that are within an interval, and false where there are none.
func Within(spans []Span, in Span) (Span, bool) {
	i, _ := slices.BinarySearchFunc(spans, in.Lo, func(s Span, v float64) int {
		if s.Hi < v {
			return -1
		}
		return 1
	})
	k := i
	for k < len(spans) && spans[k].Lo <= in.Hi {
		k++
	}
	if i == k {
		return Span{}, false
	}
	return Span{max(spans[i].Lo, in.Lo), min(spans[k-1].Hi, in.Hi)}, true
}
