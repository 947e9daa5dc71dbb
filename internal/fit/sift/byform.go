package sift

import (
	"math"

	"sagitta/internal/fit/form"
)

const (
	// formMost is how many points a form is tried on.
	formMost = 2000
	// formClear times the scatter of what the points around predict is the most by
	// which touches may scatter about a form that judges them: no worse than that, it
	// knows better at rims and corners.
	formClear = 1.1
	// roundClear times the scatter about a plane is that about a round that is one.
	roundClear = 0.7
	// formSteps is the greatest part of the points that may lie on steps of it.
	formSteps = 0.25
)

// byForm judges by a simple form, and reports whether one predicts the touches
// better than their neighbours do.
func (det *detector) byForm() bool {
	n := len(det.points)
	if n > formMost {
		return false // so many that the neighbours tell
	}
	best := det.scale * formClear
	var off []float64
	start := form.BetterHalf(det.points, det.spared)
	spread := map[string]float64{}
	for _, name := range []string{"plane", "cylinder", "cone", "sphere"} {
		if name == "cone" && !(spread["cylinder"] < roundClear*spread["plane"]) {
			continue // no round lies there
		}
		if n < form.Spare*form.Parameters(name) {
			continue
		}
		_, d, sd, err := form.Robust(name, det.points, start)
		spread[name] = sd
		if err == nil && sd < best {
			best, off = sd, d
		}
	}
	if off == nil {
		return false
	}
	bad := make([]bool, n)
	for k := range bad {
		factor := outlierFactor * fewFactor(n)
		if math.Abs(off[k]) > max(LeastMM, factor*best) && det.rim(k, det.around(k, -1, localCount)) {
			factor *= rimFactor // a corner may be bent
		}
		bad[k] = det.spared[k] || math.Abs(off[k]) > max(LeastMM, factor*best)
	}
	was, gone := det.off, det.gone
	det.off, det.gone = off, bad
	on, far := 0, 0
	for _, g := range det.groups() {
		on += len(g)
		if !det.abrupt(g) {
			on = n // the surface leaves the form little by little
		}
	}
	for _, v := range off {
		if math.Abs(v) > max(looksPart*LeastMM, flagFactor*best) {
			far++
		}
	}
	if float64(on) > formSteps*float64(n) || float64(far-on) > outlierPart*float64(n) {
		det.off, det.gone = was, gone
		return false
	}
	det.form = best
	return true
}
