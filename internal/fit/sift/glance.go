package sift

import (
	"math"

	"sagitta/internal/fit/form"
)

// glanced is how many points lie in a block at most that is looked at as a whole: three
// to five for each term of a quadric.
const glanced = 32

// quiet takes the residuals of a block of points by what a quadric through all others of
// the block foretells, and reports whether that will do: none is off by half of what no
// touch is thrown away for. It takes a tenth of the time of asking the neighbours of
// each. What that costs in truth: the quadric is not a robust one, so that a bad touch
// among its points moves it, but by less than half of what the touch is off, which then
// shows; and of a point at the border of a block it foretells less sharply than
// neighbours on all sides would, which its wider scatter accounts for.
func (det *detector) quiet(block []int32) bool {
	if len(block) < 3*6 {
		return false
	}
	here := det.At(int(block[0]))
	z := det.points[block[0]].Z
	reach := 0.0
	for _, k := range block {
		if det.gone[k] {
			return false
		}
		at := det.At(int(k))
		reach = max(reach, math.Abs(at[0]-here[0]), math.Abs(at[1]-here[1]))
	}
	eq := det.quadric
	eq.Clear()
	var rows [glanced][6]float64
	for m, k := range block {
		at := det.At(int(k))
		rows[m] = form.Quadratic((at[0]-here[0])/reach, (at[1]-here[1])/reach)
		eq.Add(1, det.points[k].Z-z, rows[m][:])
	}
	var c [6]float64
	if !eq.Solve(c[:]) {
		return false
	}
	for m, k := range block {
		off, leverage, g := det.points[k].Z-z, 0.0, rows[m]
		eq.Back(g[:])
		for j, v := range rows[m] {
			off -= c[j] * v
			leverage += g[j] * v
		}
		left := 1 - leverage
		if off /= left; !(left > leastLeft && math.Abs(off) <= looksPart*LeastMM) {
			return false
		}
		det.off[k], det.t[k] = off, off*math.Sqrt(left)
	}
	return true
}

// leastLeft is the least that a leverage may leave for a point to be foretold by the
// others of its block.
const leastLeft = 0.2
