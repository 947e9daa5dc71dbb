package zone

import (
	"math"
	"slices"
)

// Span is a closed interval of heights in mm.
type Span struct{ Lo, Hi float64 }

// heightSet gathers the heights that burns see, as disjoint spans.
type heightSet struct {
	spans []Span // sorted and disjoint
	fresh []Span
	last  Span // a span that is known to be inside
}

const (
	// freshSpans is how many spans are gathered before they are sorted in.
	freshSpans = 1 << 12
	// mostSpans bounds the disjoint spans kept. Past it the smallest gaps
	// between them count as filled, which can only ask for more zones.
	mostSpans = 1 << 15
)

func (h *heightSet) add(s Span) {
	if s.Lo >= h.last.Lo && s.Hi <= h.last.Hi && len(h.fresh)+len(h.spans) > 0 {
		return
	}
	h.last = s
	h.fresh = append(h.fresh, s)
	if len(h.fresh) >= freshSpans {
		h.settle()
	}
}

// settle sorts the fresh spans in.
func (h *heightSet) settle() []Span {
	if len(h.fresh) == 0 {
		return h.spans
	}
	all := append(h.spans, h.fresh...)
	h.fresh = h.fresh[:0]
	slices.SortFunc(all, func(a, b Span) int {
		switch {
		case a.Lo < b.Lo:
			return -1
		case a.Lo > b.Lo:
			return 1
		}
		return 0
	})
	n := 0
	for _, s := range all {
		if n > 0 && s.Lo <= all[n-1].Hi {
			all[n-1].Hi = max(all[n-1].Hi, s.Hi)
		} else {
			all[n] = s
			n++
		}
	}
	h.spans = all[:n]
	if n > mostSpans {
		h.thin()
	}
	return h.spans
}

// thin fills the smallest half of the gaps.
func (h *heightSet) thin() {
	gaps := make([]float64, 0, len(h.spans))
	for i := range h.spans[1:] {
		gaps = append(gaps, h.spans[i+1].Lo-h.spans[i].Hi)
	}
	slices.Sort(gaps)
	least := gaps[len(gaps)/2]
	n := 0
	for _, s := range h.spans[1:] {
		if s.Lo-h.spans[n].Hi <= least {
			h.spans[n].Hi = s.Hi
		} else {
			n++
			h.spans[n] = s
		}
	}
	h.spans = h.spans[:n+1]
}

// Cover gives the lower ends of the fewest intervals of a width, in mm above
// 0, that cover the spans (sorted and disjoint), lowest first, each as high as
// it may be. It stops after most+1 of them.
//
// That none are fewer, the ends themselves show: each is a height that is to
// be covered, and any two are further apart than the width, so that no
// interval of that width covers two of them.
func Cover(spans []Span, width float64, most int) []float64 {
	var lows []float64
	end := math.Inf(-1) // all heights up to it are covered
	for _, s := range spans {
		for s.Hi > end && len(lows) <= most {
			low := max(s.Lo, end)
			lows = append(lows, low)
			end = low + width
			if !(end > low) {
				return lows // too narrow to go on at all
			}
		}
	}
	return lows
}

// coverFromAbove is Cover from the highest height down: of each interval of
// a fewest cover the lowest that its lower end may be.
func coverFromAbove(spans []Span, width float64, most int) []float64 {
	mirror := make([]Span, len(spans))
	for i, s := range spans {
		mirror[len(spans)-1-i] = Span{-s.Hi, -s.Lo}
	}
	ends := Cover(mirror, width, most)
	lows := make([]float64, len(ends))
	for i, e := range ends {
		lows[len(ends)-1-i] = -e - width
	}
	return lows
}

// covers tells whether intervals of a width with these lower ends, in order,
// cover the spans.
func covers(lows []float64, spans []Span, width float64) bool {
	k := 0
	for _, s := range spans {
		at := s.Lo
		for {
			for k < len(lows) && lows[k]+width < at {
				k++
			}
			if k == len(lows) || lows[k] > at {
				return false
			}
			if lows[k]+width >= s.Hi {
				break
			}
			at = lows[k] + width
			k++
			if k == len(lows) || lows[k] > at {
				return false
			}
		}
	}
	return true
}

// seen gives the lowest and highest of the heights within an interval, and
// false where there are none.
func seen(spans []Span, in Span) (Span, bool) {
	i, _ := slices.BinarySearchFunc(spans, in.Lo, func(s Span, v float64) int {
		if s.Hi < v {
			return -1
		}
		return 1
	})
	out := Span{math.Inf(1), math.Inf(-1)}
	for ; i < len(spans) && spans[i].Lo <= in.Hi; i++ {
		out.Lo = min(out.Lo, max(spans[i].Lo, in.Lo))
		out.Hi = max(out.Hi, min(spans[i].Hi, in.Hi))
	}
	return out, out.Lo <= out.Hi
}
