package verify

import (
	"math"

	"github.com/paulmach/orb"

	"sagitta/internal/machine"
)

// beyond is by how many mm the motion under way goes out of the machine's reach at most,
// and where. Where it starts was held to that before.
func (j *Judge) beyond() (by float64, at [2]float64) {
	m, reach := &j.S.M, &j.Opt.Reach
	if !j.S.Known || reach.X == nil && reach.Y == nil {
		return 0, at
	}
	places := [][2]float64{{m.To.X, m.To.Y}}
	if m.Kind == machine.Arc && !m.FromUnknown {
		places = appendSides(places, m)
	}
	for _, p := range places {
		for k, limits := range [2]*[2]float64{reach.X, reach.Y} {
			if limits == nil {
				continue
			}
			if out := max(limits[0]-p[k], p[k]-limits[1]); out > by {
				by, at = out, p
			}
		}
	}
	return by, at
}

// extend takes the burn under way into the extent.
func (j *Judge) extend() {
	m, b := &j.S.M, &j.Res.Extent
	if j.Res.Burns == 0 {
		*b = orb.Point(m.XY(0)).Bound()
	}
	take := func(x, y float64) {
		b.Min[0], b.Min[1] = min(b.Min[0], x), min(b.Min[1], y)
		b.Max[0], b.Max[1] = max(b.Max[0], x), max(b.Max[1], y)
	}
	take(m.From.X, m.From.Y)
	take(m.To.X, m.To.Y)
	if m.Kind == machine.Arc {
		var sides [4][2]float64
		for _, p := range appendSides(sides[:0], m) {
			take(p[0], p[1])
		}
	}
}

// appendSides appends the sides of the circle, along X and Y, that an arc passes.
func appendSides(places [][2]float64, m *machine.Move) [][2]float64 {
	way, r := math.Copysign(1, m.Sweep), max(m.R0, m.R1)
	for _, side := range [4][2]float64{{1, 0}, {0, 1}, {-1, 0}, {0, -1}} {
		ahead := way * (math.Atan2(side[1], side[0]) - m.A0)
		if ahead -= 2 * math.Pi * math.Floor(ahead/(2*math.Pi)); ahead <= math.Abs(m.Sweep) {
			places = append(places, [2]float64{m.CX + r*side[0], m.CY + r*side[1]})
		}
	}
	return places
}
