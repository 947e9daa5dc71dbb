package motion

import "math"

// Rise is the greatest change of the slope of Z over XY, in mm per mm, that does not slow
// the head at a corner that it passes at a speed in mm/s, where its direction over XY turns
// by turn: the length of what two directions of length 1 differ by, 0 straight on and 2 at a
// reversal. It is +Inf where Z limits nothing, or the head stands. Slopes are small: to
// second order.
func (l *Limits) Rise(turn, speed float64) float64 {
	if speed <= 0 {
		return math.Inf(1)
	}
	if l.Step != (Vector{}) {
		if l.Step[2] <= 0 {
			return math.Inf(1)
		}
		return l.Step[2] / speed
	}
	if l.Accel[2] <= 0 {
		return math.Inf(1)
	}
	// The direction changes by turn over XY and by r along Z, together by d = √(turn² + r²).
	// Z's share of that is r/d, so with s = d/2 the rule of through is
	// speed² = Accel·d/r·CornerMM·c(1 + c)/s², or r·d = q; c is nearly that over XY.
	c := math.Sqrt(max(0, 1-turn*turn/4))
	q := 4 * l.Accel[2] * l.CornerMM * c * (1 + c) / (speed * speed)
	if q == 0 {
		return 0
	}
	t := turn * turn
	return q * math.Sqrt(2/(t+math.Sqrt(t*t+4*q*q)))
}

// Turn is the greatest speed in mm/s at which the head passes a corner over XY from one
// direction to another, both of length 1; +Inf straight on.
func (l *Limits) Turn(in, out [2]float64) float64 {
	return l.through(&Vector{in[0], in[1]}, &Vector{out[0], out[1]})
}
