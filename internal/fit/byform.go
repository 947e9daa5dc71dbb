package fit

import (
	"fmt"
	"math"
	"slices"

	"sagitta/internal/least"
	"sagitta/internal/phrase"
	"sagitta/internal/surface"
)

const (
	// formSpare times its parameters is the least number of touches that a form
	// judges: fewer hug it, good and bad.
	formSpare = 3
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
	// formStarts find the better half of the points where a third is bad.
	formStarts = 60
	// formRounds end the descent to a robust form.
	formRounds = 6
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
	start := startOf(det.points, det.spared)
	spread := map[string]float64{}
	for _, name := range []string{"plane", "cylinder", "cone", "sphere"} {
		if name == "cone" && !(spread["cylinder"] < roundClear*spread["plane"]) {
			continue // no round lies there
		}
		if n < formSpare*formOf(name).parameters {
			continue
		}
		d, sd, err := robustForm(name, det.points, start)
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
		if math.Abs(off[k]) > max(outlierMM, factor*best) && det.rim(k, det.around(k, -1, localCount)) {
			factor *= rimFactor // a corner may be bent
		}
		bad[k] = det.spared[k] || math.Abs(off[k]) > max(outlierMM, factor*best)
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
		if math.Abs(v) > max(looksPart*outlierMM, flagFactor*best) {
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

// startOf gives weights to begin a robust fit with: none to points that are far off the
// quadric, or the plane where there are few, on which the better half agree. Those that
// are spared have none.
func startOf(points []surface.Point, spared []bool) []float64 {
	f := newFrame(points)
	terms := 6
	if len(points) < formSpare*terms {
		terms = 3
	}
	t := least.NewTrimmer(terms)
	var at []int
	for k := range points {
		if spared == nil || !spared[k] {
			row := quadratic(f.x[k], f.y[k])
			t.Add(f.z[k], row[:]...)
			at = append(at, k)
		}
	}
	s, err := t.Fit(formStarts)
	if err != nil {
		return nil
	}
	w := make([]float64, len(points))
	for m, k := range at {
		if !s.Out[m] {
			w[k] = 1
		}
	}
	return w
}

// robustForm fits a form robustly, and returns its residuals and their robust standard
// deviation.
func robustForm(name string, points []surface.Point, w []float64) (residuals []float64, sd float64, err error) {
	r, d, err := robustFit(name, points, w)
	if err != nil {
		return nil, 0, err
	}
	return d, scatterAbout(d, len(r.p)), nil
}

// robustFit fits a form, first with weights, nil for none, while points far off it
// count less and less.
func robustFit(name string, points []surface.Point, w []float64) (r *Fitted, residuals []float64, err error) {
	for round := 0; ; round++ {
		if r, err = fitForm(name, points, w, r); err != nil {
			return nil, nil, err
		}
		d := r.residuals(points)
		sd := scatterAbout(d, len(r.p))
		if round == formRounds || sd == 0 {
			return r, d, nil
		}
		w = make([]float64, len(d))
		least.Tukey(w, d, sd)
	}
}

// scatterAbout is the robust standard deviation of residuals about a number of parameters:
// points spent on those are not there to scatter.
func scatterAbout(d []float64, parameters int) float64 {
	return least.Scatter(d) * math.Sqrt(float64(len(d))/float64(max(len(d)-parameters, 1)))
}

// unborne says why a form does not bear the points: some that are side by side are off
// it the same way by far more than the others scatter, which no slip does. So is a smooth
// surface that passes over them; it is looked at where a form before it does not bear
// them either, and there is a grid that does. It is "" where the points are borne, as by a
// grid they are.
func unborne(points []surface.Point, grid *surface.Surface, name string, before []Candidate) string {
	if len(points) < outlierLeast {
		return "" // too few to tell
	}
	var off []float64
	limit := 0.0
	switch few := thinOut(points, formMost); {
	case formOf(name) != nil && len(points) >= formSpare*formOf(name).parameters:
		r, d, err := robustFit(name, few, startOf(few, nil))
		if err != nil {
			return ""
		}
		off, limit = r.residuals(points), scatterAbout(d, len(r.p))
	case name == "smooth" && grid != nil && len(points) <= formMost && slices.ContainsFunc(before, func(c Candidate) bool { return c.Unborne }):
		r, err := FitSmooth(points)
		if err != nil {
			return ""
		}
		for _, p := range points {
			off = append(off, p.Z-r.At(p.X, p.Y))
		}
		limit = least.Scatter(off)
	default:
		return ""
	}
	limit = max(outlierMM, outlierFactor*fewFactor(len(points))*limit)
	gone, count := make([]bool, len(points)), 0
	for k, off := range off {
		if math.Abs(off) > limit {
			gone[k] = true
			count++
		}
	}
	if count < 2 {
		return ""
	}
	det := &detector{off: off, local: &local{Places: placesOf(points), points: points, gone: gone}, spared: make([]bool, len(points))}
	count, most := 0, 0.0
	for _, g := range det.groups() {
		for _, k := range g {
			if count++; math.Abs(det.off[k]) > math.Abs(most) {
				most = det.off[k]
			}
		}
	}
	if count == 0 {
		return ""
	}
	return fmt.Sprintf("%s side by side off it, by up to %s mm", phrase.Count(count, "touch"), phrase.Signed(most, 3))
}
