package cover

import (
	"math"
	"sort"
)

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
