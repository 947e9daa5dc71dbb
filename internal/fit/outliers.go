package fit

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"sagitta/internal/least"
	"sagitta/internal/surface"
)

const (
	// outlierFactor times the scatter around it is too far for a touch. Of
	// a hundred thousand good touches with normal scatter none is beyond
	// five times; six leaves room for surfaces that are not quite quadrics.
	outlierFactor = 6
	// outlierMM is what no touch is thrown away for: a tenth of a short
	// lens's depth.
	outlierMM = 0.1
	// outlierRest times the worst residual around it but one: where others
	// stand out nearly as much, as along a rim or a fold, it is the shape.
	outlierRest = 5
	// rimFactor is how much further off a touch must be at the rim, where a
	// bend that goes on looks like a slip.
	rimFactor = 2
	// outlierPart is the part of the touches that may be bad. Beyond it,
	// either something else is wrong, or the surface is not what it seems.
	outlierPart = 0.1
	// outlierLeast touches are needed to tell a bad one from a bend.
	outlierLeast = 10
	// formClear is how much better than the points around it a form must
	// predict the touches to be the judge of them.
	formClear = 0.7
)

// LeftOut is a touch that was left out, mm.
type LeftOut struct {
	surface.Point
	OffMM      float64 // its height over what the others lead to
	ExpectedMM float64 // that height
	WithinMM   float64 // as near to that it would not have been left out
	Stray      bool    // its own repeats agree against it
}

// Outliers parts the touches from those that the ones around them contradict:
// each is predicted by a robust quadric through its neighbours, and its residual
// held against the scatter of residuals everywhere and around it, so that neither
// slope nor bend nor rim makes a good touch bad. A form that predicts the touches
// better than their neighbours do judges in their place. Fewer than ten touches
// cannot be judged.
func Outliers(points []surface.Point) (good []surface.Point, bad []LeftOut, err error) {
	if len(points) < outlierLeast || onLine(points) {
		return points, nil, nil
	}
	det := newDetector(points)
	if !det.byForm() {
		det.byNeighbours()
	}
	good, out := parted(points, func(k int) bool { return !det.gone[k] })
	if len(out) > outlierLimit(len(points)) {
		return nil, nil, fmt.Errorf("%d of %d touches are contradicted by those around them: too many to leave out", len(out), len(points))
	}
	for k, p := range points {
		if det.gone[k] {
			bad = append(bad, LeftOut{Point: p, OffMM: det.off[k], ExpectedMM: p.Z - det.off[k], WithinMM: outlierMM})
		}
	}
	return good, bad, nil
}

// outlierLimit is how many of n touches may be bad.
func outlierLimit(n int) int { return max(1, int(outlierPart*float64(n))) }

// detector carries the residuals: off in mm, t in standard units.
type detector struct {
	*local
	off, t []float64
	scale  float64
}

func newDetector(points []surface.Point) *detector {
	det := &detector{local: newLocal(points), t: make([]float64, len(points)), off: make([]float64, len(points))}
	for k := range points {
		det.measure(k)
	}
	det.scale = least.Scatter(det.t)
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

// suspect reports whether point k is far off.
func (det *detector) suspect(k int) bool {
	return math.Abs(det.off[k]) > outlierMM && math.Abs(det.t[k]) > outlierFactor*det.scale
}

// byNeighbours takes the worst touch out, looks again at those around it, and so on.
func (det *detector) byNeighbours() {
	var out []int
	judged := make([]bool, len(det.points))
	for len(out) <= outlierLimit(len(det.points)) {
		worst := -1
		for k, t := range det.t {
			if det.suspect(k) && !det.gone[k] && !judged[k] && (worst < 0 || math.Abs(t) > math.Abs(det.t[worst])) {
				worst = k
			}
		}
		if worst < 0 {
			break
		}
		judged[worst] = true
		around := det.around(worst, -1, localCount)
		var nearby []float64
		for _, k := range around {
			if z, wide, ok := det.predict(k, worst); ok {
				nearby = append(nearby, (det.points[k].Z-z)/wide)
			}
		}
		// The scatter around it, without it: a rim or a step is scatter.
		factor := fewFactor(len(det.points))
		if det.rim(worst, around) {
			factor *= rimFactor
		}
		if math.Abs(det.t[worst]) <= factor*outlierFactor*max(det.scale, least.Scatter(nearby), secondOf(nearby)*outlierRest/outlierFactor) {
			continue
		}
		out = append(out, worst)
		det.gone[worst] = true
		for _, k := range around {
			det.measure(k)
			judged[k] = false
		}
	}
	det.scale = least.Scatter(det.t)
	det.pardon(out)
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

// pardon takes those back that were blamed for a neighbour: once all the
// others are out, they agree with what is left.
func (det *detector) pardon(out []int) {
	slices.SortFunc(out, func(a, b int) int { return cmp.Compare(math.Abs(det.off[a]), math.Abs(det.off[b])) })
	for _, k := range out {
		det.measure(k)
		det.gone[k] = det.suspect(k)
	}
}

// formSpare times its parameters is the least number of touches that a form
// judges: fewer hug it, good and bad.
const formSpare = 3

// formMost is how many points a form is tried on.
const formMost = 2000

// byForm judges by a simple form, and reports whether one predicts the touches
// better than their neighbours do.
func (det *detector) byForm() bool {
	n := len(det.points)
	if n > formMost {
		return false // so many that the neighbours tell
	}
	best := det.scale * formClear
	var off []float64
	spread := map[string]float64{}
	for _, name := range []string{"plane", "cylinder", "cone", "sphere"} {
		if name == "cone" && !(spread["cylinder"] < formClear*spread["plane"]) {
			continue // no round lies there
		}
		if n < formSpare*formOf(name).parameters {
			continue
		}
		d, sd, err := robustForm(name, det.points)
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
		bad[k] = math.Abs(off[k]) > max(outlierMM, outlierFactor*fewFactor(n)*best)
	}
	for k := range bad {
		if !bad[k] {
			continue
		}
		// Touches off the form next to each other are a shape, not slips.
		fellows := 0
		for _, m := range det.around(k, -1, 4) {
			if bad[m] && off[m]*off[k] > 0 {
				fellows++
			}
		}
		if fellows > 1 {
			return false
		}
	}
	det.off, det.gone = off, bad
	return true
}

// fewFactor widens the limit where the scatter itself is known from a few
// touches only.
func fewFactor(n int) float64 { return 1 + 15/float64(n) }
