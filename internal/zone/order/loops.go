package order

import (
	"cmp"
	"slices"
)

// loop is a closed line: of one figure that is closed or comes back to itself, or
// of open ones that meet end to end.
type loop struct {
	sides []side // from which ends the figures are passed
	// Of a figure that comes back to itself the points from first on, up to end;
	// else end is 0.
	first, end int
}

// side is a figure as it leaves one of its ends: twice its number, one more at
// its end.
type side = int32

// loops finds the closed figures, those that come back to themselves, as with a
// way in and a way out, and the chains of open ones that close: the faces between
// them. It marks the figures that are part of one.
func loops(j *Job, figs []figure) []loop {
	var all []loop
	for f := range figs {
		switch first, end := j.span(&figs[f]); {
		case figs[f].closed:
			all = append(all, loop{sides: []side{2 * int32(f)}})
		case figs[f].whole && end-first >= 4:
			if i, k := ring(j.pts[first:end]); k-i > 2 {
				all = append(all, loop{[]side{2 * int32(f)}, first + i, first + k})
			}
		}
	}
	net := newNet(j, figs)
	done := make([]bool, len(net.node))
	for s, node := range net.node {
		if node < 0 || done[s] {
			continue
		}
		var l loop
		var sum float64
		for s := side(s); !done[s]; s = net.next(s) {
			done[s] = true
			l.sides = append(l.sides, s)
			sum += area(j, &figs[s/2], s%2 == 1)
		}
		if sum > 0 {
			all = append(all, l)
		}
	}
	for _, l := range all {
		for _, s := range l.sides {
			figs[s/2].loop = true
		}
	}
	return all
}

// area is twice what lies to the left of a figure, up to the origin.
func area(j *Job, f *figure, back bool) float64 {
	first, end := j.span(f)
	var sum float64
	for k := first + 1; k < end; k++ {
		p, q := j.pts[k-1], j.pts[k]
		sum += float64(p.x)*float64(q.y) - float64(q.x)*float64(p.y)
	}
	if back {
		return -sum
	}
	return sum
}

// ring is the longest part of a line that leads back to where it begins: from one
// of its points up to another in the same place, or from where one of its ends
// lies on it. It is empty where there is none.
func ring(line []point) (first, end int) {
	n := len(line)
	widest := func(i, k int) {
		if k-i > end-first {
			first, end = i, k
		}
	}
	order := make([]int, n)
	for i := range order {
		order[i] = i
	}
	slices.SortFunc(order, func(a, b int) int {
		p, q := line[a], line[b]
		return cmp.Or(cmp.Compare(p.x, q.x), cmp.Compare(p.y, q.y), a-b)
	})
	for i := 0; i < n; {
		k := i
		for k+1 < n && line[order[k+1]] == line[order[i]] {
			k++
		}
		if k > i {
			widest(order[i], order[k]+1)
		}
		i = k + 1
	}
	for k := 1; k < n; k++ {
		s := stretch{line[k-1], line[k]}
		if k > 1 && s.near(line[0]) {
			widest(0, k)
		}
		if k < n-1 && s.near(line[n-1]) {
			widest(k, n)
		}
	}
	return first, end
}
