package order

import "math"

const (
	// straight is how far a corner that is left out lies from the line over it,
	// chord how far an arc from its chords, in mm: together with the rounding of
	// points less than what touches are wider than they are asked to be.
	straight, chord = 0.0004, 0.0008
	// bridged is the length in mm of a gap in line that goes with the burns on
	// both sides of it: white in a row of a raster.
	bridged = 1
)

// Line goes on with the piece under way along a straight line.
func (j *Job) Line(x0, y0, x1, y1 float64) {
	a, okA := at(x0, y0)
	b, okB := at(x1, y1)
	if !okA || !okB {
		j.give(tooFar)
	}
	if j.why != "" {
		return
	}
	j.from(a, b)
	j.to(b)
}

// Point goes on with the piece under way with a burn that has no length.
func (j *Job) Point(x, y float64) { j.Line(x, y, x, y) }

// Arc goes on with the piece under way along an arc about a centre, from angle a0
// over sweep (counter-clockwise where positive, in radians), while the radius goes
// from r0 to r1.
func (j *Job) Arc(cx, cy, r0, r1, a0, sweep float64) {
	place := func(t float64) (point, bool) {
		sin, cos := math.Sincos(a0 + t*sweep)
		r := r0 + t*(r1-r0)
		return at(cx+r*cos, cy+r*sin)
	}
	a, ok := place(0)
	n := 1.0
	if r := max(math.Abs(r0), math.Abs(r1)); r > 0 {
		n = math.Ceil(math.Abs(sweep) / min(1, 2*math.Sqrt(2*chord/max(r, 2*chord))*0.98))
	}
	if !ok || !(n < 1e6) {
		j.give(tooFar)
	}
	if j.why != "" {
		return
	}
	n = max(n, 1)
	for i := 1.0; i <= n; i++ {
		b, ok := place(i / n)
		if !ok {
			j.give(tooFar)
			return
		}
		if i == 1 {
			j.from(a, b)
		}
		j.to(b)
		if j.why != "" {
			return
		}
	}
}

// from goes on from a, on to b: in the chain under way if it ends there, or in
// line with its last segment a little before.
func (j *Job) from(a, b point) {
	if n := len(j.chains); n > int(j.pieces[len(j.pieces)-1].chain) {
		last := j.pts[len(j.pts)-1]
		d := a.sub(last)
		if max(abs(d.x), abs(d.y)) <= 1 {
			return
		}
		gap := j.merge
		if d.length() <= bridged*perMM && j.segment() && a != b && gap.takes(a) && gap.takes(b) {
			j.to(a)
			return
		}
	}
	j.chains = append(j.chains, int32(len(j.pts)))
	j.add(a)
}

// segment reports whether the chain under way has one.
func (j *Job) segment() bool { return len(j.pts)-int(j.chains[len(j.chains)-1]) >= 2 }

// to adds a segment to the chain under way, or lengthens its last.
func (j *Job) to(b point) {
	n := len(j.pts)
	if j.why != "" || j.pts[n-1] == b {
		return
	}
	if j.segment() && j.merge.takes(b) {
		j.pts[n-1] = b
		return
	}
	j.merge = sleeve{from: j.pts[n-1]}
	j.merge.takes(b)
	j.add(b)
}

func (j *Job) add(p point) {
	if len(j.pts) == mostPoints {
		j.give(tooManyPoints)
		return
	}
	j.pts = append(j.pts, p)
}

// sleeve is what directions a line from a point may have that passes all points
// that it has taken at most straight away.
type sleeve struct {
	from   point
	lo, hi [2]float64 // the outermost directions, lo clockwise of hi
	on     [2]float64 // to the last point taken
	any    bool
}

// takes takes one point more, or reports that the line would miss one.
func (s *sleeve) takes(p point) bool {
	d := [2]float64{float64(p.x) - float64(s.from.x), float64(p.y) - float64(s.from.y)}
	if s.any && (cross(s.lo, d) < 0 || cross(d, s.hi) < 0 || dot(d, s.on) < dot(s.on, s.on)) {
		return false
	}
	k := straight * perMM / math.Hypot(d[0], d[1])
	lo := [2]float64{d[0] + k*d[1], d[1] - k*d[0]}
	hi := [2]float64{d[0] - k*d[1], d[1] + k*d[0]}
	if !s.any || cross(s.lo, lo) > 0 {
		s.lo = lo
	}
	if !s.any || cross(hi, s.hi) > 0 {
		s.hi = hi
	}
	s.on, s.any = d, true
	return true
}
