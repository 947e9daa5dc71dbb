package fit

import (
	"math"
	"slices"

	"sagitta/internal/fit/form"
	"sagitta/internal/fit/layout"
	"sagitta/internal/surface"
)

// account is one way to understand the points: heights, how far they are known, and how
// well it foretells each point from the others.
type account struct {
	name   string
	height func(x, y float64) float64
	// known is the standard uncertainty of a height, of so many degrees of freedom that
	// twice it holds what twice a known one would.
	known  func(x, y float64) float64
	weight float64
	missed []float64 // by how much each point heard is foretold too low
}

// spread says how far a surface is known at each place: all accounts of the points are
// heard, each by how well it foretells points that it has not seen. Where they differ,
// nobody knows which is right.
type spread []account

// at is the standard uncertainty at x, y of a surface that has height z there: half of
// how far from it the height may be to be within with the probability of a normal
// distribution within twice its own.
func (s spread) at(x, y, z float64) float64 {
	off, known := make([]float64, len(s)), make([]float64, len(s))
	most := 0.0
	for k, a := range s {
		off[k], known[k] = math.Abs(a.height(x, y)-z), max(a.known(x, y), 1e-12)
		most = max(most, off[k]+normalCovered*known[k])
	}
	if len(s) == 1 && off[0] == 0 {
		return known[0]
	}
	lo, hi := 0.0, most
	for range 20 {
		mid := (lo + hi) / 2
		beyond := 0.0
		for k, a := range s {
			beyond += a.weight * (math.Erfc((mid-off[k])/known[k]/math.Sqrt2) + math.Erfc((mid+off[k])/known[k]/math.Sqrt2)) / 2
		}
		if beyond > 2*(1-covered) {
			lo = mid
		} else {
			hi = mid
		}
	}
	return hi / normalCovered
}

const (
	// leastHeard is the least weight that counts.
	leastHeard = 1e-3
	// finePoints are as many as are heard on cells as fine as the fit's.
	finePoints = 150
)

// overHull is the root mean square over the hull of points.
func (s spread) overHull(points []surface.Point, height func(x, y float64) float64) float64 {
	lo, hi := layout.Box(points)
	h := layout.NewHull(points)
	var m misses
	const n = 12
	for k := range (n + 1) * (n + 1) {
		x, y := lo[0]+(hi[0]-lo[0])*float64(k%(n+1))/n, lo[1]+(hi[1]-lo[1])*float64(k/(n+1))/n
		if z := height(x, y); z == z && h.Holds(x, y) {
			u := s.at(x, y, z)
			m.squares += u * u
			m.n++
		}
	}
	return math.Sqrt(m.squares / float64(max(m.n, 1)))
}

// spreadOf hears the forms, the smooth surfaces of all penalties, and those laid over the
// form that foretells the points best. floor is what nothing is known better than;
// penalty is that which serves the smooth surface, 0 where that was not looked for. nil
// where the points are too few to foretell any.
func spreadOf(forms *forms, given Given, floor, penalty float64) spread {
	floor = max(floor, idleMM/10)
	var all spread
	var density []float64
	best := ""
	if given.TurnMM == 0 {
		most := math.Inf(-1)
		for _, name := range form.Names {
			a, told, ok := forms.hear(name, given, floor)
			if !ok {
				continue
			}
			all, density = append(all, a), append(density, told)
			if told > most {
				most, best = told, name
			}
		}
	}
	smooth, told := hearSmooth(forms, best, given, floor, penalty)
	all, density = append(all, smooth...), append(density, told...)
	if len(all) == 0 {
		return nil
	}
	whole := logSum(density)
	for k := range all {
		all[k].weight = math.Exp(density[k] - whole)
	}
	all = slices.DeleteFunc(all, func(a account) bool { return a.weight < leastHeard })
	sum := 0.0
	for k := range all {
		sum += all[k].weight
	}
	for k := range all {
		all[k].weight /= sum
	}
	return all
}

// hear gives the account of a form and the logarithm of its density.
func (f *forms) hear(name string, given Given, floor float64) (a account, density float64, ok bool) {
	heard, points := f.heard, f.points
	r, err := f.fit(name)
	if err != nil || !r.Settled() || !r.Sensible() {
		return a, 0, false
	}
	h, miss := make([]float64, len(heard)), r.Residuals(heard)
	for k, p := range heard {
		h[k] = r.Leverage(p.X, p.Y)
	}
	if !r.Spans(layout.Box(points)) {
		return a, 0, false // it ends among them
	}
	var hat func(i, j int) float64
	if len(heard) <= fewPoints {
		all := r.Hat(heard)
		hat = all.At
	}
	told, ok := foretelling(miss, h, freeOfHat(len(heard), r.Parameters(), hat), floor)
	if !ok {
		return a, 0, false
	}
	sd := sure(told.free) * math.Sqrt(told.variance*f.part())
	unseen := given.unseen(told)
	return account{name, r.Reach, func(x, y float64) float64 { return math.Hypot(sd*math.Sqrt(r.Leverage(x, y)), unseen) }, 0, told.missed},
		told.density * float64(len(points)), true
}

// hearSmooth gives the accounts of smooth surfaces, and of those over the form that is
// named, and the logarithms of their densities: together each kind weighs as much as a
// form.
func hearSmooth(forms *forms, best string, given Given, floor, penalty float64) (all []account, density []float64) {
	points := forms.points
	finer := 1.0
	if len(points) > finePoints {
		finer = coarser
	}
	t := newTrials(repeated(points, given.TurnMM), forms.heard, finer, floor)
	if best != "" && best != "plane" { // the smooth surface has a plane in it
		f, err := forms.fit(best)
		plane, flat := forms.fit("plane")
		if err == nil && flat == nil && plane.Settled() {
			t.layOver(points, f, plane, forms.part())
		}
	}
	if len(points) <= heardPoints {
		t.all()
	} else {
		if penalty == 0 {
			penalty = choosePenalty(points)
		}
		t.around(penalty, -math.Log(leastHeard)/float64(len(points)))
	}
	weigh := func(told float64) float64 { return told*float64(len(points)) - math.Log(float64(len(penalties))) }
	for _, t := range t.trials {
		sd, unseen := sure(t.free)*math.Sqrt(t.variance), given.unseen(t.foretold)
		all = append(all, account{"smooth", t.At, func(x, y float64) float64 { return math.Hypot(sd*math.Sqrt(t.inverse.at(x, y)), unseen) }, 0, t.missed})
		density = append(density, weigh(t.density))
	}
	if o := t.over; o != nil {
		for _, t := range o.trials {
			sd, unseen := sure(t.free)*math.Sqrt(t.variance), given.unseen(t.foretold)
			all = append(all, account{best + " and smooth", func(x, y float64) float64 { return o.form.Reach(x, y) + t.At(x, y) },
				func(x, y float64) float64 { return math.Hypot(sd*math.Sqrt(o.leverage(t, x, y)), unseen) }, 0, t.missed})
			density = append(density, weigh(t.density))
		}
	}
	return all, density
}
