package advise

import (
	"math"

	"sagitta/internal/surface"
)

const (
	// pointMesh is how many lines each way are looked along for a place of
	// a height.
	pointMesh = 64
	// pointTolerance is how far in mm its height may be off: what no bench
	// sets better.
	pointTolerance = 0.005
)

// point finds a place on the stock of a height: where a line of a mesh over
// the surface passes it. Outside the extent of the burns before inside it,
// and near the middle.
func (j *Job) point(p *surface.Placed, h float64) Spot {
	xs, ys := p.Surface().X(), p.Surface().Y()
	x0, x1, y0, y1 := xs[0], xs[len(xs)-1], ys[0], ys[len(ys)-1]
	best, least := Spot{}, math.Inf(1)
	over := func(u, v float64) (x, y, d float64, ok bool) {
		x, y = p.Program(x0+(x1-x0)*u, y0+(y1-y0)*v)
		x, y = math.Round(x*1e3)/1e3, math.Round(y*1e3)/1e3
		at, where := p.At(x, y)
		return x, y, at - h, where == surface.On
	}
	try := func(u, v float64) {
		x, y, d, ok := over(u, v)
		if !ok {
			return
		}
		// What is off by more counts first, then marks, then the way.
		bad := 1e6*max(0, math.Abs(d)-pointTolerance) + math.Hypot(u-0.5, v-0.5)
		if x > j.x0 && x < j.x1 && y > j.y0 && y < j.y1 {
			bad += 10
		}
		if bad < least {
			best, least = Spot{MM: h + d, X: x, Y: y}, bad
		}
	}
	along := func(at func(t float64) (u, v float64)) {
		_, _, d0, ok0 := over(at(0))
		for k := range pointMesh {
			a, b := float64(k)/pointMesh, float64(k+1)/pointMesh
			_, _, d1, ok1 := over(at(b))
			try(at(b))
			if ok0 && ok1 && d0*d1 < 0 {
				rises := d1 > d0
				for range 30 {
					m := (a + b) / 2
					if _, _, d, _ := over(at(m)); d > 0 == rises {
						b = m
					} else {
						a = m
					}
				}
				try(at(b))
			}
			d0, ok0 = d1, ok1
		}
	}
	for k := range pointMesh + 1 {
		t := float64(k) / pointMesh
		along(func(s float64) (u, v float64) { return s, t })
		along(func(s float64) (u, v float64) { return t, s })
	}
	return best
}
