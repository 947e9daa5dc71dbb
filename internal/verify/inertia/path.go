package inertia

import "math"

// Limits are what the axes X, Y and Z can do. One that is 0 is none.
type Limits struct {
	// Speed in mm/s and Accel in mm/s² are the greatest of each axis.
	Speed, Accel [3]float64
	// CornerMM is how near to a corner the circle stays whose speed the corner is passed
	// at. Step is the change of speed in mm/s that each axis takes at once: where one is
	// known, it counts instead.
	CornerMM float64
	Step     [3]float64
	// LinesPerS is how many lines the controller takes in a second.
	LinesPerS float64
}

// move is a straight one.
type move struct {
	length, accel float64
	along         [3]float64
	// top and enter are the squares of the greatest speed along it and where it begins.
	top, enter float64
}

// Path is a path that is gone through, from rest to rest.
type Path struct {
	limits  Limits
	seconds float64
	// moves are those whose speeds are not sure yet; the first is entered at the square
	// of a speed.
	moves   []move
	entered float64
	// most is how many moves are gathered before it is looked which of them are sure.
	most int
}

// leastMoves is how many moves are gathered at first.
const leastMoves = 4096

// New returns a path that begins at rest.
func New(l Limits) *Path { return &Path{limits: l, most: leastMoves} }

// Move goes straight by so much at a speed; line is how long the line is that it is one
// chord of, or all. A move that goes nowhere, or at no speed, is none.
func (p *Path) Move(by [3]float64, speed, line float64) {
	m := move{length: math.Hypot(math.Hypot(by[0], by[1]), by[2]), accel: math.Inf(1)}
	if !(m.length > 0 && speed > 0) {
		return
	}
	for k := range by {
		m.along[k] = by[k] / m.length
		if share := math.Abs(m.along[k]); share > 0 {
			if a := p.limits.Accel[k]; a > 0 {
				m.accel = min(m.accel, a/share)
			}
			if v := p.limits.Speed[k]; v > 0 {
				speed = min(speed, v/share)
			}
		}
	}
	if n := p.limits.LinesPerS; n > 0 {
		speed = min(speed, line*n)
	}
	m.top = speed * speed
	if n := len(p.moves); n > 0 {
		last := &p.moves[n-1]
		corner := p.limits.corner(&last.along, &m.along)
		m.enter = min(corner*corner, last.top, m.top)
	}
	p.moves = append(p.moves, m)
	if len(p.moves) >= p.most {
		p.settle()
	}
}

// Stop comes to rest, and stays there for a time in s.
func (p *Path) Stop(seconds float64) {
	p.through(len(p.moves), p.brake(0))
	p.moves, p.entered, p.most = p.moves[:0], 0, leastMoves
	p.seconds += seconds
}

// Seconds comes to rest, and gives the time of all so far.
func (p *Path) Seconds() float64 {
	p.Stop(0)
	return p.seconds
}

// settle goes through the moves that nothing which follows can change: where the last
// is left at, be it rest or as fast as can be, they end at the same speed.
func (p *Path) settle() {
	rest, free := p.brake(0), p.brake(p.moves[len(p.moves)-1].top)
	n := len(p.moves) - 1
	for n > 0 && rest[n-1] < free[n-1] {
		n--
	}
	if n == 0 {
		p.most *= 2
		return
	}
	p.entered = p.through(n, rest)
	p.moves = p.moves[:copy(p.moves, p.moves[n:])]
	p.moves[0].enter, p.most = p.entered, leastMoves
}

// brake gives the squares of the speeds at which each move may be left so that all that
// follow can be braked for, the last being left at one.
func (p *Path) brake(left float64) []float64 {
	leave := make([]float64, len(p.moves))
	for k := len(p.moves) - 1; k >= 0; k-- {
		m := &p.moves[k]
		leave[k] = left
		left = min(m.enter, left+2*m.accel*m.length)
	}
	return leave
}

// through goes through the first n moves, of which each may be left at the square of a
// speed, and gives that of the last.
func (p *Path) through(n int, leave []float64) float64 {
	in := p.entered
	for k := range n {
		m := &p.moves[k]
		out := min(leave[k], m.top, in+2*m.accel*m.length)
		p.seconds += m.takes(in, out)
		in = out
	}
	return in
}

// takes is the time of a move between the squares of two speeds.
func (m *move) takes(in, out float64) float64 {
	if math.IsInf(m.accel, 1) {
		return m.length / math.Sqrt(m.top)
	}
	peak := max(in, out, min(m.top, (in+out)/2+m.accel*m.length))
	up, down := (peak-in)/(2*m.accel), (peak-out)/(2*m.accel)
	v := math.Sqrt(peak)
	return (2*v-math.Sqrt(in)-math.Sqrt(out))/m.accel + max(0, m.length-up-down)/v
}

// corner is the greatest speed from one direction into another, +Inf where they are the
// same.
func (l *Limits) corner(in, out *[3]float64) float64 {
	var turn [3]float64
	for k := range turn {
		turn[k] = out[k] - in[k]
	}
	size := math.Hypot(math.Hypot(turn[0], turn[1]), turn[2])
	if size == 0 {
		return math.Inf(1)
	}
	if l.Step != ([3]float64{}) {
		most := math.Inf(1)
		for k, d := range turn {
			if s := l.Step[k]; s > 0 && d != 0 {
				most = min(most, s/math.Abs(d))
			}
		}
		return most
	}
	accel := math.Inf(1)
	for k, d := range turn {
		if a := l.Accel[k]; a > 0 && d != 0 {
			accel = min(accel, a*size/math.Abs(d))
		}
	}
	// The circle is met where it touches both moves; its middle lies on the line that
	// halves the angle between them, radius/cos(half) from the corner, so that
	// CornerMM = radius·(1/cos(half) - 1).
	half := math.Asin(min(1, size/2))
	quarter := math.Sin(half / 2)
	return math.Sqrt(accel * l.CornerMM * math.Cos(half) / (2 * quarter * quarter))
}
