package slip

import (
	"math"
	"slices"
)

// guesses tries all slips, one after the other. What it hands over holds until the next.
func (s *search) guesses(try func(guess)) {
	nx, ny := len(s.X), len(s.Y)
	s.lines(try, false, ny, func(line int) []int { return series(line*nx, 1, nx) })
	s.lines(try, true, nx, func(line int) []int { return series(line, nx, ny) })
	s.series(try, s.Order)
	s.pairs(try)
}

// series gives nodes at even steps.
func series(from, step, count int) (nodes []int) {
	for k := range count {
		nodes = append(nodes, from+k*step)
	}
	return nodes
}

// lines tries what befalls whole lines.
func (s *search) lines(try func(guess), columns bool, count int, at func(line int) []int) {
	line := make([][]int, count)
	for k := range line {
		line[k] = at(k)
	}
	var moves []move
	var nodes []int
	give := func(kind Kind, first, last, lost int) {
		if len(moves) > 0 {
			try(guess{Slip: Slip{Kind: kind, Columns: columns, First: first, Last: last, Nodes: nodes, Lost: lost}, moves: moves})
		}
		moves, nodes = moves[:0], nodes[:0]
	}
	take := func(to, from []int, sign float64) {
		for k := range to {
			moves = append(moves, move{to[k], from[k], sign})
		}
		nodes = append(nodes, to...)
	}
	back := func(k int) []int {
		b := slices.Clone(line[k])
		slices.Reverse(b)
		return b
	}
	for a := range count {
		for b := a + 1; b < count; b++ {
			take(line[a], line[b], 1)
			take(line[b], line[a], 1)
			give(Exchanged, a, b, -1)
		}
		take(line[a], back(a), 1)
		give(Reversed, a, a, -1)
		take(line[a], line[a], -1)
		give(Turned, a, a, -1)
		// Line a stands twice: those behind it move up, and the last is lost.
		if a+2 < count && s.twice(line[a], line[a+1]) {
			for b := a + 1; b+1 < count; b++ {
				take(line[b], line[b+1], 1)
			}
			last := line[count-1]
			for _, k := range last {
				moves = append(moves, move{k, -1, 1})
			}
			nodes = append(nodes, last...)
			give(Repeated, a, count-1, last[0])
		}
	}
	for a := 1; a < count; a += 2 {
		take(line[a], back(a), 1)
	}
	give(Alternate, 1, count-1, -1)
}

// series tries heights that are one place late or early in a series, from any place to
// the end of its run, a row or a column, or to the end of all.
func (s *search) series(try func(guess), order []int) {
	nx := len(s.X)
	run := func(k int) int { // where the run ends that node k and the next begin
		end := k + 1
		same := func(per func(int) int) bool { return end < len(order) && per(order[k]) == per(order[end]) }
		per := func(n int) int { return n / nx }
		if !same(per) {
			per = func(n int) int { return n % nx }
		}
		for same(per) {
			end++
		}
		return end
	}
	var moves []move
	for from := range order {
		ends := []int{run(from), len(order)}
		if ends[0] == ends[1] {
			ends = ends[:1]
		}
		for _, end := range ends {
			if end-from < 3 {
				continue
			}
			nodes := order[from:end]
			last := len(nodes) - 1
			moves = moves[:0]
			for k := range last {
				moves = append(moves, move{nodes[k], nodes[k+1], 1})
			}
			moves = append(moves, move{nodes[last], -1, 1})
			if part := float64(end-from) / float64(nx); part < lineMost && s.steady(moves) {
				continue
			}
			try(guess{Slip: Slip{Kind: Late, First: nodes[0], Last: nodes[last], Nodes: nodes, Lost: nodes[last]}, moves: moves})
			moves = append(moves[:0], move{nodes[0], -1, 1})
			for k := range last {
				moves = append(moves, move{nodes[k+1], nodes[k], 1})
			}
			try(guess{Slip: Slip{Kind: Early, First: nodes[0], Last: nodes[last], Nodes: nodes, Lost: nodes[0]}, moves: moves})
		}
	}
}

// worst is how many heights are tried in each other's place.
const worst = 16

// pairs tries two heights in each other's place: next to each other in what was written,
// or of those that are furthest off.
func (s *search) pairs(try func(guess)) {
	swap := func(a, b int) {
		a, b = min(a, b), max(a, b)
		try(guess{Slip: Slip{Kind: Swapped, First: a, Last: b, Nodes: []int{a, b}, Lost: -1}, moves: []move{{a, b, 1}, {b, a, 1}}})
	}
	for k := range len(s.Order) - 1 {
		swap(s.Order[k], s.Order[k+1])
	}
	off := make([]float64, len(s.Z))
	for m := range s.bends {
		b := &s.bends[m]
		if d := math.Abs(s.size(b, s.Z) - s.middle[b.along]); d == d {
			off[b.at] += d
		}
	}
	far := slices.Clone(s.Order)
	slices.SortStableFunc(far, func(a, b int) int {
		switch {
		case off[a] > off[b]:
			return -1
		case off[a] < off[b]:
			return 1
		}
		return 0
	})
	far = far[:min(len(far), worst)]
	for i, a := range far {
		for _, b := range far[:i] {
			swap(a, b)
		}
	}
}
