package sift

import (
	"cmp"
	"math"
	"slices"
)

const (
	// agreedAll is how many points are all held to what the better half of those
	// around agree on; of more, those that look off.
	agreedAll = 2000
	// looksOff is how far off, in standard units and as a part of what no touch is
	// thrown away for, a point is looked at.
	looksOff, looksPart = 2.5, 0.5
	// flagFactor times the scatter is far enough off to be left out at first.
	flagFactor = 4
	// flaggedPart is the greatest part of the points that is.
	flaggedPart = 0.3
	// sifting bounds the rounds in which some are left out and taken back.
	sifting = 6
)

// byNeighbours leaves out at once all points that the better half of those around them
// contradict, so that none of them hides another, and takes those back that the rest
// does not contradict any more. It ends where nothing changes.
func (det *detector) byNeighbours() {
	flagged := det.flag()
	for _, k := range flagged {
		det.gone[k] = true
	}
	touched := det.affected(flagged)
	taken := make([]bool, len(det.points)) // back: for good
	for range sifting {
		for _, k := range touched {
			det.measure(k)
		}
		det.rescale()
		var changed []int
		for k := range det.points {
			switch {
			case det.spared[k] || taken[k]:
			case det.gone[k]:
				if !det.stands(k) {
					changed = append(changed, k)
				}
			case math.Abs(det.off[k]) > LeastMM && math.Abs(det.t[k]) > outlierFactor*det.scale:
				if det.without(k, func() bool { return det.stands(k) }) {
					changed = append(changed, k)
				}
			}
		}
		if len(changed) == 0 {
			break
		}
		for _, k := range changed {
			taken[k] = det.gone[k]
			det.gone[k] = !det.gone[k]
		}
		touched = det.affected(changed)
	}
}

// flag returns the points that those around contradict, worst first.
func (det *detector) flag() []int {
	n := len(det.points)
	looksOff := func(k int) bool {
		return n <= agreedAll || math.Abs(det.off[k]) > looksPart*LeastMM && math.Abs(det.t[k]) > looksOff*det.scale
	}
	var flagged []int
	far := make([]float64, n)
	for k := range far {
		if det.spared[k] || !looksOff(k) {
			continue
		}
		z, wide, scatter, ok := det.agreed(k)
		if !ok {
			continue
		}
		off := det.points[k].Z - z
		far[k] = math.Abs(off) / wide / max(scatter, det.scale)
		if math.Abs(off) > LeastMM && far[k] > flagFactor {
			flagged = append(flagged, k)
			det.flagged[k] = math.Copysign(1, off)
		}
	}
	slices.SortStableFunc(flagged, func(a, b int) int { return cmp.Compare(far[b], far[a]) })
	return flagged[:min(len(flagged), int(flaggedPart*float64(n)))]
}

// affected gives some points and all that they help to predict, each once.
func (det *detector) affected(some []int) []int {
	seen := make([]bool, len(det.points))
	for _, k := range some {
		seen[k] = true
		for _, m := range det.Nearest(k) {
			seen[m] = true
		}
	}
	var all []int
	for k, s := range seen {
		if s {
			all = append(all, k)
		}
	}
	return all
}

// without looks at a point that is not gone yet, by the residuals without it, and
// without those beside it that looked off the same way: they may be its fellows.
func (det *detector) without(k int, look func() bool) bool {
	out := []int{k}
	for _, m := range det.Beside(k) {
		if !det.gone[m] && det.flagged[k]*det.flagged[m] > 0 {
			out = append(out, int(m))
		}
	}
	for _, m := range out {
		det.gone[m] = true
	}
	around := append(slices.Clone(det.around(k, -1, localCount)), int32(k))
	was := make([][2]float64, len(around))
	for i, m := range around {
		was[i] = [2]float64{det.off[m], det.t[m]}
		det.measure(int(m))
	}
	is := look()
	for i, m := range around {
		det.off[m], det.t[m] = was[i][0], was[i][1]
	}
	for _, m := range out {
		det.gone[m] = false
	}
	return is
}

// doubtRounds bound the search for doubted points among those that others hid.
const doubtRounds = 3

// doubted returns the points that are kept, but are off.
func (det *detector) doubted() (some []int) {
	few := fewFactor(len(det.off))
	for k, off := range det.off {
		if det.form > 0 && !det.gone[k] && math.Abs(off) > max(LeastMM, doubtFactor*few*det.form) {
			some = append(some, k)
		}
	}
	if det.form > 0 {
		return some
	}
	for from, round := 0, 0; round < doubtRounds; round++ {
		for k, off := range det.off {
			if !det.gone[k] && (det.flagged[k] != 0 || math.Abs(off) > LeastMM && math.Abs(det.t[k]) > doubtFactor*few*det.scale) &&
				det.without(k, func() bool { return det.beyond(k, doubtFactor*few, doubtRest*few) }) {
				some = append(some, k)
			}
		}
		if from == len(some) {
			break
		}
		for _, k := range some[from:] {
			det.gone[k] = true
		}
		for _, k := range det.affected(some[from:]) {
			det.measure(k)
		}
		det.rescale()
		from = len(some)
	}
	for _, k := range some {
		det.gone[k] = false
	}
	return some
}
