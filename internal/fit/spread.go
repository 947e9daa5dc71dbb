package fit

import (
	"cmp"
	"math"
	"slices"

	"sagitta/internal/fit/form"
	"sagitta/internal/fit/kriging"
	"sagitta/internal/fit/layout"
	"sagitta/internal/surface"
)

// account is one way to understand the points: heights, how far they are known, and how
// well it foretells each point from the others.
type account struct {
	name   string
	height func(x, y float64) float64
	// known is the standard uncertainty of a height, which so many degrees of freedom know
	// as foretold has.
	known func(x, y float64) float64
	foretold
	kind   int // how many accounts are of its kind, which together weigh as much as a form
	weight float64
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
		most = max(most, off[k]+mostCovered*known[k])
	}
	lo, hi := 0.0, most
	for hi-lo > sureEnough*hi {
		mid := (lo + hi) / 2
		beyond := 0.0
		for k, a := range s {
			beyond += a.weight * (student((mid-off[k])/known[k], a.free) + student((mid+off[k])/known[k], a.free))
		}
		if beyond > 2*(1-covered) {
			lo = mid
		} else {
			hi = mid
		}
	}
	return hi / normalCovered
}

// sureEnough is how near to it an uncertainty is worked out, as a part of it.
const sureEnough = 2e-3

// mostCovered times a standard uncertainty holds as much where leastFree degrees of
// freedom know it.
const mostCovered = 5.

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

// spreadOf hears the forms, the smooth surfaces of all penalties, those laid over the form
// that foretells the points best, and of few points waves of several ranges. floor is what
// nothing is known better than; penalty is that which serves the smooth surface, 0 where
// that was not looked for. nil where the points are too few to foretell any.
func spreadOf(forms *forms, given Given, floor, penalty float64) spread {
	floor = max(floor, idleMM/10)
	var all spread
	best := ""
	if given.TurnMM == 0 {
		most := math.Inf(-1)
		for _, name := range form.Names {
			a, ok := forms.hear(name, given, floor)
			if !ok {
				continue
			}
			all = append(all, a)
			if a.density > most {
				most, best = a.density, name
			}
		}
	}
	all = append(all, hearSmooth(forms, best, given, floor, penalty)...)
	all = append(all, hearWaves(forms.points, given, floor)...)
	if len(all) == 0 {
		return nil
	}
	return all.weigh(float64(len(forms.points)) / float64(len(forms.heard)))
}

// weigh has each account weigh as the density with which it foretells the points, and
// drops those that do not count. Points foretold go together: only as many of them tell
// anything as an account has degrees of freedom. Were all of them counted, an account that
// two degrees of freedom bear out would beat all others by the power of six. So between two
// accounts as many count as the better one has: by so many it was seen to be better. Each
// point heard stands for so many.
func (s spread) weigh(each float64) spread {
	best := s.best()
	told := make([]float64, len(s))
	for k, a := range s {
		free := best.free
		if a.density > best.density {
			free = min(free, a.free)
		}
		told[k] = each*free*(a.density-best.density) - math.Log(float64(a.kind))
	}
	whole := logSum(told)
	for k := range s {
		s[k].weight = math.Exp(told[k] - whole)
	}
	s = slices.DeleteFunc(s, func(a account) bool { return a.weight < leastHeard })
	sum := 0.0
	for k := range s {
		sum += s[k].weight
	}
	for k := range s {
		s[k].weight /= sum
	}
	return s
}

// best is the account that foretells the points best, as far as its degrees of freedom can
// tell: of a scatter that so many know the logarithm is uncertain by 1/√(2·free).
func (s spread) best() account {
	sure := func(a account) float64 { return a.density - 1/math.Sqrt(2*a.free) }
	return slices.MaxFunc(s, func(a, b account) int { return cmp.Compare(sure(a), sure(b)) })
}

// hear gives the account of a form.
func (f *forms) hear(name string, given Given, floor float64) (a account, ok bool) {
	heard, points := f.heard, f.points
	r, err := f.fit(name)
	if err != nil || !r.Settled() || !r.Sensible() {
		return a, false
	}
	h, miss := make([]float64, len(heard)), r.Residuals(heard)
	for k, p := range heard {
		h[k] = r.Leverage(p.X, p.Y)
	}
	if !r.Spans(layout.Box(points)) {
		return a, false // it ends among them
	}
	var hat func(i, j int) float64
	if len(heard) <= fewPoints {
		all := r.Hat(heard)
		hat = all.At
	}
	told, ok := foretelling(miss, h, freeOfHat(len(heard), r.Parameters(), hat), floor)
	if !ok {
		return a, false
	}
	sd, unseen := math.Sqrt(told.variance*f.part()), given.unseen(told)
	return account{name, r.Reach, func(x, y float64) float64 { return math.Hypot(sd*math.Sqrt(r.Leverage(x, y)), unseen) }, told, 1, 0}, true
}

// hearSmooth gives the accounts of smooth surfaces, and of those over the form that is
// named.
func hearSmooth(forms *forms, best string, given Given, floor, penalty float64) (all []account) {
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
	for _, t := range t.trials {
		sd, unseen := math.Sqrt(t.variance), given.unseen(t.foretold)
		all = append(all, account{"smooth", t.At, func(x, y float64) float64 { return math.Hypot(sd*math.Sqrt(t.inverse.at(x, y)), unseen) }, t.foretold, len(penalties), 0})
	}
	if o := t.over; o != nil {
		for _, t := range o.trials {
			sd, unseen := math.Sqrt(t.variance), given.unseen(t.foretold)
			all = append(all, account{best + " and smooth", func(x, y float64) float64 { return o.form.Reach(x, y) + t.At(x, y) },
				func(x, y float64) float64 { return math.Hypot(sd*math.Sqrt(o.leverage(t, x, y)), unseen) }, t.foretold, len(penalties), 0})
		}
	}
	return all
}

// wavedPoints are as many as waves are laid through: it takes time with the cube of them,
// and more show by themselves what is between them.
const wavedPoints = 50

var (
	// waveRanges are parts of the side of a square as large as the rectangle around the
	// points: from waves that come and go between twelve touches up to those that are
	// little but a bow.
	waveRanges = []float64{1. / 8, 1. / 4, 1. / 2, 1}
	// waveNoises are variances of a touch, as parts of that of the waves.
	waveNoises = []float64{1e-7, 1e-4, 1e-2}
)

// hearWaves gives the accounts of few points by waves, each range a kind: what comes and
// goes between them, and they cannot exclude.
func hearWaves(points []surface.Point, given Given, floor float64) (all []account) {
	if len(points) > wavedPoints || given.TurnMM > 0 {
		return nil
	}
	lo, hi := layout.Box(points)
	side := math.Sqrt((hi[0] - lo[0]) * (hi[1] - lo[1]))
	for _, r := range waveRanges {
		for _, noise := range waveNoises {
			w, ok := kriging.Fit(points, r*side, noise)
			if !ok {
				continue
			}
			told, ok := foretellingBy(w.Missed, w.Left, w.Free, floor/math.Sqrt(noise))
			if !ok {
				continue
			}
			sd := math.Sqrt(told.variance)
			told.variance *= noise // that of a touch
			unseen := given.unseen(told)
			all = append(all, account{"waves", w.Height, func(x, y float64) float64 { return math.Hypot(sd*math.Sqrt(w.Variance(x, y)), unseen) }, told, len(waveNoises), 0})
		}
	}
	return all
}
