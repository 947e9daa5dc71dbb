package sift

import (
	"cmp"
	"math"
	"slices"

	"sagitta/internal/fit/layout"
	"sagitta/internal/least"
	"sagitta/internal/surface"
	"sagitta/internal/touch"
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

const (
	// ledgeFactor times the scatter of jumps along an axis is one that noise does
	// not make, and ledgeMM what none is named for.
	ledgeFactor = 6
	ledgeMM     = 0.2
	// ledgeBend times what a change of slope between them makes of it is more than a
	// fold on one of the touches does: that makes as much.
	ledgeBend = 1.5
	// ledgeLeast jumps side by side are a ledge.
	ledgeLeast = 3
)

// jump is where heights on a lattice jump between two touches side by side: what is on
// the one side, prolonged, misses what is on the other, prolonged.
type jump struct {
	from, to int // nodes
	mm       float64
}

// ledges finds long edges between two levels, which neighbours do not tell from a
// bend, on a lattice: jumps side by side, the same way. Points that are in a step already
// are not looked at.
func ledges(points []surface.Point, known []Step) (steps []Step) {
	g := layout.GridOf(points, touch.SamePlaceMM)
	if g == nil {
		return nil
	}
	nx, ny := len(g.X()), len(g.Y())
	skip := map[int]bool{}
	node := func(p surface.Point) int { return layout.Nearest(g.Y(), p.Y)*nx + layout.Nearest(g.X(), p.X) }
	for _, s := range known {
		for _, p := range s.Points {
			skip[node(p)] = true
		}
	}
	for _, along := range []struct {
		at          []float64
		step, other int // to the next node along, and how many lines there are
		next        int // to the next line
	}{{g.X(), 1, ny, nx}, {g.Y(), nx, nx, 1}} {
		jumps := jumpsOf(g, along.at, along.step, along.other, along.next)
		at := map[int]jump{}
		for _, j := range jumps {
			if !skip[j.from] && !skip[j.to] {
				at[j.from] = j
			}
		}
		for _, j := range jumps {
			var side []jump
			for n := j.from; ; n += along.next {
				next, ok := at[n]
				if !ok || next.mm*j.mm < 0 || len(side) > 0 && along.step == nx && n%nx == 0 {
					break
				}
				delete(at, n)
				side = append(side, next)
			}
			if len(side) < ledgeLeast {
				continue
			}
			slices.SortStableFunc(side, func(a, b jump) int { return cmp.Compare(math.Abs(b.mm), math.Abs(a.mm)) })
			s := Step{HeightMM: side[len(side)/2].mm, Between: true, Count: len(side)}
			for _, k := range side {
				for _, n := range []int{k.from, k.to} {
					s.Points = append(s.Points, surface.Point{X: g.X()[n%nx], Y: g.Y()[n/nx], Z: g.Height(n%nx, n/nx)})
				}
			}
			steps = append(steps, s)
		}
	}
	lines := map[int]int{}
	for _, p := range points {
		lines[node(p)] = p.Line
	}
	for _, s := range steps {
		for k := range s.Points {
			s.Points[k].Line = lines[node(s.Points[k])]
		}
	}
	return steps
}

// jumpsOf finds those along an axis that stand out.
func jumpsOf(g *surface.Surface, at []float64, step, lines, next int) (far []jump) {
	nx := len(g.X())
	height := func(n int) float64 { return g.Height(n%nx, n/nx) }
	var all []jump
	var size, bends []float64
	for line := range lines {
		for i := range len(at) - 3 {
			n := line*next + i*step
			a0, a1, b0, b1 := height(n), height(n+step), height(n+2*step), height(n+3*step)
			half := (at[i+2] - at[i+1]) / 2
			before, after := (a1-a0)/(at[i+1]-at[i])*half, (b1-b0)/(at[i+3]-at[i+2])*half
			if mm := (b0 - after) - (a1 + before); mm == mm {
				all = append(all, jump{n + step, n + 2*step, mm})
				size, bends = append(size, mm), append(bends, math.Abs(after-before))
			}
		}
	}
	limit := max(ledgeMM, ledgeFactor*least.Scatter(size))
	for k, j := range all {
		if math.Abs(j.mm) > max(limit, ledgeBend*bends[k]) {
			far = append(far, j)
		}
	}
	return far
}
