package machine

import "math"

// angleSteps is how many steps the tangent from 0 to 1 has in angleOf.
const angleSteps = 256

// angleOf holds the angles whose tangents are the steps, as a float and what is
// left of the angle beside it. It is a power of two long, so that a masked index
// needs no check.
var angleOf = makeAngles()

func makeAngles() (a [2 * angleSteps]struct{ angle, rest float64 }) {
	sum, rest := 0.0, 0.0
	for k := 1.0; k <= angleSteps; k++ {
		// From the tangents (k-1)/n to k/n it is that of n/(n*n+k*(k-1)), so
		// small that its own error does not matter.
		more := math.Atan(angleSteps/(angleSteps*angleSteps+k*(k-1))) + rest
		next := sum + more
		sum, rest = next, more-(next-sum)
		a[int(k)].angle, a[int(k)].rest = sum, rest
	}
	return a
}

// octant says how an angle follows from the one between its direction and the
// axis nearest to it.
type octant struct{ from, sign float64 }

// octants are told by 1 where y is not above 0, 2 where x is below 0, and 4
// where the direction is nearer to the y axis.
var octants = [8]octant{
	{0, 1}, {2 * math.Pi, -1}, {math.Pi, -1}, {math.Pi, 1},
	{math.Pi / 2, -1}, {3 * math.Pi / 2, 1}, {math.Pi / 2, 1}, {3 * math.Pi / 2, -1},
}

// angle returns the angle from the x axis to the direction x, y, which are finite
// and not both 0, counter-clockwise: more than none and at most a full turn, to
// within 2 units in the last place however small it is. The x axis itself is a
// full turn.
//
// It is math.Atan2 but for where the turn is cut, and for its time: arcs have
// any angle, so a branch that depends on one is guessed wrongly half the time,
// at the cost of all the arithmetic here. So there is none: what depends on the
// angle is looked up.
func angle(y, x float64) float64 {
	xs, ys := math.Float64bits(x), math.Float64bits(y)
	// Magnitudes have the order of their bits.
	ax, ay := xs&^signBit, ys&^signBit
	steep := (ax - ay) >> 63
	in := octants[steep<<2|xs>>63<<1|((ys-1)|ys)>>63]
	// With the angle of the nearest step taken off, the rest is so small that
	// two terms of the series are more than a float holds. The difference of
	// tangents is exact, as they are less than a factor of two apart.
	t := math.Float64frombits(min(ax, ay)) / math.Float64frombits(max(ax, ay))
	at := t + toStep
	step := at - toStep
	u := (t - step) / (1 + step*t)
	z := u * u
	on := &angleOf[math.Float64bits(at)%uint64(len(angleOf))]
	return in.from + in.sign*(on.angle+(on.rest-u*z*(1.0/3-z*(1.0/5))+u))
}

// toStep is so large that a float next to it is a step away: adding it rounds a
// tangent to steps, whose number is then in the lowest bits.
const toStep = 1.5 * (1 << 52) / angleSteps

// signBit is the sign of a float.
const signBit = 1 << 63
