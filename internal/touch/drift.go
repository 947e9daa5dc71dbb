package touch

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"sagitta/internal/least"
	"sagitta/internal/surface"
)

// Drift is what the touches of the datum at the beginning and at the end of a log say.
type Drift struct {
	At [2]float64 // the datum, mm
	// MM is how much higher the last touches of it were than the first, and SureMM the
	// standard uncertainty of that.
	MM, SureMM float64
	Verdict    Verdict
	// Closing is how many touches at the end settled a drift that was taken out: they
	// agree with the first by it, and say nothing of the noise any more.
	Closing int
	// First and Last are the touches of the datum at either end.
	First, Last surface.Point
	// Wrong is the one of them that the others contradict, and WrongMM how far it is
	// over what they lead to; for the verdict Contradicted.
	Wrong   surface.Point
	WrongMM float64
}

// Verdict is what is made of a difference between the first and the last touch of the
// datum.
type Verdict uint8

const (
	// Chance is a difference no larger than touches scatter: heights are left as they are.
	Chance Verdict = iota
	// Drifted is one that was taken out in proportion to the touches made.
	Drifted
	// Contradicted is one by a touch that the other touches contradict.
	Contradicted
	// Open is one that nothing else tells anything of.
	Open
)

const (
	// byChance times the standard uncertainty of a difference is more than chance: of a
	// thousand, three.
	byChance = 3
	// contradicts times the uncertainty of a difference contradicts it: their scatter is
	// known from the touches themselves.
	contradicts = 4
	// judgeSure is how much larger a drift must be than the others' uncertainty of it
	// for them to be its judge.
	judgeSure = 3
	// leastDegrees of freedom tell the noise of a touch.
	leastDegrees = 3
	// noSlipMM is a difference that is no slip of a touch: a tenth of a short lens's depth.
	noSlipMM = 0.1
	// bentTerms are those of a quadric.
	bentTerms = 6
)

// Undrift looks at a log that ends with a touch of the place where it began. Where that
// was found higher or lower by more than chance, and other touches bear it out, it takes
// the drift out of p: in between it grows in proportion to the touches made, and heights
// are left as at the first touch. Two touches of the datum at the end that agree bear
// each other out; a single one is held to a quadric through all others that drifts as
// well. noiseMM is the standard deviation of a touch, 0 where that is not known. It
// returns nil where the log does not end where it began.
func Undrift(p []surface.Point, noiseMM float64) *Drift {
	n := len(p)
	if n < 4 || !SamePlace(p[0], p[n-1]) {
		return nil
	}
	// Touches of the datum at either end belong together.
	a, b := 0, n-1
	for a+1 < n && SamePlace(p[a+1], p[0]) {
		a++
	}
	for b > a && SamePlace(p[b-1], p[0]) {
		b--
	}
	if b-a < 2 {
		return nil
	}
	first, last := p[:a+1], p[b:]
	d := &Drift{At: [2]float64{p[0].X, p[0].Y}, MM: middle(last) - middle(first), First: p[0], Last: p[n-1]}
	others := fitOthers(p, a, b)
	noise := touchNoise(p, noiseMM, others)
	d.SureMM = noise * math.Sqrt(1/float64(len(first))+1/float64(len(last)))
	switch {
	case math.Abs(d.MM) <= byChance*d.SureMM:
		d.Verdict = Chance
	case len(last) > 1 && spanOf(last) <= max(strayMM, strayFactor*noise) && spanOf(last) < math.Abs(d.MM)/2:
		d.Verdict = Drifted
	default:
		d.judge(others, noise)
	}
	if d.Verdict == Open && math.Abs(d.MM) <= noSlipMM {
		// Drift or a touch that is a little off: half of it is right either way.
		d.Verdict, d.SureMM = Drifted, math.Hypot(d.SureMM, d.MM/2)
	}
	if d.Verdict == Drifted {
		d.Closing = len(last)
		for k := range p {
			p[k].Z -= d.MM * min(max(progress(k, a, b), 0), 1)
		}
	}
	return d
}

// progress is how far a touch is on the way from the last of the opening ones to the
// first of the closing ones.
func progress(k, a, b int) float64 { return float64(k-a) / float64(b-a) }

// spanOf is the range of heights.
func spanOf(p []surface.Point) float64 {
	lo, hi := p[0].Z, p[0].Z
	for _, q := range p {
		lo, hi = min(lo, q.Z), max(hi, q.Z)
	}
	return hi - lo
}

