// Package slip tells which heights of a lattice look written down in wrong places: rows
// exchanged, read from the wrong end, with the wrong sign, or moved on by one. Values
// in, values out: nothing is mended.
package slip

import (
	"cmp"
	"math"
	"slices"

	"sagitta/internal/least"
)

// Kind says what happened.
type Kind int

// The kinds. Lines are rows or columns of the lattice.
const (
	Exchanged Kind = iota // two lines
	Swapped               // two heights
	Reversed              // a line, its last height first
	Alternate             // every second line, likewise
	Turned                // a line, its heights with the other sign
	Repeated              // a line stands twice, and all behind it one line late
	Late                  // heights in a series, one place late
	Early                 // heights in a series, one place early
)

// Slip is one that was found.
type Slip struct {
	Kind Kind
	// Columns tells that lines are columns: heights at one x.
	Columns bool
	// First and Last are lines, or, of two heights or of a series, nodes.
	First, Last int
	// Nodes are those whose heights are doubted, in the order of what was written,
	// and Lost is one of them whose height is nowhere, -1 for none.
	Nodes []int
	Lost  int
}

// Lattice is heights at the nodes of x and y, row after row, NaN where there is none.
// Order gives the nodes in the order in which they were written.
type Lattice struct {
	X, Y, Z []float64
	Order   []int
}

const (
	// Most is how many nodes are looked through: more than anybody writes by hand.
	Most = 1500
	// leastAcross is how many lines there must be each way to tell one from the rest.
	leastAcross = 4
	// cutAt standard deviations off, a height tells no more than one that is further off:
	// it may be bad by itself.
	cutAt = 4
	// noiseMM is the least scatter of touches by hand that is reckoned with.
	noiseMM = 0.01
	// gainLeast is how much the squared residuals, in standard units and cut, must fall
	// by: the odds are then e to the half of it. mendedMost is the most that they may be
	// then on average, of 1 where all is noise, and mendedRough where the surface is no
	// quadric, and they fall to a third.
	gainLeast, mendedMost, mendedRough = 45, 2, 5
	// gainSeries is for a series, of which there are many.
	gainSeries = 60
	// gainOthers is what of it must not come from the height that goes with it.
	gainOthers = 30
	// gainApart is for two heights that are not next to each other, of which there are
	// many pairs; gainRepeated and repeatedPart are for a line that stands twice.
	gainApart, gainRepeated, repeatedPart = 100, 20, 0.8
	// steadyPart is how much a change along a line varies, as a part of it, where it is
	// more than a groove; twicePart is the part of a line that is the same as the next
	// where it was written twice.
	steadyPart, twicePart = 0.3, 0.8
	// lineMost is the part of a row up to which a series may be a groove along it.
	lineMost = 2.6
	// looked is how many of the best are looked at closely, found how many are named.
	looked, found = 60, 3
)

// Find returns the slips that explain what was written far better, the clearest first.
func Find(l Lattice) (slips []Slip) {
	if len(l.X) < leastAcross || len(l.Y) < leastAcross || len(l.Z) > Most {
		return nil
	}
	s := newSearch(l)
	for range found {
		best, ok := s.best()
		if !ok {
			break
		}
		slips = append(slips, best.Slip)
		s.apply(best.moves)
	}
	return slips
}

// move puts the height of one node, or none where from is below zero, times sign, to
// another.
type move struct {
	to, from int
	sign     float64
}

// guess is a slip that is tried, with what would mend it.
type guess struct {
	Slip
	moves []move
	gain  float64
}

// bend is by how much a node is off the line through its neighbours on either side along
// an axis, in units of a height's own scatter.
type bend struct {
	a, at, b int
	wa, wb   float64
	unit     float64
	along    int
}

// search tries guesses.
type search struct {
	Lattice
	bends  []bend
	of     [][]int32  // bends that a node is in
	middle [2]float64 // of the bends along either axis
	z      []float64  // with a guess
	mark   []int
	turn   int
	hit    []int32
}

func newSearch(l Lattice) *search {
	n := len(l.Z)
	s := &search{Lattice: l, of: make([][]int32, n), z: slices.Clone(l.Z), mark: make([]int, 0)}
	s.Z = slices.Clone(l.Z)
	nx := len(l.X)
	for k := range n {
		i, j := k%nx, k/nx
		if i > 0 && i+1 < nx {
			s.add(k-1, k, k+1, l.X[i-1], l.X[i], l.X[i+1], 0)
		}
		if j > 0 && j+1 < len(l.Y) {
			s.add(k-nx, k, k+nx, l.Y[j-1], l.Y[j], l.Y[j+1], 1)
		}
	}
	s.mark = make([]int, len(s.bends))
	s.middles()
	return s
}

func (s *search) add(a, at, b int, pa, p, pb float64, along int) {
	wb := (p - pa) / (pb - pa)
	wa := 1 - wb
	m := int32(len(s.bends))
	s.bends = append(s.bends, bend{a, at, b, wa, wb, 1 / math.Sqrt(1+wa*wa+wb*wb), along})
	for _, k := range []int{a, at, b} {
		s.of[k] = append(s.of[k], m)
	}
}

// size is a bend of heights, NaN where one is missing.
func (s *search) size(b *bend, z []float64) float64 {
	return (z[b.at] - b.wa*z[b.a] - b.wb*z[b.b]) * b.unit
}

