package touch

import (
	"math"

	"sagitta/internal/least"
	"sagitta/internal/surface"
)

// Zero is what a later round of touches says of the zero that it counts from, by places
// that were touched before as well.
type Zero struct {
	Verdict ZeroVerdict
	At      [2]float64 // the place that tells: the datum, or else the first in common; mm
	Common  int        // places in common
	// MM is how much higher places in common were read than before, and SureMM the
	// standard uncertainty of that.
	MM, SureMM float64
	// Against is where the places in common but the datum, three or more, agree that the
	// datum is off, and AgainstMM by how much they were read too high still.
	Against   []surface.Point
	AgainstMM float64
}

// ZeroVerdict is what is made of a round's zero.
type ZeroVerdict uint8

const (
	// Apart is a round without a place in common: it is taken to count from the same zero.
	Apart ZeroVerdict = iota
	// Same is one whose places in common differ by no more than chance.
	Same
	// ByDatum is one that was moved so that the datum agrees.
	ByDatum
	// ByPlaces is one that was moved so that other places agree, two or more that bear
	// each other out.
	ByPlaces
	// Unclear is one whose places in common differ by more than chance where none of them
	// is the datum and they do not bear each other out: it is taken to count from the
	// same zero.
	Unclear
)

// leastAgainst places contradict the datum.
const leastAgainst = 3

// Rounds are rounds of touches, counted from one zero.
type Rounds struct {
	Touches [][]surface.Point
	Zeros   []Zero // of each round but the first
	// Agreed are places that were found alike in two rounds or more.
	Agreed []surface.Point
	// Disputed are those that two rounds differ about by more than touches scatter.
	Disputed []Dispute
}

// Dispute is a place that two rounds differ about. Heights are medians.
type Dispute struct {
	Earlier, Later     []surface.Point
	EarlierMM, LaterMM float64
}

// Level has rounds of touches, with lines that go on from one to the next, count from one
// zero: that of the first, which has touches. Heights count from the datum, so that where a round touched it, it
// settles the round's zero; datum is its place where that is known, else it is where
// rounds begin. noiseMM is the standard deviation of a touch, 0 where that is not known,
// and resolutionMM the last decimal of heights. It changes the heights of touches.
func Level(touches [][]surface.Point, datum *surface.Point, noiseMM, resolutionMM float64) *Rounds {
	r := &Rounds{Touches: touches}
	noise := strayMM
	for _, p := range touches {
		if len(p) > 0 {
			noise = min(noise, touchNoise(p, noiseMM, fitOthers(p, 0, len(p)-1)))
		}
	}
	// A touch is known no better than it was written down.
	noise = max(noise, resolutionMM/math.Sqrt(12))
	scatters := max(strayMM, strayFactor*noise)
	var before []surface.Point
	for k, p := range touches {
		if k > 0 {
			at := datum
			if at == nil && len(p) > 0 && SamePlace(p[0], before[0]) {
				at = &before[0]
			}
			z := zeroOf(inCommon(before, p), at, noise, scatters)
			if z.Verdict == ByDatum || z.Verdict == ByPlaces {
				for i := range p {
					p[i].Z -= z.MM
				}
			}
			r.Zeros = append(r.Zeros, z)
			r.compare(inCommon(before, p), scatters)
		}
		before = append(before, p...)
	}
	return r
}

// inCommon are the places of later touches that earlier ones, of smaller lines, touched
// as well.
func inCommon(earlier, later []surface.Point) (common []Dispute) {
	last := 0
	for _, p := range earlier {
		last = max(last, p.Line)
	}
	for _, g := range group(append(earlier[:len(earlier):len(earlier)], later...)) {
		n := 0
		for n < len(g) && g[n].Line <= last {
			n++
		}
		if n > 0 && n < len(g) {
			common = append(common, Dispute{g[:n], g[n:], middle(g[:n]), middle(g[n:])})
		}
	}
	return common
}

// OffMM is how much higher the later touches are.
func (d *Dispute) OffMM() float64 { return d.LaterMM - d.EarlierMM }

// sure is the standard uncertainty of that.
func (d *Dispute) sure(noise float64) float64 {
	return noise * math.Sqrt(1/float64(len(d.Earlier))+1/float64(len(d.Later)))
}

// zeroOf judges the zero of a round by the places that it has in common with earlier
// ones; datum is nil where it is not known.
func zeroOf(common []Dispute, datum *surface.Point, noise, scatters float64) Zero {
	z := Zero{Common: len(common)}
	if len(common) == 0 {
		return z
	}
	// More than a slip can be is another zero, however little is known of the noise.
	chance := func() bool { return math.Abs(z.MM) <= min(byChance*z.SureMM, noSlipMM) }
	var off []float64
	var places []surface.Point
	tells := -1
	for k := range common {
		p := common[k].Earlier[0]
		if datum != nil && SamePlace(p, *datum) {
			tells = k
			continue
		}
		off, places = append(off, common[k].OffMM()), append(places, p)
	}
	if tells >= 0 {
		d := &common[tells]
		z.At, z.MM, z.SureMM = [2]float64{d.Earlier[0].X, d.Earlier[0].Y}, d.OffMM(), d.sure(noise)
		z.Verdict = ByDatum
		moved := z.MM
		if chance() {
			z.Verdict, moved = Same, 0
		}
		if m, ok := bornOut(off, scatters); ok && len(off) >= leastAgainst && math.Abs(m-moved) > scatters {
			z.Against, z.AgainstMM = places, m-moved
		}
		return z
	}
	m, ok := bornOut(off, scatters)
	z.At, z.MM, z.SureMM = [2]float64{places[0].X, places[0].Y}, m, common[0].sure(noise)/math.Sqrt(float64(len(off)))
	switch {
	case len(off) == 1 && math.Abs(m) <= noSlipMM, ok && chance():
		z.Verdict = Same
	case ok && len(off) > 1:
		z.Verdict = ByPlaces
	default:
		z.Verdict = Unclear
	}
	return z
}

// bornOut is the median of differences, and reports whether more than half of them, all
// of two, are no further off it than touches scatter.
func bornOut(off []float64, scatters float64) (mm float64, ok bool) {
	if len(off) == 0 {
		return 0, false
	}
	mm = least.Median(off)
	near := 0
	for _, v := range off {
		if math.Abs(v-mm) <= scatters {
			near++
		}
	}
	return mm, 2*near > len(off)
}

// compare notes what a round found where others touched before.
func (r *Rounds) compare(common []Dispute, scatters float64) {
	for _, d := range common {
		if math.Abs(d.OffMM()) > scatters {
			r.Disputed = append(r.Disputed, d)
		} else {
			r.Agreed = append(r.Agreed, d.Earlier[0])
		}
	}
}
