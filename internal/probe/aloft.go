package probe

import (
	"math"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"
)

// Aloft is how high over the datum a touch tool travels, in mm. Nobody knows before the
// touches how level stock lies: the further from the datum a travel leads, the higher it
// is, in whole mm.
type Aloft struct {
	OverMM float64
	// PerMM is how much higher it is for each mm from the datum, 0 where the stock is known.
	PerMM float64
	// MostMM is the highest that the axis allows; OverMM is kept.
	MostMM float64
}

// OutOfLevel is how much stock may rise for each mm of the way from the datum because it
// does not lie level, besides its bow (common practice, no source).
const OutOfLevel = 0.01

// Level travels at one height.
func Level(overMM float64) Aloft { return Aloft{OverMM: overMM, MostMM: math.Inf(1)} }

// at is how high it is at a distance from the datum.
func (a Aloft) at(mm float64) float64 {
	return max(a.OverMM, min(a.OverMM+math.Floor(mm*a.PerMM), a.MostMM))
}

// way is how high the tool travels between two places: all the way as over the further.
func (p *Probing) way(a Aloft, from, to orb.Point) float64 {
	datum := p.Places[0]
	return a.at(max(planar.Distance(datum, from), planar.Distance(datum, to)))
}

// next is the place behind place k: the first, behind the last.
func (p *Probing) next(k int) orb.Point { return p.Places[(k+1)%len(p.Places)] }

// Highest is how high the tool travels at most.
func (p *Probing) Highest(a Aloft) float64 {
	most := a.OverMM
	for k, q := range p.Places {
		most = max(most, p.way(a, q, p.next(k)))
	}
	return most
}
