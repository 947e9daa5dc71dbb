// Package form fits simple forms to points in the least squares of heights: a plane, a
// cylinder, a cone, a sphere. Lengths are in mm, up positive.
package form

import "math"

// form is a family of surfaces z(x, y) in the coordinates of a frame, with
// parameters p of order one. Curvature 1/R stands in for the radius, so that flat
// stock is no special case; above zero the form is a hill, below a hollow.
type form struct {
	name       string
	parameters int
	curvature  int // the parameter that it is, 0 for a plane
	// surface is that of parameters p.
	surface func(p []float64) heights
	// starts are parameters to begin a fit from, by the quadric q.
	starts func(f *frame, q [6]float64) [][]float64
}

// heights gives the height at x, y, and whether that is within the edge of a round:
// forms under way need some height beyond it.
type heights func(x, y float64) (z float64, within bool)

// The parameters are:
//
//	plane     height at the middle, slope in x, slope in y
//	sphere    height, x and y of its top, curvature
//	cylinder  height of its top line at the middle, slope along it, its distance
//	          from the middle, its angle to x, curvature across it
//	cone      those of a cylinder, with the curvature across the axis below the
//	          middle, and the change of the radius in each unit of the axis
var (
	plane    = form{name: "plane", parameters: 3, surface: planeHeights, starts: planeStarts}
	cylinder = form{name: "cylinder", parameters: 5, curvature: 4, surface: cylinderHeights, starts: cylinderStarts}
	cone     = form{name: "cone", parameters: 6, curvature: 4, surface: coneHeights, starts: coneStarts}
	sphere   = form{name: "sphere", parameters: 4, curvature: 3, surface: sphereHeights, starts: sphereStarts}
)

// Names are those of the forms, from the simplest on.
var Names = []string{"plane", "cylinder", "sphere", "cone"}

// of finds a form by its name, nil for none.
func of(name string) *form {
	for _, f := range []*form{&plane, &cylinder, &cone, &sphere} {
		if f.name == name {
			return f
		}
	}
	return nil
}

// Is reports whether a form is called that.
func Is(name string) bool { return of(name) != nil }

// Parameters is how many the form has that is named.
func Parameters(name string) int { return of(name).parameters }

func planeHeights(p []float64) heights {
	return func(x, y float64) (float64, bool) { return p[0] + p[1]*x + p[2]*y, true }
}

func planeStarts(_ *frame, q [6]float64) [][]float64 { return [][]float64{{q[0], q[1], q[2]}} }

// sag returns how far an arc of curvature k has fallen at distance w from
// its top: R - √(R² - w²), in a form that is exact where k is small
// (elementary geometry). Beyond the radius it goes on falling steeply.
func sag(k, w float64) float64 {
	t := k * w
	if !onArc(k, w) {
		edge := math.Abs(1 / k)
		return math.Copysign(edge+beyondSlope*(math.Abs(w)-edge), k)
	}
	return k * w * w / (1 + math.Sqrt(1-t*t))
}

// onArc reports whether a distance from the top is no greater than the radius.
func onArc(k, w float64) bool { return math.Abs(k*w) <= 1 }

const (
	// beyondSlope is the slope beyond the radius: far above any that is probed.
	beyondSlope = 10
	// leastCurvature and mostCurvature bound those that a fit starts from, and
	// furthest is how far off the middle a top may then be: further off it is a
	// plane by another name.
	leastCurvature, mostCurvature = 1e-9, 0.9
	furthest                      = 20
)

func bounded(curvature float64) float64 {
	if math.Abs(curvature) < leastCurvature {
		return math.Copysign(leastCurvature, curvature)
	}
	return min(max(curvature, -mostCurvature), mostCurvature)
}

func sphereHeights(p []float64) heights {
	return func(x, y float64) (float64, bool) {
		w := math.Hypot(x-p[1], y-p[2])
		return p[0] - sag(p[3], w), onArc(p[3], w)
	}
}

func sphereStarts(_ *frame, q [6]float64) [][]float64 {
	k := bounded(-(q[3] + q[5]))
	x, y := q[1]/k, q[2]/k
	if d := math.Hypot(x, y); d > furthest {
		x, y = x*furthest/d, y*furthest/d
	}
	return [][]float64{{q[0] + k*(x*x+y*y)/2, x, y, k}, {q[0], 0, 0, k}}
}

// axial gives the place of x, y along the axis of a cylinder or cone, and across
// it from its top line.
func axial(p []float64) func(x, y float64) (along, across float64) {
	s, c := math.Sincos(p[3])
	return func(x, y float64) (float64, float64) { return c*x + s*y, c*y - s*x - p[2] }
}

func cylinderHeights(p []float64) heights {
	place := axial(p)
	// A cut across a cylinder that leans by atan(p1) is an ellipse whose
	// half height is R/cos.
	stretched := math.Sqrt(1 + p[1]*p[1])
	return func(x, y float64) (float64, bool) {
		v, w := place(x, y)
		return p[0] + p[1]*v - stretched*sag(p[4], w), onArc(p[4], w)
	}
}

func cylinderStarts(_ *frame, q [6]float64) [][]float64 {
	// The axis lies along the direction of least curvature.
	angle := 0.5 * math.Atan2(q[4], q[3]-q[5])
	var out [][]float64
	for _, turn := range []float64{0, math.Pi / 2} {
		a := angle + turn
		s, c := math.Sincos(a)
		slope := c*q[1] + s*q[2]
		across := c*q[2] - s*q[1]
		k := bounded(-2 * (q[3]*s*s - q[4]*s*c + q[5]*c*c)) // second derivative across
		at := min(max(across/k, -furthest), furthest)
		out = append(out, []float64{q[0] + k*at*at/2, slope, at, a, k})
	}
	return out
}

func coneHeights(p []float64) heights {
	cylinder := cylinderHeights(p)
	if math.Abs(p[4]) < leastCurvature {
		return cylinder
	}
	place := axial(p)
	r, k := 1/p[4], p[5]
	// The axis leans by the top line's angle less the taper's.
	sin, cos := math.Sincos(math.Atan(p[1]) - math.Atan(k))
	top := r / (cos - k*sin)
	a := cos*cos - k*k*sin*sin
	return func(x, y float64) (z float64, within bool) {
		v, w := place(x, y)
		// With h the height over the axis's point below the middle:
		// w² + (h cos - v sin)² = (r + k (v cos + h sin))².
		b := -2*v*cos*sin - 2*k*sin*(r+k*v*cos)
		e := r + k*v*cos
		g := w*w + v*v*sin*sin - e*e
		d := b*b - 4*a*g
		if d < 0 || a <= 0 || e*r <= 0 {
			z, _ = cylinder(x, y) // beyond the edge
		} else {
			z = p[0] - top + (-b+math.Copysign(math.Sqrt(d), r))/(2*a)
		}
		return z, math.Abs(w) <= math.Abs(r+k*v)
	}
}

func coneStarts(f *frame, q [6]float64) [][]float64 {
	var out [][]float64
	for _, start := range cylinderStarts(f, q) {
		p, _ := f.descend(&cylinder, start, nil)
		out = append(out, append(p[:5:5], 0.01), append(p[:5:5], -0.01))
	}
	return out
}
