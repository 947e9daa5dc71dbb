package fit

import (
	"github.com/paulmach/orb"

	"sagitta/internal/surface"
)

// Around is the convex outline of what lines lead through, closed; nil without any.
func Around(lines orb.MultiLineString) orb.Ring {
	var points []surface.Point
	for _, line := range lines {
		for _, q := range line {
			points = append(points, surface.Point{X: q[0], Y: q[1]})
		}
	}
	if len(points) == 0 {
		return nil
	}
	ring := orb.Ring(newHull(points))
	return append(ring, ring[0])
}
