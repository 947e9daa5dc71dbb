package motion

import "math"

// Vector is an amount for each axis: X, Y and the focus axis Z.
type Vector [3]float64

// Limits are what the axes and the controller can do. A limit that is 0 is none.
type Limits struct {
	// Speed is the greatest of each axis in mm/s, and Accel the greatest acceleration in
	// mm/s².
	Speed, Accel Vector
	// CornerMM is how near to a corner the circle stays whose speed a corner is passed at:
	// the circle that touches both moves. Where neither it nor Step is known, corners are
	// stopped at.
	CornerMM float64
	// Step is the change of speed that each axis takes at once, in mm/s. Where one is
	// known, they count instead of CornerMM; an axis of which none is known takes any.
	Step Vector
	// LinesPerS is how many lines the controller takes in a second: moves, or more of them
	// that are one.
	LinesPerS float64
}

// least is the greatest amount along a direction, of length 1, that keeps each axis within
// its limit; +Inf where none limits it.
func (v *Vector) least(along *Vector) float64 {
	most := math.Inf(1)
	for k, d := range along {
		if d = math.Abs(d); v[k] > 0 && d > 0 {
			most = min(most, v[k]/d)
		}
	}
	return most
}

// through is the greatest speed at the corner from one direction to another, both of length
// 1; +Inf where they are the same.
func (l *Limits) through(in, out *Vector) float64 {
	var turn Vector
	sum, size := 0.0, 0.0
	for k := range turn {
		turn[k] = out[k] - in[k]
		size += turn[k] * turn[k]
		sum += (out[k] + in[k]) * (out[k] + in[k])
	}
	if size/4 == 0 { // or so little that its square is nothing
		return math.Inf(1)
	}
	if l.Step != (Vector{}) {
		return l.Step.least(&turn)
	}
	square := size / 4 // s²
	size = math.Sqrt(size)
	for k := range turn {
		turn[k] /= size
	}
	// Of half the angle by which the direction turns, s and c are sine and cosine. A circle
	// of radius r that touches both moves has its centre r/c from the corner, so r/c - r =
	// CornerMM; and 1 - c = s²/(1 + c).
	c := math.Sqrt(sum) / 2
	return math.Sqrt(l.Accel.least(&turn) * l.CornerMM * c * (1 + c) / square)
}
