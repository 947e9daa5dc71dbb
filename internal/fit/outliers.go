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
	// rimFactor is how much further off a touch must be at the rim of what
	// was touched, where there are neighbours on one side only and a bend
	// that goes on looks like a slip.
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

// Outlier is a touch that those around it contradict.
type Outlier struct {
	Index      int     // of the point
	OffMM      float64 // its height over what the others lead to
	ExpectedMM float64 // that height
}

// Outliers finds the touches that those around them contradict: each is
// predicted by a robust quadric through its neighbours, itself left out, and
// its residual held against the scatter of residuals everywhere and around
// it. So neither slope nor bend makes a good touch bad, nor does a rim,
// where neighbours are off as well. On a plane, cylinder, cone or sphere
// that predicts the touches better than their neighbours do, that form is
// the judge. Fewer than ten touches cannot be judged.
func Outliers(points []surface.Point) ([]Outlier, error) {
	if len(points) < outlierLeast || onLine(points) {
		return nil, nil
	}
	j := newJudge(points)
	out := j.byForm()
	if out == nil {
		out = j.byNeighbours()
	}
	slices.SortFunc(out, func(a, b Outlier) int { return a.Index - b.Index })
	if len(out) > outlierLimit(len(points)) {
		return nil, fmt.Errorf("%d of %d touches are contradicted by those around them: too many to leave out", len(out), len(points))
	}
	return out, nil
}

// outlierLimit is how many of n touches may be bad.
func outlierLimit(n int) int { return max(1, int(outlierPart*float64(n))) }

// judge carries the residuals: off in mm, t in standard units.
type judge struct {
	*local
	off, t []float64
	scale  float64
}

func newJudge(points []surface.Point) *judge {
	j := &judge{local: newLocal(points), t: make([]float64, len(points)), off: make([]float64, len(points))}
	for k := range points {
		j.measure(k)
	}
	j.scale = least.Scatter(j.t)
	return j
}

// measure works out the residuals of point k.
func (j *judge) measure(k int) {
	z, wide, ok := j.predict(k, -1)
	j.off[k], j.t[k] = 0, 0
	if ok {
		j.off[k] = j.points[k].Z - z
		j.t[k] = j.off[k] / wide
	}
}

// suspect reports whether point k is far off.
func (j *judge) suspect(k int) bool {
	return math.Abs(j.off[k]) > outlierMM && math.Abs(j.t[k]) > outlierFactor*j.scale
}

func (j *judge) outlier(k int) Outlier {
	return Outlier{Index: k, OffMM: j.off[k], ExpectedMM: j.points[k].Z - j.off[k]}
}

// byNeighbours takes the worst touch out, looks again at those around it, and so on.
func (j *judge) byNeighbours() (out []Outlier) {
	open := map[int]bool{} // those suspected
	look := func(k int) {
		if j.suspect(k) && !j.gone[k] {
			open[k] = true
		} else {
			delete(open, k)
		}
	}
	for k := range j.points {
		look(k)
	}
	for len(open) > 0 && len(out) <= outlierLimit(len(j.points)) {
		worst := -1
		for k := range open {
			if worst < 0 || math.Abs(j.t[k]) > math.Abs(j.t[worst]) || math.Abs(j.t[k]) == math.Abs(j.t[worst]) && k < worst {
				worst = k
			}
		}
		delete(open, worst)
		around := j.around(worst, -1, localCount)
		var nearby []float64
		for _, k := range around {
			if z, wide, ok := j.predict(k, worst); ok {
				nearby = append(nearby, (j.points[k].Z-z)/wide)
			}
		}
		// The scatter around it, without it: a rim or a step is scatter.
		factor := fewFactor(len(j.points))
		if j.rim(worst, around) {
			factor *= rimFactor
		}
		if math.Abs(j.t[worst]) <= factor*outlierFactor*max(j.scale, least.Scatter(nearby), secondOf(nearby)*outlierRest/outlierFactor) {
			continue
		}
		out = append(out, j.outlier(worst))
		j.gone[worst] = true
		for _, k := range around {
			j.measure(k)
			look(k)
		}
	}
	j.scale = least.Scatter(j.t)
	return j.pardon(out)
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
func (j *judge) pardon(out []Outlier) []Outlier {
	slices.SortFunc(out, func(a, b Outlier) int { return cmp.Compare(math.Abs(a.OffMM), math.Abs(b.OffMM)) })
	kept := out[:0]
	for _, o := range out {
		j.measure(o.Index)
		if j.suspect(o.Index) {
			kept = append(kept, j.outlier(o.Index))
		} else {
			j.gone[o.Index] = false
		}
	}
	return kept
}

// formSpare times its parameters is the least number of touches that a form
// judges: fewer hug it, good and bad.
const formSpare = 3

// formMost is how many points a form is tried on.
const formMost = 2000

// byForm judges by a simple form, where one predicts the touches better than
// their neighbours do; nil where none does.
func (j *judge) byForm() []Outlier {
	n := len(j.points)
	if n > formMost {
		return nil // so many that the neighbours tell
	}
	best := j.scale * formClear
	var off []float64
	spread := map[string]float64{}
	for _, name := range []string{"plane", "cylinder", "cone", "sphere"} {
		if name == "cone" && !(spread["cylinder"] < formClear*spread["plane"]) {
			continue // no round lies there
		}
		if n < formSpare*formOf(name).parameters {
			continue
		}
		d, sd, err := robustForm(name, j.points)
		spread[name] = sd
		if err == nil && sd < best {
			best, off = sd, d
		}
	}
	if off == nil {
		return nil
	}
	bad := func(k int) bool { return math.Abs(off[k]) > max(outlierMM, outlierFactor*fewFactor(n)*best) }
	out := []Outlier{}
	for k := range j.points {
		if !bad(k) {
			continue
		}
		// Touches off the form next to each other are a shape, not slips.
		fellows := 0
		for _, m := range j.around(k, -1, 4) {
			if bad(m) && off[m]*off[k] > 0 {
				fellows++
			}
		}
		if fellows > 1 {
			return nil
		}
		out = append(out, Outlier{Index: k, OffMM: off[k], ExpectedMM: j.points[k].Z - off[k]})
	}
	return out
}

// fewFactor widens the limit where the scatter itself is known from a few
// touches only.
func fewFactor(n int) float64 { return 1 + 15/float64(n) }
