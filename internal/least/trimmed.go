package least

import (
	"math"
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"
)

const (
	// trimmedBeyond times the scatter is too far for a row to count: of good rows
	// with normal scatter one in eighty is (P. Rousseeuw and A. Leroy, Robust
	// Regression and Outlier Detection (1987), p. 17).
	trimmedBeyond = 2.5
	// narrowedBy is by how much the scatter of normal residuals within that is less
	// than that of all.
	narrowedBy = 0.95463
	// firstSteps of concentration tell which starts are worth going on with, of
	// which there are goOn; mostSteps bounds those: they end by themselves.
	firstSteps, goOn, mostSteps = 2, 5, 50
	// redrawn bounds the search for rows that settle the fit.
	redrawn = 10
	// fewRows widens the scatter of the better half, which hugs its fit: that of n
	// normal residuals about p parameters comes out too small by the factor
	// 1 + fewRows p/(n-p), to a tenth, by simulation with p from 1 to 6 and n from 8
	// to 400.
	fewRows = 4
)

// Trimmer finds the parameters of a linear model that the better half of its rows
// agree on, however far off the others are: by least trimmed squares (P. Rousseeuw,
// JASA 79 (1984) 871), found from random sets of as many rows as parameters by
// concentration (P. Rousseeuw and K. Van Driessen, Data Mining and Knowledge
// Discovery 12 (2006) 29). The sets are drawn alike each time. It keeps its memory
// from fit to fit.
type Trimmer struct {
	p    int
	x, y []float64 // rows of p, and what was measured

	normal       *Normal
	beta         []float64
	squares, tmp []float64 // of the residuals
	set          []int
	found        []trimming
}

// trimming is a fit to some of the rows.
type trimming struct {
	beta []float64
	sum  float64 // of the least squares
}

// Trimmed is what a Trimmer found.
type Trimmed struct {
	// Half is the fit to the better half of the rows, and HalfSquares the sum of
	// their squares.
	Half        []float64
	HalfSquares float64
	// Solution is the least squares fit to all rows but those that are far off Half,
	// which are Out, and Scatter the standard deviation of a row about it.
	Solution
	Out     []bool
	Scatter float64
}

// NewTrimmer makes one for models of p parameters.
func NewTrimmer(p int) *Trimmer {
	return &Trimmer{p: p, normal: NewNormal(p), beta: make([]float64, p)}
}

// Clear forgets the rows.
func (t *Trimmer) Clear() { t.x, t.y = t.x[:0], t.y[:0] }

// Add adds a row, of which it takes the first p values, and what was measured.
func (t *Trimmer) Add(y float64, row ...float64) {
	t.x, t.y = append(t.x, row[:t.p]...), append(t.y, y)
}

// Fit fits the rows from that many starts. The error is ErrOpen.
func (t *Trimmer) Fit(starts int) (Trimmed, error) {
	n := len(t.y)
	h := (n + t.p + 1) / 2
	if h > n {
		return Trimmed{}, ErrOpen
	}
	t.squares, t.tmp = slices.Grow(t.squares[:0], n)[:n], slices.Grow(t.tmp[:0], n)[:n]
	t.found = t.found[:0]
	t.start(h, func() bool { return t.solve(n, func(k int) int { return k }) }) // all rows
	draw := rand.New(rand.NewPCG(uint64(n), uint64(t.p)))
	for range starts {
		t.start(h, func() bool { return t.solve(t.p, t.drawn(draw)) })
	}
	slices.SortStableFunc(t.found, func(a, b trimming) int {
		if a.sum < b.sum {
			return -1
		}
		return 1
	})
	best := trimming{sum: math.Inf(1)}
	for k := range min(goOn, len(t.found)) {
		copy(t.beta, t.found[k].beta)
		sum := t.found[k].sum
		for range mostSteps {
			now, ok := t.concentrate(h)
			if !ok || !(now < sum*(1-1e-12)) {
				break
			}
			sum = now
		}
		if sum < best.sum {
			best = trimming{slices.Clone(t.beta), sum}
		}
	}
	if best.beta == nil {
		return Trimmed{}, ErrOpen
	}
	return t.reweighted(best, h)
}

