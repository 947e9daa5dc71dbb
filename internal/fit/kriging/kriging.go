// Package kriging lays a plane with random waves on it through few points: universal
// kriging (G. Matheron, Economic Geology 58 (1963) 1246). Unlike a smooth surface, which
// bends no more than it must, the waves may come and go between points that are further
// apart than their range; and within it they are smoother than that. Lengths are in mm.
package kriging

import (
	"math"

	"gonum.org/v1/gonum/mat"

	"sagitta/internal/surface"
)

const (
	// planeTerms are the parameters of the plane.
	planeTerms = 3
	// worstCondition is that of a matrix of which nothing can be told any more.
	worstCondition = 1e12
	// leastLeft is the least that a point may tell beyond what the plane takes of it.
	leastLeft = 1e-6
)

// Waves are a plane with waves of one range on it, as points show them.
type Waves struct {
	points  []surface.Point
	rangeMM float64
	cx, cy  float64 // middle of the points

	c      mat.Cholesky // of the covariances of the points
	trend  mat.Dense    // C⁻¹F, F the terms of the plane at the points
	settle mat.Dense    // (FᵀC⁻¹F)⁻¹
	alpha  mat.VecDense
	beta   mat.VecDense

	// Missed is by how much each point is foretold too low by all others, and Left one
	// over the variance of that, for waves of unit variance (O. Dubrule, Mathematical
	// Geology 15 (1983) 687).
	Missed, Left []float64
	// Free is how many degrees of freedom a sum of Left·Missed² has, as those go together
	// (F. E. Satterthwaite, Biometrics Bulletin 2 (1946) 110).
	Free float64

	at           [2]float64 // where was asked for last
	mm, variance float64
}

// Fit lays waves through points: heights at a distance d go together by exp(-d²/2r²) with
// the range r, and each is off by noise, of which a variance is given as a part of that of
// the waves. It reports whether the points settle it.
func Fit(points []surface.Point, rangeMM, noise float64) (w *Waves, ok bool) {
	n := len(points)
	if n <= planeTerms {
		return nil, false
	}
	w = &Waves{points: points, rangeMM: rangeMM, at: [2]float64{math.NaN()}}
	for _, p := range points {
		w.cx, w.cy = w.cx+p.X/float64(n), w.cy+p.Y/float64(n)
	}
	c, f, z := mat.NewSymDense(n, nil), mat.NewDense(n, planeTerms, nil), mat.NewVecDense(n, nil)
	for i, p := range points {
		for j := i; j < n; j++ {
			c.SetSym(i, j, w.together(points[j], p.X, p.Y))
		}
		c.SetSym(i, i, 1+noise)
		f.SetRow(i, w.plane(p.X, p.Y))
		z.SetVec(i, p.Z)
	}
	var inverse mat.SymDense
	if !w.c.Factorize(c) || w.c.Cond() > worstCondition || w.c.InverseTo(&inverse) != nil {
		return nil, false
	}
	var ft, part, whole, left mat.Dense
	w.trend.Mul(&inverse, f)
	ft.Mul(f.T(), &w.trend)
	if w.settle.Inverse(&ft) != nil {
		return nil, false
	}
	// What is left of C⁻¹ with the plane taken out.
	part.Mul(&w.trend, &w.settle)
	whole.Mul(&part, w.trend.T())
	left.Sub(&inverse, &whole)
	w.alpha.MulVec(&left, z)
	w.beta.MulVec(part.T(), z)
	return w, w.foretell(&left)
}

// foretell leaves each point out in turn.
func (w *Waves) foretell(left *mat.Dense) bool {
	n := len(w.points)
	together := 0.0
	for i := range n {
		of := left.At(i, i)
		if of < leastLeft {
			return false // the plane goes through it, whatever the others say
		}
		w.Missed, w.Left = append(w.Missed, w.alpha.AtVec(i)/of), append(w.Left, of)
		for j := range n {
			together += left.At(i, j) * left.At(i, j) / (of * left.At(j, j))
		}
	}
	w.Free = min(float64(n*n)/together, float64(n-planeTerms))
	return true
}

func (w *Waves) together(p surface.Point, x, y float64) float64 {
	return math.Exp(-((p.X-x)*(p.X-x) + (p.Y-y)*(p.Y-y)) / (2 * w.rangeMM * w.rangeMM))
}

func (w *Waves) plane(x, y float64) []float64 {
	return []float64{1, (x - w.cx) / w.rangeMM, (y - w.cy) / w.rangeMM}
}

// Height is that at x, y.
func (w *Waves) Height(x, y float64) float64 {
	w.look(x, y)
	return w.mm
}

// Variance is that of the height at x, y, without the noise of a touch, for waves of unit
// variance.
func (w *Waves) Variance(x, y float64) float64 {
	w.look(x, y)
	return w.variance
}

// look works both out, which are asked for one after the other.
func (w *Waves) look(x, y float64) {
	if w.at == [2]float64{x, y} {
		return
	}
	k, f := mat.NewVecDense(len(w.points), nil), mat.NewVecDense(planeTerms, w.plane(x, y))
	for i, p := range w.points {
		k.SetVec(i, w.together(p, x, y))
	}
	var solved, off mat.VecDense
	_ = w.c.SolveVecTo(&solved, k) // its condition was looked at
	off.MulVec(w.trend.T(), k)
	off.SubVec(f, &off)
	w.at, w.mm = [2]float64{x, y}, mat.Dot(k, &w.alpha)+mat.Dot(f, &w.beta)
	w.variance = max(1-mat.Dot(k, &solved)+mat.Inner(&off, &w.settle, &off), 0)
}
