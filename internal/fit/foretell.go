package fit

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/blas"
	"gonum.org/v1/gonum/blas/blas64"
	"gonum.org/v1/gonum/stat/distuv"
)

// foretold is how well a fit with n parameters' worth of freedom foretells each point
// from all others.
type foretold struct {
	// variance is that of one height, as the points show it that were foretold, and free
	// how many of them are beyond what was fitted.
	variance float64
	free     float64
	// density is the mean logarithm of the density with which the points were expected
	// where they are.
	density float64
	missed  []float64 // by how much each point is foretold too low
}

// foretelling works out how a linear smoother with leverages h foretells points of which
// it misses r: without point k it misses that by r/(1-h), of which the variance is that
// of one height over (1-h) (R. Cook and S. Weisberg, Residuals and Influence in
// Regression, 1982, for straight fits; G. Wahba, J. R. Statist. Soc. B 40 (1978) 364,
// for smooth ones, whose surface is a random one to begin with). So all that the points
// can tell is in the sum of r²/(1-h), also where the fit goes through each of them, and
// r alone would say that nothing is uncertain. floor is a standard deviation below which
// nothing can be seen; free is how many degrees of freedom know the scatter.
func foretelling(r, h []float64, free, floor float64) (f foretold, ok bool) {
	missed, left := make([]float64, len(r)), make([]float64, len(r))
	for k := range r {
		if left[k] = 1 - h[k]; left[k] < leastLeft {
			return f, false
		}
		missed[k] = r[k] / left[k]
	}
	return foretellingBy(missed, left, free, floor)
}

// foretellingBy works it out of points that are missed by so much, of which the variance
// is that of one height over what is left.
func foretellingBy(missed, left []float64, free, floor float64) (f foretold, ok bool) {
	n := len(missed)
	f.free, f.missed = free, missed
	if f.free < leastFree {
		return f, false
	}
	e := make([]float64, n)
	sum := 0.0
	for k := range missed {
		e[k] = missed[k] * missed[k] * left[k]
		sum += e[k]
	}
	// Straight fits: Σ r² has n-p degrees of freedom, and Σ r²/(1-h) about n.
	f.variance = sum/float64(n) + floor*floor
	for k := range missed {
		without := max((sum-e[k])/float64(n-1), 0) + floor*floor
		t := distuv.StudentsT{Mu: 0, Sigma: math.Sqrt(without / left[k]), Nu: f.free - 1}
		f.density += t.LogProb(f.missed[k]) / float64(n)
	}
	return f, !math.IsNaN(f.density)
}

// leastFree degrees of freedom tell a scatter at all.
const leastFree = 2

// fewPoints are so few that it matters how many of them know their scatter.
const fewPoints = 24

// freeOfHat is how many degrees of freedom a sum of r²/(1-h) has, of n points to which so
// many parameters are fitted at least: residuals go together, and are not all as large
// (F. E. Satterthwaite, Biometrics Bulletin 2 (1946) 110). hat is how much point j moves
// the fit at point i; nil of many points, of which there are enough.
func freeOfHat(n, parameters int, hat func(i, j int) float64) float64 {
	most := float64(n - parameters)
	if hat == nil || most < leastFree {
		return most
	}
	sum := 0.0
	for i := range n {
		for j := range n {
			c := -hat(i, j)
			if i == j {
				c++
			}
			sum += c * c / max((1-hat(i, i))*(1-hat(j, j)), leastLeft*leastLeft)
		}
	}
	return min(max(float64(n*n)/sum, leastFree), most)
}

// leastLeft is the least that a leverage may leave: of less, rounding is too large a part.
const leastLeft = 1e-6

// student is the part of Student's distribution of so many degrees of freedom that is
// beyond t, to 0.002 (D. Wallace, Ann.
// Math. Statist. 30 (1959) 1121): it is asked for at all places.
func student(t, free float64) float64 {
	z := (8*free + 1) / (8*free + 3) * math.Sqrt(free*math.Log1p(t*t/free))
	return math.Erfc(math.Copysign(z, t)/math.Sqrt2) / 2
}

// covered is the part below twice a standard deviation of a normal distribution.
const (
	normalCovered = 2.
	covered       = 0.97725
)

// unseen is the standard deviation of what a fit does not follow though it is of the
// surface: how much more the points scatter about it than touches do, where that is more
// than chance (R. Fisher's ratio of variances, of a hundred five are), or more than usual
// where nothing tells. What touches are too far apart for to show as a wave looks like
// their own noise else.
func (g Given) unseen(f foretold) float64 {
	sd, free, limit := g.NoiseMM, g.NoiseFree, 1.0
	switch {
	case sd == 0:
		// Whether it is of the touches or of the surface cannot be known: heights are not to
		// be called surer than they are if it is of the surface.
		sd = usualNoiseMM
	case math.IsInf(free, 0):
		limit = distuv.ChiSquared{K: f.free}.Quantile(chance) / f.free
	default:
		limit = distuv.F{D1: f.free, D2: free}.Quantile(chance)
	}
	noise := sd*sd + g.StepMM*g.StepMM/12
	if f.variance <= limit*noise {
		return 0
	}
	return math.Sqrt(f.variance - noise)
}

// usualNoiseMM is what a touch by a probe, a plate or a gauge is taken to scatter by where
// nothing tells (common practice, no source).
const usualNoiseMM = 0.03

// chance is the part of ratios that are no more than it.
const chance = 0.95

// inverse holds those entries of the inverse of a system's matrix that are within its
// band.
type inverse struct {
	q    *system
	band []float64
}

// invert finds them from the factor UᵀU of the matrix, from the last row to the first
// (K. Takahashi, J. Fagan and M. Chen 1973; A. Erisman and W. Tinney, CACM 18 (1975)
// 177).
func (q *system) invert(u blas64.TriangularBand) *inverse {
	n, k := q.n, q.k
	z := make([]float64, n*(k+1))
	for i := n - 1; i >= 0; i-- {
		of := u.Data[i*u.Stride:]
		row := z[i*(k+1) : (i+1)*(k+1)]
		d := 1 / of[0]
		row[0] = d * d
		m := min(k, n-1-i)
		if m == 0 {
			continue
		}
		right, here := blas64.Vector{N: m, Inc: 1, Data: of[1 : 1+m]}, blas64.Vector{N: m, Inc: 1, Data: row[1 : 1+m]}
		below := blas64.SymmetricBand{Uplo: blas.Upper, N: m, K: m - 1, Stride: k + 1, Data: z[(i+1)*(k+1):]}
		blas64.Sbmv(-d, below, right, 0, here)
		row[0] -= d * blas64.Dot(right, here)
	}
	return &inverse{q, z}
}

// at is the quadratic form of the inverse with the splines at a place: the variance of
// the height there for points of unit variance.
func (v *inverse) at(x, y float64) float64 {
	i, j, a, b := v.q.s.place(x, y)
	at, val := v.q.unknowns(i, j), tensor(splines(a, 0), splines(b, 0))
	sum := 0.0
	for m := range at {
		row := v.band[at[m]*(v.q.k+1)-at[m]:]
		sum += val[m] * val[m] * row[at[m]]
		for n := m + 1; n < len(at); n++ {
			sum += 2 * val[m] * val[n] * row[at[n]]
		}
	}
	return max(sum, 0)
}

// logSum is the logarithm of the sum of exponentials.
func logSum(v []float64) float64 {
	most := slices.Max(v)
	if math.IsInf(most, 0) {
		return most
	}
	sum := 0.0
	for _, x := range v {
		sum += math.Exp(x - most)
	}
	return most + math.Log(sum)
}
