package set

import (
	"cmp"
	"math"
	"slices"
)

// where is a place on the burns of the original: the number of a burn, and the part of
// it that lies behind, of which whole is the whole.
type where struct {
	burn int32
	part uint32
}

const whole = 1 << 32

// part is a fraction below 1 as a part.
func part(of float64) uint32 { return uint32(min(max(of*whole, 0), whole-1)) }

func (a where) compare(b where) int {
	return cmp.Or(cmp.Compare(a.burn, b.burn), cmp.Compare(a.part, b.part))
}

// of is the fraction of its burn.
func (a where) of() float64 { return float64(a.part) / whole }

// stretch is a part of the original that a zone burns in one go: from where to where,
// from which line of its program on, and how far its ends may be off in mm.
type stretch struct {
	start, end where
	zone, line int32
	tol        float32
}

// stretches are those of all zones, in the order of burning.
type stretches struct {
	lists [][]stretch
	n     int
}

const inList = 1 << 12

func (s *stretches) at(i int) *stretch { return &s.lists[i/inList][i%inList] }

// last is the last one, nil where there is none.
func (s *stretches) last() *stretch {
	if s.n == 0 {
		return nil
	}
	return s.at(s.n - 1)
}

func (s *stretches) add(x stretch) {
	if s.n%inList == 0 {
		s.lists = append(s.lists, make([]stretch, 0, inList))
	}
	list := &s.lists[s.n/inList]
	*list = append(*list, x)
	s.n++
}

// byPlace gives the stretches in the original's order, by their numbers.
func (s *stretches) byPlace() []int32 {
	order := make([]int32, s.n)
	for i := range order {
		order[i] = int32(i)
	}
	slices.SortFunc(order, func(i, k int32) int {
		a, b := s.at(int(i)), s.at(int(k))
		return cmp.Or(a.start.compare(b.start), a.end.compare(b.end), cmp.Compare(i, k))
	})
	return order
}

var noAmount = math.NaN()
