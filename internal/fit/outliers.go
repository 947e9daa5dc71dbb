package fit

import (
	"cmp"
	"fmt"
	"math"
	"slices"
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
func Outliers(points []Point) ([]Outlier, error) {
	if len(points) < outlierLeast || onLine(points) {
		return nil, nil
	}
	l := &local{n: newNeighbours(points), gone: make([]bool, len(points))}
	j := &judge{l: l, t: make([]float64, len(points)), off: make([]float64, len(points))}
	j.measure()
	out := j.byForm(points)
	if out == nil {
		out = j.run()
	}
	slices.SortFunc(out, func(a, b Outlier) int { return a.Index - b.Index })
	if limit := max(1, int(outlierPart*float64(len(points)))); len(out) > limit {
		return nil, fmt.Errorf("%d of %d touches are contradicted by those around them: too many to leave out", len(out), len(points))
	}
	return out, nil
}

// judge carries the residuals: off in mm, t in standard units.
type judge struct {
	l      *local
	off, t []float64
	scale  float64
}

func (j *judge) measure() {
	for k := range j.t {
		j.one(int32(k))
	}
	j.scale = madFactor * medianAbs(j.t)
}

func (j *judge) one(k int32) {
	z, wide, ok := j.l.predict(k, -1)
	j.off[k], j.t[k] = 0, 0
	if ok {
		j.off[k] = j.l.n.points[k].Z - z
		j.t[k] = j.off[k] / wide
	}
}

// run takes the worst touch out, looks again at those around it, and so on.
func (j *judge) run() (out []Outlier) {
	points := j.l.n.points
	limit := max(1, int(outlierPart*float64(len(points))))
	suspect := func(k int) bool {
		return math.Abs(j.off[k]) > outlierMM && math.Abs(j.t[k]) > outlierFactor*j.scale && !j.l.gone[k]
	}
	var open []int
	for k := range points {
		if suspect(k) {
			open = append(open, k)
		}
	}
	cleared := make(map[int]bool)
	around := make([]found, 0, localCount)
	for len(out) <= limit {
		worst := -1
		for _, k := range open {
			if suspect(k) && !cleared[k] && (worst < 0 || math.Abs(j.t[k]) > math.Abs(j.t[worst])) {
				worst = k
			}
		}
		if worst < 0 {
			break
		}
		p := &points[worst]
		around = j.l.n.around(around, p.X, p.Y, localCount, func(m int32) bool { return int(m) == worst || j.l.gone[m] })
		nearby := make([]float64, 0, localCount)
		for _, f := range around {
			if z, wide, ok := j.l.predict(f.k, int32(worst)); ok {
				nearby = append(nearby, (points[f.k].Z-z)/wide)
			}
		}
		// The scatter around it, without it: a rim or a step is scatter.
		factor := fewFactor(len(points))
		if j.l.rim(p, around) {
			factor *= rimFactor
		}
		if math.Abs(j.t[worst]) <= factor*outlierFactor*max(j.scale, madFactor*medianAbs(nearby), secondOf(nearby)*outlierRest/outlierFactor) {
			cleared[worst] = true
			continue
		}
		out = append(out, Outlier{Index: worst, OffMM: j.off[worst], ExpectedMM: p.Z - j.off[worst]})
		j.l.gone[worst] = true
		for _, f := range around {
			j.one(f.k)
			delete(cleared, int(f.k))
			if suspect(int(f.k)) && !slices.Contains(open, int(f.k)) {
				open = append(open, int(f.k))
			}
		}
	}
	j.scale = madFactor * medianAbs(j.t)
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
		k := int32(o.Index)
		j.one(k)
		if math.Abs(j.off[k]) <= outlierMM || math.Abs(j.t[k]) <= outlierFactor*j.scale {
			j.l.gone[k] = false
			continue
		}
		o.OffMM, o.ExpectedMM = j.off[k], j.l.n.points[k].Z-j.off[k]
		kept = append(kept, o)
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
func (j *judge) byForm(points []Point) []Outlier {
	if len(points) > formMost {
		return nil // so many that the neighbours tell
	}
	best := j.scale * formClear
	var fitted *Fitted
	var off []float64
	spread := map[string]float64{}
	for _, name := range []string{"plane", "cylinder", "cone", "sphere"} {
		if name == "cone" && !(spread["cylinder"] < formClear*spread["plane"]) {
			continue // no round lies there
		}
		if len(points) < formSpare*formOf(name).count() {
			continue
		}
		r, d, sd, err := robustForm(name, points)
		spread[name] = sd
		if err == nil && sd < best {
			best, fitted, off = sd, r, d
		}
	}
	if fitted == nil {
		return nil
	}
	bad := make([]bool, len(points))
	for k, d := range off {
		bad[k] = math.Abs(d) > max(outlierMM, outlierFactor*fewFactor(len(points))*best)
	}
	out := []Outlier{}
	var around []found
	for k := range points {
		if !bad[k] {
			continue
		}
		// Touches off the form next to each other are a shape, not slips.
		around = j.l.n.around(around, points[k].X, points[k].Y, 4, func(m int32) bool { return int(m) == k })
		fellows := 0
		for _, f := range around {
			if bad[f.k] && off[f.k]*off[k] > 0 {
				fellows++
			}
		}
		if fellows > 1 {
			return nil
		}
		out = append(out, Outlier{Index: k, OffMM: off[k], ExpectedMM: points[k].Z - off[k]})
	}
	return out
}

// fewFactor widens the limit where the scatter itself is known from a few
// touches only.
func fewFactor(n int) float64 { return 1 + 15/float64(n) }
