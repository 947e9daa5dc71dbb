// Package sift finds touches that those around them contradict, groups of them that bear
// each other out, and heights that look written down in wrong places. Lengths are in mm.
package sift

import (
	"fmt"
	"math"

	"sagitta/internal/fit/layout"
	"sagitta/internal/least"
	"sagitta/internal/surface"
)

const (
	// outlierFactor times the scatter around it is too far for a touch. Of
	// a hundred thousand good touches with normal scatter none is beyond
	// five times; six leaves room for surfaces that are not quite quadrics.
	outlierFactor = 6
	// LeastMM is what no touch is thrown away for: a tenth of a short
	// lens's depth.
	LeastMM = 0.1
	// outlierRest times the worst residual around it but one: where others
	// stand out nearly as much, as along a rim or a fold, it is the shape.
	outlierRest = 5
	// rimFactor is how much further off a touch must be at the rim, where a
	// bend that goes on looks like a slip.
	rimFactor = 2
	// doubtFactor and doubtRest take the place of outlierFactor and outlierRest for a
	// touch that is kept but doubted: of good touches on sheets, bows, domes, waves,
	// ridges and rims that were drawn one in several thousand is.
	doubtFactor, doubtRest = 5, 1.5
	// outlierPart is the part of the touches that may be bad. Beyond it,
	// either something else is wrong, or the surface is not what it seems.
	outlierPart = 0.15
	// outlierLeast touches are needed to tell a bad one from a bend.
	outlierLeast = 10
)

// LeftOut is a touch that was left out, mm.
type LeftOut struct {
	surface.Point
	OffMM      float64 // its height over what the others lead to
	ExpectedMM float64 // that height
	WithinMM   float64 // as near to that it would not have been left out
	Stray      bool    // its own repeats agree against it
	Again      bool    // stray, and what those around bear out was found there in another file
}

// Sifted is what became of touches.
type Sifted struct {
	Good []surface.Point // kept, those of steps included
	Bad  []LeftOut
	// Doubted are kept: they are off, but not so far that they were sure to be bad.
	Doubted []LeftOut
	// Steps are groups of touches that those around contradict, but that bear each
	// other out.
	Steps []Step
}

// Outliers parts the touches from those that the ones around them contradict.
func Outliers(points []surface.Point) (good []surface.Point, bad []LeftOut, err error) {
	s, err := Sift(points, nil)
	if err != nil {
		return nil, nil, err
	}
	return s.Good, s.Bad, nil
}

// Sift parts the touches from those that the ones around them contradict: each is
// predicted by what the better half of its neighbours agree on, and its residual held
// against the scatter of residuals everywhere and around it, so that neither slope nor
// bend nor rim makes a good touch bad. A form that predicts the touches better than
// their neighbours do judges in their place. What is off the same way as a touch beside
// it is no slip, but may be a step. Fewer than ten touches cannot be judged. Those that
// are spared, nil for none, are neither left out nor judges.
func Sift(points []surface.Point, spared []bool) (*Sifted, error) {
	free, _ := layout.Part(points, func(k int) bool { return spared == nil || !spared[k] })
	if len(free) < outlierLeast || layout.OnLine(free) {
		return &Sifted{Good: points}, nil
	}
	return newDetector(points, spared, len(points) > agreedAll).sift()
}

func (det *detector) sift() (*Sifted, error) {
	if !det.byForm() {
		det.byNeighbours()
	}
	s := &Sifted{}
	var judges []surface.Point // of ledges
	for _, k := range det.doubted() {
		s.Doubted = append(s.Doubted, det.leftOut(k))
	}
	s.Steps = det.steps()
	out := 0
	for k, p := range det.points {
		if !det.gone[k] || det.spared[k] {
			s.Good = append(s.Good, p)
			if !det.spared[k] {
				judges = append(judges, p)
			}
			continue
		}
		out++
		s.Bad = append(s.Bad, det.leftOut(k))
	}
	if n := len(det.points); out > outlierLimit(n) {
		return nil, fmt.Errorf("%d of %d touches are contradicted by those around them: too many to leave out", out, n)
	}
	s.Steps = append(s.Steps, ledges(judges, s.Steps)...)
	return s, nil
}

func (det *detector) leftOut(k int) LeftOut {
	p := det.points[k]
	return LeftOut{Point: p, OffMM: det.off[k], ExpectedMM: p.Z - det.off[k], WithinMM: LeastMM}
}

// outlierLimit is how many of n touches may be bad.
func outlierLimit(n int) int { return max(1, int(outlierPart*float64(n))) }

// detector carries the residuals: off in mm, t in standard units.
type detector struct {
	*local
	spared  []bool
	off, t  []float64
	scale   float64
	flagged []float64 // 1 or -1 where it looked off at first, up or down
	// form is the scatter about the form that judges, 0 where neighbours do.
	form float64
}

// newDetector works out the residuals of points, at a glance where that will do.
func newDetector(points []surface.Point, spared []bool, glance bool) *detector {
	if spared == nil {
		spared = make([]bool, len(points))
	}
	det := &detector{local: newLocal(points), spared: spared, t: make([]float64, len(points)), off: make([]float64, len(points)),
		flagged: make([]float64, len(points))}
	copy(det.gone, spared)
	for _, block := range det.Blocks(glanced) { // one beside the other, as they lie in memory
		if glance && det.quiet(block) {
			continue
		}
		for _, k := range block {
			det.measure(int(k))
		}
	}
	det.rescale()
	return det
}

// measure works out the residuals of point k.
func (det *detector) measure(k int) {
	z, wide, ok := det.predict(k, -1)
	det.off[k], det.t[k] = 0, 0
	if ok {
		det.off[k] = det.points[k].Z - z
		det.t[k] = det.off[k] / wide
	}
}

// rescale works out the scatter of residuals of the points that are not gone.
func (det *detector) rescale() {
	t := make([]float64, 0, len(det.t))
	for k, v := range det.t {
		if !det.gone[k] {
			t = append(t, v)
		}
	}
	det.scale = least.Scatter(t)
}

// fewFactor widens the limit where the scatter itself is known from a few
// touches only.
func fewFactor(n int) float64 { return 1 + 15/float64(n) }

// stands reports whether point k, which is gone, is further off than the scatter of the
// residuals around it explains: a rim or a fold is scatter.
func (det *detector) stands(k int) bool {
	more := fewFactor(len(det.points))
	if det.rim(k, det.around(k, -1, localCount)) {
		more *= rimFactor
	}
	return det.beyond(k, more*outlierFactor, more*outlierRest)
}

// beyond reports whether point k, which is gone, is further off than a factor times the
// scatter of the residuals everywhere and around it, and than rest times the worst but
// one of those.
func (det *detector) beyond(k int, factor, rest float64) bool {
	if !(math.Abs(det.off[k]) > LeastMM && math.Abs(det.t[k]) > factor*det.scale) {
		return false
	}
	around := det.around(k, -1, localCount)
	var of [localCount]float64
	nearby := of[:0]
	for _, m := range around {
		nearby = append(nearby, det.t[m])
	}
	return math.Abs(det.t[k]) > max(factor*det.scale, factor*least.Scatter(nearby), rest*secondOf(nearby))
}

// secondOf returns the second largest absolute value: one neighbour may be
// bad as well.
func secondOf(d []float64) (second float64) {
	first := 0.0
	for _, v := range d {
		v = math.Abs(v)
		second = max(second, min(v, first))
		first = max(first, v)
	}
	return second
}
