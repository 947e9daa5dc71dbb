package setup

import (
	"math"
	"math/bits"
)

// cells are a set of the cells of a map.
type cells [markCells * markCells / 64]uint64

func (s *cells) has(c int) bool { return s[c/64]>>(c%64)&1 != 0 }
func (s *cells) put(c int)      { s[c/64] |= 1 << (c % 64) }

// first is the first of them, -1 where there is none, and more tells that it is not the only
// one.
func (s *cells) first() (c int, more bool) {
	c = -1
	for k, word := range s {
		if word == 0 {
			continue
		}
		if c >= 0 || word&(word-1) != 0 {
			return max(c, 0), true
		}
		c = k*64 + bits.TrailingZeros64(word)
	}
	return c, false
}

// far tells how far a cell is from the nearest of a set, in mm, as the least sum of steps
// to neighbours (G. Borgefors, Computer Vision, Graphics, and Image Processing 34 (1986)
// 344: at most a tenth off).
type far func(c int) float64

// distances works out how far cells are from those of a set.
func (m *Marks) distances(from *cells) far {
	c, more := from.first()
	switch {
	case c < 0:
		return func(int) float64 { return math.Inf(1) }
	case !more:
		return m.farFrom(c)
	}
	distance := m.swept(from)
	return func(c int) float64 { return distance[c] }
}

// farFrom is how far cells are from one.
func (m *Marks) farFrom(one int) far {
	const n = markCells
	diag := math.Hypot(m.dx, m.dy)
	return func(c int) float64 {
		i, j := max(c%n-one%n, one%n-c%n), max(c/n-one/n, one/n-c/n)
		if m.turn > 0 {
			j = min(j, n-j)
		}
		both := min(i, j)
		return float64(both)*diag + float64(i-both)*m.dx + float64(j-both)*m.dy
	}
}

// swept works out how far each cell is from a set of several, by two sweeps over the map.
func (m *Marks) swept(from *cells) []float64 {
	const n = markCells
	distance := make([]float64, n*n)
	for c := range distance {
		if !from.has(c) {
			distance[c] = math.Inf(1)
		}
	}
	dx, dy, diag := m.dx, m.dy, math.Hypot(m.dx, m.dy)
	// sweep goes over row j from cell i on, by steps of back, with the row before it.
	sweep := func(i, j, back int) {
		row, before := distance[j*n:(j+1)*n], []float64(nil)
		if j += back; m.turn > 0 {
			j = (j + n) % n
		}
		if j >= 0 && j < n {
			before = distance[j*n : (j+1)*n]
		}
		last := math.Inf(1)
		for ; i >= 0 && i < n; i -= back {
			d := row[i]
			if x := last + dx; x < d {
				d = x
			}
			if before != nil {
				if x := before[i] + dy; x < d {
					d = x
				}
				if x := before[max(i-1, 0)] + diag; x < d {
					d = x
				}
				if x := before[min(i+1, n-1)] + diag; x < d {
					d = x
				}
			}
			row[i], last = d, d
		}
	}
	rounds := 1
	if m.turn > 0 {
		rounds = 2 // again for what is near over the seam of a turn
	}
	for range rounds {
		for j := range n {
			sweep(0, j, -1)
		}
		for j := n - 1; j >= 0; j-- {
			sweep(n-1, j, 1)
		}
	}
	return distance
}