// drawn draws as many different rows as there are parameters.
func (t *Trimmer) drawn(draw *rand.Rand) func(k int) int {
	t.set = t.set[:0]
	for len(t.set) < t.p {
		if k := draw.IntN(len(t.y)); !slices.Contains(t.set, k) {
			t.set = append(t.set, k)
		}
	}
	return func(k int) int { return t.set[k] }
}

// start fits some rows and concentrates twice.
func (t *Trimmer) start(h int, fit func() bool) {
	for range redrawn {
		if fit() {
			break
		}
	}
	sum := math.Inf(1)
	for range firstSteps {
		now, ok := t.concentrate(h)
		if !ok {
			return
		}
		sum = now
	}
	t.found = append(t.found, trimming{slices.Clone(t.beta), sum})
}

// concentrate fits the h rows that are nearest to the fit, and returns the sum of
// their squares before: it never grows.
func (t *Trimmer) concentrate(h int) (sum float64, ok bool) {
	t.residuals(t.beta)
	limit := t.within(h)
	t.set = t.set[:0]
	for k, s := range t.squares {
		if s < limit {
			t.set = append(t.set, k)
			sum += s
		}
	}
	for k, s := range t.squares {
		if s == limit && len(t.set) < h {
			t.set = append(t.set, k)
			sum += s
		}
	}
	return sum, t.solve(len(t.set), func(k int) int { return t.set[k] })
}

// residuals works out the squares.
func (t *Trimmer) residuals(beta []float64) {
	for k, y := range t.y {
		row := t.x[k*t.p : (k+1)*t.p]
		for j, b := range beta {
			y -= b * row[j]
		}
		t.squares[k] = y * y
	}
}

// within returns the h-th smallest square.
func (t *Trimmer) within(h int) float64 {
	copy(t.tmp, t.squares)
	return Select(t.tmp, h-1)
}

// solve fits n rows: well enough to choose rows by. What is handed out of them is
// fitted again.
func (t *Trimmer) solve(n int, at func(k int) int) bool {
	t.normal.Clear()
	for m := range n {
		k := at(m)
		t.normal.Add(1, t.y[k], t.x[k*t.p:])
	}
	return t.normal.Solve(t.beta)
}

// reweighted fits all rows that are not far off the better half.
func (t *Trimmer) reweighted(half trimming, h int) (Trimmed, error) {
	n, p := len(t.y), t.p
	r := Trimmed{Half: half.beta, HalfSquares: half.sum, Out: make([]bool, n)}
	sd := math.Sqrt(half.sum/float64(h)) * ofAll(float64(h)/float64(n)) * (1 + fewRows*float64(p)/float64(max(n-p, 1)))
	t.residuals(half.beta)
	limit := trimmedBeyond * trimmedBeyond * sd * sd
	limit = max(limit, t.within(h))
	var rows, y []float64
	for k := range n {
		if r.Out[k] = t.squares[k] > limit; !r.Out[k] {
			rows, y = append(rows, t.x[k*p:(k+1)*p]...), append(y, t.y[k])
		}
	}
	s, err := Linear(mat.NewDense(len(y), p, rows), y)
	if err != nil {
		return Trimmed{}, err
	}
	r.Solution = s
	r.Scatter = math.Sqrt(s.Variance())
	if len(y) < n {
		r.Scatter /= narrowedBy
	}
	return r, nil
}

// ofAll is the standard deviation of normal residuals over the root mean square of
// the part of them that is least (C. Croux and G. Haesbroeck, J. Multivariate
// Analysis 71 (1999) 161).
func ofAll(part float64) float64 {
	if part >= 1 {
		return 1
	}
	q := distuv.UnitNormal.Quantile((1 + part) / 2)
	return 1 / math.Sqrt(1-2*q*distuv.UnitNormal.Prob(q)/part)
}
