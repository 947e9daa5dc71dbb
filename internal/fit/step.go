package fit

import (
	"cmp"
	"math"
	"slices"

	"sagitta/internal/surface"
)

// Step is a group of touches side by side that are off the same way: a recess, a
// ledge, or several slips.
type Step struct {
	// Points are those that have one beside them that is not of the group, the
	// furthest off first; Count is how many the group has.
	Points []surface.Point
	Count  int
	// HeightMM is how high it stands over what is around, below zero for a recess.
	HeightMM float64
	// Between is an edge between two levels: Points are on either side of it, Count is
	// how many pairs of them there are, and HeightMM is its height along X or Y.
	Between bool
}

const (
	// agreesPart is the part of the greater that the smaller of two residuals must
	// be to bear it out: the wall of a recess is touched somewhere on its way down.
	agreesPart = 0.25
	// abruptPart is the part of its height that a step rises between two touches.
	abruptPart = 0.5
)

// steps finds the groups among the points that are gone, and takes them back.
func (det *detector) steps() (steps []Step) {
	groups := det.groups()
	for _, g := range groups {
		s := Step{Count: len(g)}
		slices.SortStableFunc(g, func(a, b int) int { return cmp.Compare(math.Abs(det.off[b]), math.Abs(det.off[a])) })
		s.HeightMM = det.off[g[len(g)/2]]
		for _, k := range g {
			if det.edge(k) {
				s.Points = append(s.Points, det.points[k])
			}
		}
		steps = append(steps, s)
	}
	for _, g := range groups {
		for _, k := range g {
			det.gone[k] = false
		}
	}
	return steps
}

// edge reports whether a point that is gone has one beside it that is not, or is off
// the other way.
func (det *detector) edge(k int) bool {
	return slices.ContainsFunc(det.Beside(k), func(m int32) bool { return !det.gone[m] || det.off[m]*det.off[k] < 0 })
}

// groups gathers points that are gone and off the same way as one beside them.
func (det *detector) groups() (groups [][]int) {
	same := func(a, b int) bool { return det.gone[b] && !det.spared[b] && det.off[a]*det.off[b] > 0 }
	// Two that agree begin a group; what else is off the same way beside it
	// belongs to it.
	in := make([]bool, len(det.points))
	for k := range det.points {
		if !det.gone[k] || det.spared[k] {
			continue
		}
		in[k] = slices.ContainsFunc(det.Beside(k), func(m int32) bool {
			a, b := math.Abs(det.off[k]), math.Abs(det.off[m])
			return same(k, int(m)) && min(a, b) >= agreesPart*max(a, b)
		})
	}
	seen := make([]bool, len(det.points))
	for k := range det.points {
		if !in[k] || seen[k] {
			continue
		}
		seen[k] = true
		group := []int{k}
		for at := 0; at < len(group); at++ {
			for _, m := range det.Beside(group[at]) {
				if !seen[m] && same(group[at], int(m)) {
					seen[m] = true
					group = append(group, int(m))
				}
			}
		}
		groups = append(groups, group)
	}
	return groups
}

// abrupt reports whether a group rises most of its height from one touch to the next.
func (det *detector) abrupt(group []int) bool {
	most, jump := 0.0, 0.0
	for _, k := range group {
		off := math.Abs(det.off[k])
		most = max(most, off)
		for _, m := range det.Beside(k) {
			if !det.gone[m] {
				jump = max(jump, math.Abs(det.off[k]-det.off[m]))
			}
		}
	}
	return jump >= abruptPart*most
}
