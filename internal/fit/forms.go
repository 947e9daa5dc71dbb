package fit

import "math"

// The forms, as graphs z(x, y) over a frame. Curvature k = 1/R stands in for
// the radius, so that flat stock is no special case; above zero the form is a
// hill, below a hollow.

type plane struct{}

func (plane) count() int                           { return 3 }
func (plane) at(p []float64, x, y float64) float64 { return p[0] + p[1]*x + p[2]*y }
func (plane) starts(_ *frame, q [6]float64) [][]float64 {
	return [][]float64{{q[0], q[1], q[2]}}
}

// sag returns how far an arc of curvature k has fallen at distance w from
// its top: R - √(R² - w²), in a form that is exact where k is small
// (elementary geometry). Beyond the radius it goes on falling steeply: forms
// under way need some height there.
func sag(k, w float64) float64 {
	t := k * w
	if t > 1 || t < -1 {
		edge := math.Abs(1 / k)
		return math.Copysign(edge+beyondSlope*(math.Abs(w)-edge), k)
	}
	return k * w * w / (1 + math.Sqrt(1-t*t))
}

// beyondSlope is the slope beyond the radius: far above any that is probed.
const beyondSlope = 10

// sphere has its top at p1, p2, height p0, and curvature p3.
type sphere struct{}

func (sphere) count() int { return 4 }
func (sphere) at(p []float64, x, y float64) float64 {
	return p[0] - sag(p[3], math.Hypot(x-p[1], y-p[2]))
}

func (sphere) starts(_ *frame, q [6]float64) [][]float64 {
	k := -(q[3] + q[5])
	if math.Abs(k) < 1e-9 {
		k = math.Copysign(1e-9, k)
	}
	k = min(max(k, -0.9), 0.9)
	x, y := q[1]/k, q[2]/k
	// A top far off the points is a plane by another name.
	if d := math.Hypot(x, y); d > 20 {
		x, y = x*20/d, y*20/d
	}
	return [][]float64{{q[0] + k*(x*x+y*y)/2, x, y, k}, {q[0], 0, 0, k}}
}

// axisAngle turns x, y into v along and w across an axis.
func axisAngle(angle, x, y float64) (v, w float64) {
	s, c := math.Sincos(angle)
	return c*x + s*y, c*y - s*x
}

// cylinder: its top line has height p0 at the middle and slope p1 along, lies
// p2 across, at angle p3 to x; p4 is the curvature.
type cylinder struct{}

func (cylinder) count() int { return 5 }
func (cylinder) at(p []float64, x, y float64) float64 {
	v, w := axisAngle(p[3], x, y)
	// A cut across a cylinder that leans by atan(p1) is an ellipse whose
	// half height is R/cos.
	return p[0] + p[1]*v - math.Sqrt(1+p[1]*p[1])*sag(p[4], w-p[2])
}

func (cylinder) starts(_ *frame, q [6]float64) [][]float64 {
	// The axis lies along the direction of least curvature.
	angle := 0.5 * math.Atan2(q[4], q[3]-q[5])
	var out [][]float64
	for _, turn := range []float64{0, math.Pi / 2} {
		a := angle + turn
		s, c := math.Sincos(a)
		slope := c*q[1] + s*q[2]
		across := c*q[2] - s*q[1]
		bend := 2 * (q[3]*s*s - q[4]*s*c + q[5]*c*c) // second derivative across
		k := min(max(-bend, -0.9), 0.9)
		if math.Abs(k) < 1e-9 {
			k = math.Copysign(1e-9, k)
		}
		at := min(max(across/k, -20), 20)
		out = append(out, []float64{q[0] + k*at*at/2, slope, at, a, k})
	}
	return out
}

// cone is a cylinder whose radius changes by p5 in each unit of its axis; the
// slope p1 is that of its top line, the curvature p4 that of the radius
// across the axis below the middle of the points.
type cone struct{}

func (cone) count() int { return 6 }
func (cone) at(p []float64, x, y float64) float64 {
	if math.Abs(p[4]) < 1e-9 {
		return cylinder{}.at(p[:5], x, y)
	}
	v, w := axisAngle(p[3], x, y)
	w -= p[2]
	r, k := 1/p[4], p[5]
	// The axis leans by the top line's angle less the taper's.
	sin, cos := math.Sincos(math.Atan(p[1]) - math.Atan(k))
	top := r / (cos - k*sin)
	// With h the height over the axis's point below the middle:
	// w² + (h cos - v sin)² = (r + k (v cos + h sin))².
	a := cos*cos - k*k*sin*sin
	b := -2*v*cos*sin - 2*k*sin*(r+k*v*cos)
	e := r + k*v*cos
	g := w*w + v*v*sin*sin - e*e
	d := b*b - 4*a*g
	if d < 0 || a <= 0 || e*r <= 0 {
		return cylinder{}.at(p[:5], x, y) // beyond the edge: some height
	}
	h := (-b + math.Copysign(math.Sqrt(d), r)) / (2 * a)
	return p[0] - top + h
}

func (cone) starts(f *frame, q [6]float64) [][]float64 {
	var out [][]float64
	for _, c := range (cylinder{}).starts(f, q) {
		c, _ = descend(cylinder{}, f, c, nil)
		out = append(out, append(c[:5:5], 0.01), append(c[:5:5], -0.01))
	}
	return out
}

// edgeOf is how far the form reaches from its top, in units of the frame.
func edgeOf(k float64) float64 { return math.Abs(1 / k) }
