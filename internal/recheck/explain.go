package recheck

import (
	"cmp"
	"math"
	"slices"

	"github.com/paulmach/orb"
	"gonum.org/v1/gonum/mat"

	"sagitta/internal/least"
	"sagitta/internal/surface"
)

// explain finds what explains the readings.
func (a *Answer) explain(s *stock, at []orb.Point) {
	all := s.causes(len(at))
	var found []Cause
	for k := range all {
		c := &all[k]
		n := len(c.starts[0])
		if n >= len(at) || c.kind == InchesPlaces { // that is another matter, see inInches
			continue
		}
		best, ok := a.fit(s, c, at)
		if !ok || beyond(best.score, len(at)-n, explainsAt) {
			continue
		}
		best.score += eachParameter*float64(n) + c.price
		found = append(found, best)
	}
	slices.SortStableFunc(found, func(p, q Cause) int { return cmp.Compare(p.score, q.score) })
	for _, c := range found {
		if c.score <= found[0].score+alike && !slices.ContainsFunc(a.Causes, func(b Cause) bool { return b.isOf(&c) }) {
			a.Causes = append(a.Causes, c)
		}
	}
	if a.Causes == nil {
		a.Causes = []Cause{{Kind: Other, WorstMM: math.Abs(a.Worst.OffMM), Part: 1}}
		return
	}
	sum := 0.0
	for k := range a.Causes {
		c := &a.Causes[k]
		c.Part = math.Exp((found[0].score - c.score) / 2)
		sum += c.Part
		c.WorstMM = s.worst(&c.amounts)
	}
	for k := range a.Causes {
		a.Causes[k].Part /= sum
	}
}

// isOf reports whether a cause is in another that says more.
func (c *Cause) isOf(more *Cause) bool {
	if c.Kind == more.Kind && c.Kind != OnePlace && (c.Kind != Turned || c.parameters == more.parameters) {
		return true // with another zero
	}
	switch {
	case more.parameters <= c.parameters:
		return false
	case more.Kind == ShiftedTurned:
		return c.Kind == Shifted || c.Kind == Turned
	}
	return c.Kind == Zero || c.Kind == OnePlace && more.Kind != Shifted && more.Kind != Tilted
}

// fit finds the parameters by which a cause explains the readings best.
func (a *Answer) fit(s *stock, c *cause, at []orb.Point) (best Cause, ok bool) {
	n, p := len(at), len(c.starts[0])
	model := func(x, r []float64, j *mat.Dense) {
		as := c.set(x)
		inside := true
		for k, most := range c.most {
			inside = inside && math.Abs(x[k]) <= most
		}
		for k, q := range at {
			r[k] = (a.Reads[k].MM - s.height(&as, k, q)) / (a.Reads[k].SureMM * max(as.scale, 1))
			if !inside {
				r[k] = math.Inf(1)
			}
		}
		if j == nil {
			return
		}
		const step = 1e-4 // mm
		for m := range x {
			up, down := slices.Clone(x), slices.Clone(x)
			up[m] += step
			down[m] -= step
			au, ad := c.set(up), c.set(down)
			for k, q := range at {
				j.Set(k, m, (s.height(&au, k, q)-s.height(&ad, k, q))/(2*step)/(a.Reads[k].SureMM*max(as.scale, 1)))
			}
		}
	}
	least0 := math.Inf(1)
	var x []float64
	for _, start := range c.starts {
		r := make([]float64, n)
		model(start, r, nil)
		got, squares := start, 0.0
		for _, v := range r {
			squares += v * v
		}
		if p > 0 {
			got, squares = least.Descend(model, n, start, 1e-6)
		}
		if squares < least0 {
			least0, x = squares, got
		}
	}
	if x == nil {
		return best, false
	}
	best = Cause{Kind: c.kind, amounts: c.set(x), score: least0, price: c.price, parameters: p}
	if p == 0 {
		return best, true
	}
	solved, err := least.At(model, n, x)
	if err != nil {
		return best, false // it does nothing that these places show
	}
	for k := range x {
		best.Sure = append(best.Sure, 2*math.Sqrt(solved.Unit.At(k, k)))
	}
	return best, true
}

// worst is by how much heights are off at most, over the stock.
func (s *stock) worst(a *amounts) float64 {
	const steps = 16
	straight, most := amounts{scale: 1}, 0.0
	b := *a
	b.scale, b.scalesPlaces = 1, false // of the readings alone
	for i := range steps + 1 {
		for j := range steps + 1 {
			q := orb.Point{s.frame.mid[0] + s.frame.half[0]*(2*float64(i)/steps-1), s.frame.mid[1] + s.frame.half[1]*(2*float64(j)/steps-1)}
			most = max(most, math.Abs(s.height(&b, -1, q)-s.height(&straight, -1, q)))
		}
	}
	if a.placeOff != 0 {
		most = max(most, math.Abs(a.placeOff))
	}
	if a.scale != 1 {
		low, high, _, _ := s.on.Range()
		most = max(most, math.Abs(low), math.Abs(high))
	}
	return most
}

// inInches finds readings of which the places are in inches as well: so near to each
// other that none were chosen so, and right by that.
func (a *Answer) inInches(s *stock, at []orb.Point) bool {
	const near = 0.1 // as a part of the stock
	b := orb.MultiPoint(at).Bound()
	for k := range b.Min {
		if b.Max[k]-b.Min[k] > 2*near*s.frame.half[k] {
			return false
		}
	}
	for _, q := range at {
		if _, where := s.on.At(q[0]*mmPerInch, q[1]*mmPerInch); where != surface.On {
			return false
		}
	}
	for _, c := range s.causes(0) {
		if c.kind != InchesPlaces {
			continue
		}
		if best, ok := a.fit(s, &c, at); ok && !beyond(best.score, len(at)-len(c.starts[0]), explainsAt) {
			best.Part, best.WorstMM = 1, s.worst(&best.amounts)
			a.Causes = []Cause{best}
			return true
		}
	}
	return false
}