// touchNoise is the standard deviation of a touch: of those repeated in direct
// succession, or as it is given, or else what the others leave over; which is a shape as
// well, so that no more than what a gauge scatters is believed of it.
func touchNoise(p []surface.Point, given float64, others *otherTouches) float64 {
	squares, degrees := 0.0, 0
	for a := 0; a < len(p); {
		b := a + 1
		for b < len(p) && SamePlace(p[b], p[a]) {
			b++
		}
		mean := 0.0
		for _, q := range p[a:b] {
			mean += q.Z / float64(b-a)
		}
		for _, q := range p[a:b] {
			squares += (q.Z - mean) * (q.Z - mean)
		}
		degrees += b - a - 1
		a = b
	}
	switch {
	case degrees >= leastDegrees:
		return math.Sqrt(squares / float64(degrees))
	case given > 0:
		return given
	case others == nil:
		return strayMM
	}
	return min(others.sd, strayMM)
}

// otherTouches are a drifting quadric through the touches that are not of the datum.
type otherTouches struct {
	least.Solution
	tells bool    // drift from slope, as touches row after row in one direction do not
	sd    float64 // robust, of what it leaves over
	unit  float64
	at    surface.Point // the datum
}

// row has the terms at a place, touched at a part of the way.
func (o *otherTouches) row(p surface.Point, part float64) []float64 {
	x, y := (p.X-o.at.X)/o.unit, (p.Y-o.at.Y)/o.unit
	return []float64{1, x, y, x * x, x * y, y * y, part}
}

// fitOthers fits it, touches far off counting less and less; nil where they are too few.
func fitOthers(p []surface.Point, a, b int) *otherTouches {
	o := &otherTouches{at: p[0]}
	var kept []surface.Point
	var part, z []float64
	for k, q := range p {
		if !SamePlace(q, p[0]) {
			kept, part, z = append(kept, q), append(part, progress(k, a, b)), append(z, q.Z-p[0].Z)
			o.unit = max(o.unit, math.Abs(q.X-o.at.X), math.Abs(q.Y-o.at.Y))
		}
	}
	if len(kept) < bentTerms+1+leastDegrees {
		return nil
	}
	if o.tells = true; o.fit(kept, part, z, bentTerms+1) {
		return o
	}
	if o.tells = false; o.fit(kept, part, z, bentTerms) {
		return o
	}
	return nil
}

// fit fits the first so many terms, and reports whether they are settled.
func (o *otherTouches) fit(kept []surface.Point, part, z []float64, terms int) bool {
	n := len(kept)
	w, left := slices.Repeat([]float64{1}, n), make([]float64, n)
	for range 6 {
		x, y := mat.NewDense(n, terms, nil), make([]float64, n)
		for k, q := range kept {
			row, root := o.row(q, part[k])[:terms], math.Sqrt(w[k])
			for j := range row {
				row[j] *= root
			}
			x.SetRow(k, row)
			y[k] = z[k] * root
		}
		var err error
		if o.Solution, err = least.Linear(x, y); err != nil {
			return false
		}
		for k, q := range kept {
			left[k] = z[k]
			for j, v := range o.row(q, part[k])[:terms] {
				left[k] -= v * o.Beta[j]
			}
		}
		o.sd = least.Scatter(left) * math.Sqrt(float64(n)/float64(n-terms))
		if o.sd == 0 {
			break
		}
		least.Tukey(w, left, o.sd)
	}
	return true
}

// sure is the standard uncertainty of a sum of parameters, by the robust scatter.
func (o *otherTouches) sure(g []float64) float64 {
	v := mat.NewVecDense(len(g), g)
	return o.sd * math.Sqrt(max(mat.Inner(v, o.Unit, v), 0))
}

// judge asks the other touches.
func (d *Drift) judge(o *otherTouches, noise float64) {
	d.Verdict = Open
	if o == nil || !o.tells {
		return
	}
	drift := make([]float64, bentTerms+1)
	drift[bentTerms] = 1
	u := o.sure(drift)
	if judgeSure*u > math.Abs(d.MM) {
		return
	}
	if math.Abs(d.MM-o.Beta[bentTerms]) <= contradicts*math.Hypot(u, d.SureMM) {
		d.Verdict = Drifted
		return
	}
	d.Verdict = Contradicted
	most := 0.0
	for _, c := range []struct {
		touch surface.Point
		part  float64
	}{{d.First, 0}, {d.Last, 1}} {
		g := o.row(c.touch, c.part)
		off := c.touch.Z - d.First.Z
		for j := range g {
			off -= g[j] * o.Beta[j]
		}
		if t := math.Abs(off) / math.Hypot(o.sure(g), noise); t >= most {
			most, d.Wrong, d.WrongMM = t, c.touch, off
		}
	}
	if most <= byChance {
		d.Verdict = Open // each alone could be
	}
}
