package order

import "math"

// perMM is how many steps of a point's coordinates make a mm, farthest how many
// mm it may be from the origin: products of differences then fit 62 bits.
const perMM, farthest = 1e4, 5e4

// touch is how near, in steps, two burns come that touch: 0.004 mm.
const touch = 0.004 * perMM

// point is a place, in steps.
type point struct{ x, y int32 }

// at is the point nearest to a place in mm; it reports whether there is one.
func at(x, y float64) (point, bool) {
	if !(math.Abs(x) <= farthest && math.Abs(y) <= farthest) {
		return point{}, false
	}
	return point{int32(math.Round(x * perMM)), int32(math.Round(y * perMM))}, true
}

func (p point) sub(q point) point { return point{p.x - q.x, p.y - q.y} }

func (p point) length() float64 { return math.Hypot(float64(p.x), float64(p.y)) }

func (p point) mm() [2]float64 { return [2]float64{float64(p.x) / perMM, float64(p.y) / perMM} }

func abs(x int32) int32 { return max(x, -x) }

func cross(a, b [2]float64) float64 { return a[0]*b[1] - a[1]*b[0] }

func dot(a, b [2]float64) float64 { return a[0]*b[0] + a[1]*b[1] }

// turn is which way c lies of the line from a to b: above zero to the left.
func turn(a, b, c point) int64 {
	return (int64(b.x)-int64(a.x))*(int64(c.y)-int64(a.y)) - (int64(b.y)-int64(a.y))*(int64(c.x)-int64(a.x))
}

// stretch is a straight piece of a burn.
type stretch struct{ a, b point }

// cross reports whether two stretches pass through one another, ends not counted.
func (s stretch) crosses(t stretch) bool {
	return turn(s.a, s.b, t.a) > 0 != (turn(s.a, s.b, t.b) > 0) && turn(t.a, t.b, s.a) > 0 != (turn(t.a, t.b, s.b) > 0) &&
		turn(s.a, s.b, t.a) != 0 && turn(s.a, s.b, t.b) != 0 && turn(t.a, t.b, s.a) != 0 && turn(t.a, t.b, s.b) != 0
}

// touches reports whether two stretches come as near as touch.
func (s stretch) touches(t stretch) bool {
	const r = int32(touch)
	if min(s.a.x, s.b.x)-r > max(t.a.x, t.b.x) || min(t.a.x, t.b.x)-r > max(s.a.x, s.b.x) ||
		min(s.a.y, s.b.y)-r > max(t.a.y, t.b.y) || min(t.a.y, t.b.y)-r > max(s.a.y, s.b.y) {
		return false
	}
	return s.near(t.a) || s.near(t.b) || t.near(s.a) || t.near(s.b) || s.crosses(t)
}

// near reports whether the stretch comes to p as near as touch.
func (s stretch) near(p point) bool {
	x, y := float64(s.b.x-s.a.x), float64(s.b.y-s.a.y)
	px, py := float64(p.x-s.a.x), float64(p.y-s.a.y)
	if l := x*x + y*y; l > 0 {
		t := min(max((x*px+y*py)/l, 0), 1)
		px, py = px-t*x, py-t*y
	}
	return px*px+py*py <= touch*touch
}

// beyond is what of the stretch lies outside of the circles about some points,
// appended to parts.
func (s stretch) beyond(r float64, about []point, parts []stretch) []stretch {
	if len(about) == 0 {
		return append(parts, s)
	}
	o, rest := about[0], about[1:]
	x, y := float64(s.b.x-s.a.x), float64(s.b.y-s.a.y)
	px, py := float64(s.a.x-o.x), float64(s.a.y-o.y)
	a, b, c := x*x+y*y, x*px+y*py, px*px+py*py-r*r
	if d := b*b - a*c; a == 0 || d <= 0 {
		if a == 0 && c < 0 {
			return parts
		}
		return s.beyond(r, rest, parts)
	} else {
		t0, t1 := (-b-math.Sqrt(d))/a, (-b+math.Sqrt(d))/a
		if t1 <= 0 || t0 >= 1 {
			return s.beyond(r, rest, parts)
		}
		if t0 > 0 {
			parts = stretch{s.a, s.along(t0)}.beyond(r, rest, parts)
		}
		if t1 < 1 {
			parts = stretch{s.along(t1), s.b}.beyond(r, rest, parts)
		}
		return parts
	}
}

// along is the point at a fraction of the stretch.
func (s stretch) along(t float64) point {
	return point{s.a.x + int32(math.Round(t*float64(s.b.x-s.a.x))), s.a.y + int32(math.Round(t*float64(s.b.y-s.a.y)))}
}
