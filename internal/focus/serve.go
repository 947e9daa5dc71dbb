package focus

import "math"

// Served are burns that one focus is to serve: the heights that they see, each moved by what is
// wanted of their defocus, and their depth. Over a height h such a focus f leaves a defocus of
// f - h.
type Served struct {
	Low, High float64
	Depth
}

// Best is the focus that spends the least part at most of any depth: that of which sides are
// spent alike where there is one. What is spent nearer falls in a straight line with the focus,
// and what is spent further rises; so the least of the greatest is where two of these lines
// meet, and of all such places it is that where they meet highest.
func Best(all []Served) float64 {
	best, most := 0.0, math.Inf(-1)
	for _, i := range all {
		for _, k := range all {
			if part := (i.High - k.Low) / (i.Near + k.Far); part > most {
				best, most = (i.High*k.Far+k.Low*i.Near)/(i.Near+k.Far), part
			}
		}
	}
	return best
}

// PartAt is the greatest part of any depth that a focus spends.
func PartAt(all []Served, at float64) float64 {
	most := math.Inf(-1)
	for _, k := range all {
		most = max(most, (k.High-at)/k.Near, (at-k.Low)/k.Far)
	}
	return most
}
