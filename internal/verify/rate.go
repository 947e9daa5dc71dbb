package verify

import "math"

// shortStretch in s is the shortest stretch that counts for the rate of Z: what is
// shorter a controller smooths away.
const shortStretch = 0.02

// longTrack in s is after how long times are counted anew, so that they stay exact.
const longTrack = 1000

// pace holds Z to its rate: over any stretch of shortStretch and longer it changes by no
// more than the rate allows, and what rounding makes of both ends. Z is straight between
// vertices in time, and so the worst stretch begins or ends at one, or is as short as may
// be with a vertex at one end.
type pace struct {
	rate float64 // mm/s
	last float64 // the coarsest last decimal so far, in mm
	// vertices are those of the last shortStretch, and the one before; first is the
	// first of them that no stretch begins at yet.
	vertices []vertex
	first    int
	// up and down are where the worst stretches begin that end here or later.
	up, down vertex
}

// vertex is a Z at a time, in mm and s.
type vertex struct{ t, z float64 }

// restart forgets all that was, Z being z.
func (p *pace) restart(z float64) {
	p.vertices, p.first = append(p.vertices[:0], vertex{0, z}), 0
	p.up, p.down = vertex{math.Inf(1), z}, vertex{math.Inf(1), z}
}

// take goes on for so many s, above 0, to z, in a last decimal of so many mm. It gives the worst
// stretch that ends there: from and to are its ends, over is by how much Z changes more
// than it may in mm, below 0 where it does not.
func (p *pace) take(seconds, z, last float64) (from, to vertex, over float64) {
	over = math.Inf(-1)
	p.last = max(p.last, last)
	p.age()
	a := p.vertices[len(p.vertices)-1]
	b := vertex{a.t + seconds, z}
	p.vertices = append(p.vertices, b)
	look := func(end vertex) {
		for ; p.first < len(p.vertices) && p.vertices[p.first].t <= end.t-shortStretch; p.first++ {
			p.begin(p.vertices[p.first])
		}
		if p.first == 0 {
			return // there is no stretch so long
		}
		if p.first < len(p.vertices) {
			p.begin(between(p.vertices[p.first-1], p.vertices[p.first], end.t-shortStretch))
		}
		for _, start := range [2]vertex{p.up, p.down} {
			if by := math.Abs(end.z-start.z) - p.rate*(end.t-start.t); by-2*p.last > over {
				from, to, over = start, end, by-2*p.last
			}
		}
	}
	for k := p.first; k < len(p.vertices)-1; k++ {
		if t := p.vertices[k].t + shortStretch; t > a.t && t < b.t {
			look(between(a, b, t))
		}
	}
	look(b)
	if drop := p.first - 1; drop > 0 && drop >= len(p.vertices)/2 {
		p.vertices, p.first = p.vertices[:copy(p.vertices, p.vertices[drop:])], 1
	}
	return from, to, over
}

// begin lets stretches begin at a vertex.
func (p *pace) begin(v vertex) {
	if math.IsInf(p.up.t, 1) || v.z-p.rate*v.t < p.up.z-p.rate*p.up.t {
		p.up = v
	}
	if math.IsInf(p.down.t, 1) || -v.z-p.rate*v.t < -p.down.z-p.rate*p.down.t {
		p.down = v
	}
}

// age counts times anew.
func (p *pace) age() {
	t := p.vertices[0].t
	if t < longTrack {
		return
	}
	for k := range p.vertices {
		p.vertices[k].t -= t
	}
	p.up.t -= t
	p.down.t -= t
}

// between is where Z is at a time between two vertices.
func between(a, b vertex, t float64) vertex {
	return vertex{t, a.z + (b.z-a.z)*((t-a.t)/(b.t-a.t))}
}
