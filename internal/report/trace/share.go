package trace

import "math"

// bins is how many there are in a Share, and widest what they reach to either side, in
// parts of the depth.
const (
	bins   = 80
	widest = 2.0
)

// grace is by how much more than the depth is still within it, in mm: as far as a
// check knows.
const grace = 1e-6

// depth is what is usable of it, and the wanted defocus.
type depth struct{ near, far, defocus float64 }

// part is what a defocus is of the depth of its side.
func (d *depth) part(mm float64) float64 {
	if mm < 0 {
		return mm / d.near
	}
	return mm / d.far
}

// least is that of the lesser side.
func (d *depth) least() float64 { return min(d.near, d.far) }

// add takes a burn of a length, over which the defocus goes from one to another.
func (s *Share) add(d *depth, mm, from, to float64) {
	s.Total += mm
	n := 1
	if by := math.Abs(to - from); by > 0 {
		// Each is within half a bin.
		n = int(min(1+by/d.least()*bins/widest, 4*bins))
	}
	for i := range n {
		at := from + (to-from)*(float64(i)+0.5)/float64(n)
		if at >= -d.near-grace && at <= d.far+grace {
			s.Within += mm / float64(n)
		}
		k := int(min(max((d.part(at)+widest)*bins/(2*widest), 0), bins-1))
		s.MM[k] += mm / float64(n)
	}
}

// blank takes a burn without a height.
func (s *Share) blank(mm float64) { s.Total += mm }

func newShare() Share { return Share{MM: make([]float64, bins)} }
