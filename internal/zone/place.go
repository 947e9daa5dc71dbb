package zone

import "math"

// Where a fewest cover leaves a choice, it is put where most burns fit a zone
// as a whole. Burns are counted by the bins that their heights begin and end
// in; a bin is a part of the width too small to matter at the bench.

const (
	// binsPerWidth is how many bins a lens's width has.
	binsPerWidth = 64
	// mostBins bounds the memory of the search (8 MB): beyond, as where a
	// lens would need some hundred zones, the cover is taken as it is.
	mostBins = 1 << 15
)

// spread counts burns by the heights they reach over.
type spread struct {
	bin  float64 // mm
	rows map[int32]*[binsPerWidth]uint32
	row  *[binsPerWidth]uint32 // of key
	key  int32
}

// newSpread counts for intervals of a width.
func newSpread(width float64) spread {
	return spread{bin: width / binsPerWidth, rows: map[int32]*[binsPerWidth]uint32{}}
}

// bins gives the bins that heights from a to b reach into; an upper end on
// the border of two counts to the lower.
func (s *spread) bins(a, b float64) (from, to int32) {
	const slack = 1e-6 // of a bin: what is on a border stays there
	from = int32(math.Floor(a/s.bin + slack))
	return from, max(from, int32(math.Ceil(b/s.bin-slack))-1)
}

// add counts n burns over bins. Those that no interval holds do not matter.
func (s *spread) add(from, to int32, n uint32) {
	if to-from >= binsPerWidth {
		return
	}
	if s.row == nil || from != s.key {
		r := s.rows[from]
		if r == nil {
			if len(s.rows) >= 2*mostBins {
				return // the search will not be made
			}
			r = new([binsPerWidth]uint32)
			s.rows[from] = r
		}
		s.row, s.key = r, from
	}
	s.row[to-from] += n
}

// counts holds, for each bin x of a range and each y from x on, how many
// burns lie within the bins x to y.
type counts struct {
	first int32
	t     [][binsPerWidth]uint32
}

func (s *spread) counts(first, last int32) *counts {
	c := &counts{first: first, t: make([][binsPerWidth]uint32, last-first+2)}
	for x := last; x >= first; x-- {
		here, next := &c.t[x-first], &c.t[x-first+1]
		sum := uint32(0)
		row := s.rows[x]
		for w := range here {
			if row != nil {
				sum += row[w]
			}
			here[w] = sum
			if w > 0 {
				here[w] += next[w-1]
			}
		}
	}
	return c
}

// within counts the burns within the bins x to y.
func (c *counts) within(x, y int32) int {
	if y < x || x < c.first || int(x-c.first) >= len(c.t) {
		return 0
	}
	return int(c.t[x-c.first][min(y-x, binsPerWidth-1)])
}

// place puts a fewest cover of the spans by intervals of a width where most
// burns fit one of them. highest are the lower ends that Cover found. The
// result is as even as may be: neighbours share heights rather than the ends
// reaching beyond what is seen.
func (s *spread) place(spans []Span, width float64, highest []float64) []float64 {
	n := len(highest)
	lowest := coverFromAbove(spans, width, n)
	if n < 2 || len(lowest) != n {
		return highest
	}
	even := make([]float64, n)
	for k := range even {
		t := float64(k) / float64(n-1)
		even[k] = highest[k] + t*(min(lowest[k], highest[k])-highest[k])
	}
	if !covers(even, spans, width) {
		even = highest
	}
	first := int32(math.Floor(lowest[0]/s.bin)) - 1
	last := int32(math.Ceil((highest[n-1]+width)/s.bin)) + 1
	if float64(last)-float64(first) > mostBins || (highest[n-1]+width-lowest[0])/s.bin > mostBins {
		return even
	}
	c := s.counts(first, last)
	best, most := even, s.whole(c, even, width)
	if aligned := s.align(even); covers(aligned, spans, width) {
		if v := s.whole(c, aligned, width); v > most {
			best, most = aligned, v
		}
	}
	if searched := s.search(c, spans, width, lowest, highest); searched != nil {
		if v := s.whole(c, searched, width); v > most {
			best = searched
		}
	}
	return best
}

// align moves lower ends to borders of bins.
func (s *spread) align(lows []float64) []float64 {
	out := make([]float64, len(lows))
	for i, v := range lows {
		out[i] = math.Round(v/s.bin) * s.bin
	}
	return out
}

// whole counts the burns that fit one of the intervals.
func (s *spread) whole(c *counts, lows []float64, width float64) (n int) {
	const slack = 1e-6
	prev := int32(math.MinInt32)
	for _, v := range lows {
		x := int32(math.Ceil(v/s.bin - slack))
		y := int32(math.Floor((v+width)/s.bin+slack)) - 1
		n += c.within(x, y) - c.within(x, min(prev, y))
		prev = y
	}
	return n
}

// search finds the best of the covers whose intervals begin at borders of
// bins, by dynamic programming over the intervals: a burn counts once for
// each that holds it, less once for two neighbours that both do. (No third
// can: the one between would not be needed.) It returns nil where no such
// cover is as small.
func (s *spread) search(c *counts, spans []Span, width float64, lowest, highest []float64) []float64 {
	const slack = 1e-6
	type state struct{ value, from int }
	wide := int32(math.Floor(width/s.bin+slack)) - 1 // to an interval's last bin
	n := len(lowest)
	first := make([]int32, n)
	states := make([][]state, n)
	for k := range states {
		first[k] = int32(math.Ceil(lowest[k]/s.bin - slack))
		size := int32(math.Floor(highest[k]/s.bin+slack)) - first[k] + 1
		if size <= 0 {
			return nil
		}
		states[k] = make([]state, size)
		for i := range states[k] {
			states[k][i] = state{-1, -1}
		}
	}
	for k := range states {
		for i := range states[k] {
			x := first[k] + int32(i)
			own := c.within(x, x+wide)
			if k == 0 {
				states[k][i].value = own // it covers the lowest height, being at most that
				continue
			}
			for j := range states[k-1] {
				p := &states[k-1][j]
				y := first[k-1] + int32(j)
				if p.value < 0 || y >= x || !s.joins(spans, float64(y)*s.bin+width, float64(x)*s.bin) {
					continue
				}
				if v := p.value + own - c.within(x, y+wide); v > states[k][i].value {
					states[k][i] = state{v, j}
				}
			}
		}
	}
	best := -1
	for i, st := range states[n-1] {
		if st.value >= 0 && (best < 0 || st.value > states[n-1][best].value) {
			best = i
		}
	}
	if best < 0 {
		return nil
	}
	out := make([]float64, n)
	for k := n - 1; k >= 0; k-- {
		out[k] = float64(first[k]+int32(best)) * s.bin
		best = states[k][best].from
	}
	if !covers(out, spans, width+slack*s.bin) {
		return nil
	}
	return out
}

// joins tells whether nothing is seen between end and low.
func (s *spread) joins(spans []Span, end, low float64) bool {
	slack := 1e-6 * s.bin
	if low <= end+2*slack {
		return true
	}
	_, any := seen(spans, Span{end + slack, low - slack})
	return !any
}
