package cover

import (
	"math"
	"slices"
)

// Demand are heights that burns of one kind see, sorted and disjoint. A setting at f serves a
// height h for them where h + Low ≤ f ≤ h + High; Low is below High.
type Demand struct {
	Spans     []Span
	Low, High float64
}

// FewestFor gives the fewest settings that serve each height of all demands, lowest first, each
// as high as it may be; more than most are not made.
//
// That none are fewer, they show themselves as in Fewest: each is as high as the lowest height
// that none before serves lets it be, so no two of these heights share a setting (interval
// stabbing; Kleinberg and Tardos, Algorithm Design, 2005, chapter 4, from memory).
func FewestFor(demands []Demand, most int) (at []float64) {
	last := math.Inf(-1)
	for len(at) <= most {
		next := math.Inf(1)
		for k := range demands {
			d := &demands[k]
			if h, any := d.above(last - d.Low); any {
				next = min(next, h+d.High)
			}
		}
		if math.IsInf(next, 1) || !(next > last) { // else the depth is lost beside the heights
			break
		}
		at, last = append(at, next), next
	}
	return at
}

// above is the lowest height that there is above one.
func (d *Demand) above(h float64) (float64, bool) {
	for _, s := range d.Spans {
		if s.Hi > h || s.Hi == s.Lo && s.Lo > h {
			return max(s.Lo, h), true
		}
	}
	return 0, false
}

// Between are the heights of a demand, from the lowest to the highest, that neither a setting
// below nor one above serves but by rounding; false where there are none.
func (d *Demand) Between(below, above float64) (Span, bool) {
	in := Span{below - d.Low + rounding, above - d.High - rounding}
	if in.Lo > in.Hi {
		return Span{}, false
	}
	return Within(d.Spans, in)
}

// ServeAll reports whether settings, in order, serve each height of all demands.
func ServeAll(at []float64, demands []Demand) bool {
	for k := range demands {
		d := &demands[k]
		own := make([]Span, len(at))
		for i, f := range at {
			own[i] = Span{f - d.High, f - d.Low}
		}
		for _, s := range d.Spans {
			i := slices.IndexFunc(own, func(o Span) bool { return o.Hi >= s.Lo })
			for h := s.Lo; ; i++ {
				if i < 0 || i == len(own) || own[i].Lo > h {
					return false
				}
				if h = own[i].Hi; h >= s.Hi {
					break
				}
			}
		}
	}
	return true
}