// spread returns the middle and the scatter of the bends along each axis.
func (s *search) spread(z []float64) (middle, scatter [2]float64) {
	for along := range 2 {
		var d []float64
		for m := range s.bends {
			if b := &s.bends[m]; b.along == along {
				if v := s.size(b, z); v == v {
					d = append(d, v)
				}
			}
		}
		middle[along] = least.Median(d)
		for k := range d {
			d[k] -= middle[along]
		}
		scatter[along] = max(least.Scatter(d), noiseMM)
	}
	return middle, scatter
}

func (s *search) middles() { s.middle, _ = s.spread(s.Z) }

// apply mends the heights that are searched.
func (s *search) apply(moves []move) {
	s.with(moves)
	copy(s.Z, s.z)
	s.middles()
}

// with puts a guess into z, and gathers the bends that it changes.
func (s *search) with(moves []move) {
	s.turn++
	s.hit = s.hit[:0]
	for _, m := range moves {
		s.z[m.to] = math.NaN()
		if m.from >= 0 {
			s.z[m.to] = m.sign * s.Z[m.from]
		}
		for _, b := range s.of[m.to] {
			if s.mark[b] != s.turn {
				s.mark[b] = s.turn
				s.hit = append(s.hit, b)
			}
		}
	}
}

func (s *search) without(moves []move) {
	for _, m := range moves {
		s.z[m.to] = s.Z[m.to]
	}
}

// quick is by how much the bends shrink with a guess.
func (s *search) quick(moves []move) (gain float64) {
	s.with(moves)
	for _, m := range s.hit {
		b := &s.bends[m]
		mid := s.middle[b.along]
		if d := math.Abs(s.size(b, s.Z)-mid) - math.Abs(s.size(b, s.z)-mid); d == d {
			gain += d
		}
	}
	s.without(moves)
	return gain
}

// closely is by how much a guess explains more, in squares of the scatter that it leaves.
func (s *search) closely(kind Kind, moves []move) (gain float64, ok bool) {
	s.with(moves)
	defer s.without(moves)
	middle, scatter := s.spread(s.z)
	squares := func(v float64, along int) float64 {
		t := (v - middle[along]) / scatter[along]
		return min(t*t, cutAt*cutAt)
	}
	// In a series the height at one end goes: where it is all that is wrong, it is bad
	// by itself.
	gone := -1
	switch kind {
	case Late:
		gone = moves[0].to
	case Early:
		gone = moves[len(moves)-1].to
	}
	was, is, n, others := 0.0, 0.0, 0.0, 0.0
	for _, m := range s.hit {
		b := &s.bends[m]
		before, after := s.size(b, s.Z), s.size(b, s.z)
		if before == before && after == after {
			w, i := squares(before, b.along), squares(after, b.along)
			was, is, n = was+w, is+i, n+1
			if b.a != gone && b.at != gone && b.b != gone {
				others += w - i
			}
		}
	}
	mended, least := is <= mendedMost*n && is <= was/2 || is <= mendedRough*n && is <= was/3, float64(gainLeast)
	switch kind {
	case Repeated: // what is the same to the last digit tells as well
		mended, least = is <= was*repeatedPart, gainRepeated
	case Late, Early:
		least = gainSeries
		mended = mended && others >= gainOthers
	case Swapped:
		if first, last := moves[0].to, moves[1].to; !slices.Contains(s.neighbours(first), last) {
			least = gainApart
		}
	}
	return was - is, was-is >= least && mended
}

// steady reports whether a guess moves a line as a whole up or down, as a groove or a
// ridge along it does.
func (s *search) steady(moves []move) bool {
	var d []float64
	for _, m := range moves {
		if m.from >= 0 {
			if v := m.sign*s.Z[m.from] - s.Z[m.to]; v == v {
				d = append(d, v)
			}
		}
	}
	middle := least.Median(d)
	for k := range d {
		d[k] -= middle
	}
	return least.Scatter(d) <= steadyPart*math.Abs(middle)
}

// neighbours are the nodes written before and after a node.
func (s *search) neighbours(k int) []int {
	at := slices.Index(s.Order, k)
	return s.Order[max(at-1, 0):min(at+2, len(s.Order))]
}

// twice reports whether nearly all heights of two lines are the same.
func (s *search) twice(a, b []int) bool {
	same, n := 0, 0
	for k := range a {
		if d := s.Z[a[k]] - s.Z[b[k]]; d == d {
			n++
			if d == 0 {
				same++
			}
		}
	}
	return n > 2 && float64(same) >= twicePart*float64(n)
}

// best returns the guess that explains most.
func (s *search) best() (best guess, ok bool) {
	var top []guess
	s.guesses(func(g guess) {
		g.gain = s.quick(g.moves)
		if !(g.gain > 0) || len(top) == looked && g.gain <= top[looked-1].gain {
			return
		}
		at, _ := slices.BinarySearchFunc(top, g, func(a, b guess) int { return cmp.Compare(b.gain, a.gain) })
		g.moves, g.Nodes = slices.Clone(g.moves), slices.Clone(g.Nodes)
		top = slices.Insert(top, at, g)
		top = top[:min(len(top), looked)]
	})
	for _, g := range top {
		if gain, enough := s.closely(g.Kind, g.moves); enough && (gain > best.gain || gain == best.gain && len(g.moves) < len(best.moves)) {
			best, ok = g, true
			best.gain = gain
		}
	}
	return best, ok
}
