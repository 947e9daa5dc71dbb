package machine

import (
	"iter"
	"math"
)

// Reach is how far X and Y go, from the least to the greatest place in mm, as places of
// the program count; nil is without limit.
type Reach struct{ X, Y *[2]float64 }

// reachSlack in mm is more than rounding makes of a place.
const reachSlack = 1e-6

// Beyond is by how many mm a place is out of reach, 0 where it is not.
func (r *Reach) Beyond(x, y float64) float64 {
	by := 0.0
	if r.X != nil {
		by = max(by, r.X[0]-x, x-r.X[1])
	}
	if r.Y != nil {
		by = max(by, r.Y[0]-y, y-r.Y[1])
	}
	if by <= reachSlack {
		return 0
	}
	return by
}

// Worst is where a move goes out of reach the most, and by how many mm; 0 where it does
// not. Where it starts is the matter of the one before.
func (r *Reach) Worst(m *Move) (at [2]float64, by float64) {
	try := func(s float64) {
		place := m.XY(s)
		if out := r.Beyond(place[0], place[1]); out > by {
			at, by = place, out
		}
	}
	for s := range m.Furthest() {
		try(s)
	}
	return at, by
}

// Furthest yields the fractions of a move at which it may be furthest along an axis, but
// for where it starts: the end, and where the angle of an arc is a whole number of
// quarter turns, of which four tell.
func (m *Move) Furthest() iter.Seq[float64] {
	return func(yield func(float64) bool) {
		if !yield(1) || m.Kind != Arc || m.Sweep == 0 || m.FromUnknown {
			return
		}
		const quarter = math.Pi / 2
		end := m.A0 + m.Sweep
		first := math.Ceil(min(m.A0, end) / quarter)
		for k := first; k < first+4 && k*quarter <= max(m.A0, end); k++ {
			if !yield((k*quarter - m.A0) / m.Sweep) {
				return
			}
		}
	}
}
