package cover

import "math"

// Place puts a fewest cover of the spans by intervals of a width where most
// burns that were counted fit one of them, and gives the lower ends. highest
// are those that Fewest found. The result is as even as may be: neighbours
// share heights rather than the ends reaching beyond what is seen.
func (w *Whole) Place(spans []Span, width float64, highest []float64) []float64 {
	n := len(highest)
	lowest := fewestFromAbove(spans, width)
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
	if (highest[n-1]+width-lowest[0])/w.bin > mostBins {
		return even
	}
	aligned := make([]float64, n)
	for i, v := range even {
		aligned[i] = math.Round(v/w.bin) * w.bin
	}
	s := search{w: w, spans: spans, width: width,
		c: w.counts(int32(math.Floor(lowest[0]/w.bin))-1, int32(math.Ceil((highest[n-1]+width)/w.bin))+1)}
	best, most := even, s.whole(even)
	for _, other := range [][]float64{aligned, s.best(lowest, highest)} {
		if v := s.whole(other); v > most && covers(other, spans, width+onBorder*w.bin) {
			best, most = other, v
		}
	}
	return best
}

// search looks for where intervals of a width hold most burns.
type search struct {
	w     *Whole
	c     *binCounts
	spans []Span
	width float64
}

// whole counts the burns that fit one of the intervals.
func (s *search) whole(lows []float64) (n int) {
	prev := int32(math.MinInt32)
	for _, v := range lows {
		x := int32(math.Ceil(v/s.w.bin - onBorder))
		y := int32(math.Floor((v+s.width)/s.w.bin+onBorder)) - 1
		n += s.c.within(x, y) - s.c.within(x, min(prev, y))
		prev = y
	}
	return n
}

// best finds the best of the covers whose intervals begin at borders of bins,
// by dynamic programming over the intervals: a burn counts once for each that
// serves it, less once for two neighbours that both do. (No third can: the one
// between would not be needed.) It returns nil where no such cover is found to be
// as small.
func (s *search) best(lowest, highest []float64) []float64 {
	type state struct{ value, from int }
	bin := s.w.bin
	wide := int32(math.Floor(s.width/bin+onBorder)) - 1 // to an interval's last bin
	n := len(lowest)
	first := make([]int32, n)
	states := make([][]state, n)
	for k := range states {
		first[k] = int32(math.Ceil(lowest[k]/bin - onBorder))
		size := int32(math.Floor(highest[k]/bin+onBorder)) - first[k] + 1
		if size <= 0 {
			return nil
		}
		states[k] = make([]state, size)
		for i := range states[k] {
			x := first[k] + int32(i)
			own := s.c.within(x, x+wide)
			best := state{-1, -1}
			if k == 0 {
				best.value = own // it covers the lowest height, being at most that
			} else {
				for j, p := range states[k-1] {
					y := first[k-1] + int32(j)
					if p.value < 0 || y >= x || !s.joins(float64(y)*bin+s.width, float64(x)*bin) {
						continue
					}
					if v := p.value + own - s.c.within(x, y+wide); v > best.value {
						best = state{v, j}
					}
				}
			}
			states[k][i] = best
		}
	}
	best := 0
	for i, st := range states[n-1] {
		if st.value > states[n-1][best].value {
			best = i
		}
	}
	if states[n-1][best].value < 0 {
		return nil
	}
	out := make([]float64, n)
	for k := n - 1; k >= 0; k-- {
		out[k] = float64(first[k]+int32(best)) * bin
		best = states[k][best].from
	}
	return out
}

// joins reports whether nothing is seen between end and low.
func (s *search) joins(end, low float64) bool {
	slack := onBorder * s.w.bin
	if low <= end+2*slack {
		return true
	}
	_, any := Within(s.spans, Span{end + slack, low - slack})
	return !any
}
