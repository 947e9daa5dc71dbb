package cover

import (
	"math"
	"slices"
)

// Fewest gives the lower ends of the fewest intervals of a width, in mm above
// 0, that cover the spans (sorted and disjoint), lowest first, each as high as
// it may be.
//
// That none are fewer, the ends themselves show: each, or what lies just above
// it, is a height that is to be covered, and any two are further apart than
// the width, so that no interval of that width covers two of them.
func Fewest(spans []Span, width float64) []float64 {
	var lows []float64
	end := math.Inf(-1) // all heights up to it are covered
	for _, s := range spans {
		for s.Hi > end {
			low := max(s.Lo, end)
			lows = append(lows, low)
			if end = low + width; !(end > low) {
				return lows // the width is lost beside the heights
			}
		}
	}
	return lows
}

// Count gives how many intervals of a width, in mm above 0, Fewest needs,
// without making them, however many they are.
func Count(spans []Span, width float64) float64 {
	n, end := 0.0, math.Inf(-1)
	for _, s := range spans {
		if s.Hi > end {
			low := max(s.Lo, end)
			k := max(1, math.Ceil((s.Hi-low)/width))
			n, end = n+k, low+k*width
		}
	}
	return n
}

// fewestFromAbove is Fewest from the highest height down: of each interval of
// a fewest cover the lowest that its lower end may be.
func fewestFromAbove(spans []Span, width float64) []float64 {
	mirror := make([]Span, len(spans))
	for i, s := range spans {
		mirror[len(spans)-1-i] = Span{-s.Hi, -s.Lo}
	}
	lows := Fewest(mirror, width)
	slices.Reverse(lows)
	for i, e := range lows {
		lows[i] = -e - width
	}
	return lows
}

// covers reports whether intervals of a width with these lower ends, in order,
// cover the spans.
func covers(lows []float64, spans []Span, width float64) bool {
	k := 0
	for _, s := range spans {
		for at := s.Lo; ; k++ {
			for k < len(lows) && lows[k]+width < at {
				k++
			}
			if k == len(lows) || lows[k] > at {
				return false
			}
			if at = lows[k] + width; at >= s.Hi {
				break
			}
		}
	}
	return true
}
