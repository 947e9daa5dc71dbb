package touch

import "math"

// vec is a place or a way, in mm.
type vec struct{ x, y float64 }

func (a vec) sub(b vec) vec              { return vec{a.x - b.x, a.y - b.y} }
func (a vec) along(b vec, t float64) vec { return vec{a.x + t*(b.x-a.x), a.y + t*(b.y-a.y)} }
func (a vec) dot(b vec) float64          { return a.x*b.x + a.y*b.y }
func (a vec) cross(b vec) float64        { return a.x*b.y - a.y*b.x }
func (a vec) length() float64            { return math.Hypot(a.x, a.y) }

func (p point) mm() vec { return vec{float64(p.x) / perMM, float64(p.y) / perMM} }

// line is a straight line.
type line struct{ a, b vec }

// near gives the place on the line that is nearest to p, and how far off it is.
func (s line) near(p vec) (vec, float64) {
	d := s.b.sub(s.a)
	t := 0.0
	if q := d.dot(d); q > 0 {
		t = min(max(p.sub(s.a).dot(d)/q, 0), 1)
	}
	at := s.a.along(s.b, t)
	return at, p.sub(at).length()
}

// touches gives a place at which two lines touch, and reports whether there is one.
func (s line) touches(o line) (vec, bool) {
	for _, p := range [2]vec{o.a, o.b} {
		if at, off := s.near(p); off <= Near {
			return at, true
		}
	}
	for _, p := range [2]vec{s.a, s.b} {
		if _, off := o.near(p); off <= Near {
			return p, true
		}
	}
	d, e := s.b.sub(s.a), o.b.sub(o.a)
	a0, a1 := d.cross(o.a.sub(s.a)), d.cross(o.b.sub(s.a))
	b0, b1 := e.cross(s.a.sub(o.a)), e.cross(s.b.sub(o.a))
	if a0 > 0 == (a1 > 0) || b0 > 0 == (b1 > 0) {
		return vec{}, false
	}
	// Of lines that lie on one, the signs are those of what float64 loses.
	at := s.a.along(s.b, b0/(b0-b1))
	_, off := o.near(at)
	return at, off <= Near
}

// beyond are the parts of the line that lie outside of a circle about a joint.
func (s line) beyond(joint vec, radius float64) []line {
	d, f := s.b.sub(s.a), s.a.sub(joint)
	a, b, c := d.dot(d), f.dot(d), f.dot(f)-radius*radius
	root := b*b - a*c
	if a == 0 || root <= 0 {
		if c <= 0 && a == 0 {
			return nil
		}
		return []line{s}
	}
	t0, t1 := (-b-math.Sqrt(root))/a, (-b+math.Sqrt(root))/a
	if t1 <= 0 || t0 >= 1 {
		return []line{s}
	}
	var parts []line
	if t0 > 0 {
		parts = append(parts, line{s.a, s.a.along(s.b, t0)})
	}
	if t1 < 1 {
		parts = append(parts, line{s.a.along(s.b, t1), s.b})
	}
	return parts
}
