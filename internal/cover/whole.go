package cover

import "math"

// Whole counts burns by the heights they reach over, so that Place can put
// settings where most burns fit one of them as a whole. Burns are counted by
// the bins that their heights begin and end in; a bin is a part of the width
// too small to matter at the bench.
type Whole struct {
	bin  float64 // mm
	rows map[int32]*[binsPerWidth]uint32
}

const (
	// binsPerWidth is how many bins a width has.
	binsPerWidth = 64
	// mostBins bounds the memory of the search (8 MB): beyond, as where some
	// hundred settings would be needed, the cover is taken as it is.
	mostBins = 1 << 15
	// onBorder is the part of a bin by which what is on a border of bins may
	// be beside it, by rounding.
	onBorder = 1e-6
)

// NewWhole counts for intervals of a width.
func NewWhole(width float64) *Whole {
	return &Whole{bin: width / binsPerWidth, rows: map[int32]*[binsPerWidth]uint32{}}
}

// Count counts so many burns that rise or fall evenly over heights, one by one.
func (w *Whole) Count(h Span, burns int) {
	rise := (h.Hi - h.Lo) / float64(burns)
	if rise > (binsPerWidth+2)*w.bin {
		return // no interval serves them
	}
	if from, to := w.reach(h); from == to {
		w.count(from, to, burns)
		return
	}
	for k := range burns {
		low := h.Lo + rise*float64(k)
		from, to := w.reach(Span{low, low + rise})
		w.count(from, to, 1)
	}
}

// reach is the bins that a burn over heights reaches over.
func (w *Whole) reach(h Span) (from, to int32) {
	// An upper end on the border of two bins counts to the lower.
	from = int32(math.Floor(h.Lo/w.bin + onBorder))
	return from, max(from, int32(math.Ceil(h.Hi/w.bin-onBorder))-1)
}

// count counts so many burns that reach over the same bins.
func (w *Whole) count(from, to int32, burns int) {
	row := w.rows[from]
	if to-from >= binsPerWidth || row == nil && len(w.rows) >= 2*mostBins { // the search will not be made
		return
	}
	if row == nil {
		row = new([binsPerWidth]uint32)
		w.rows[from] = row
	}
	row[to-from] += uint32(burns)
}

// binCounts holds, for each bin x of a range and each y from x on, how many
// burns lie within the bins x to y.
type binCounts struct {
	first int32
	t     [][binsPerWidth]uint32
}

func (w *Whole) counts(first, last int32) *binCounts {
	c := &binCounts{first: first, t: make([][binsPerWidth]uint32, last-first+2)}
	for x := last; x >= first; x-- {
		here, next := &c.t[x-first], &c.t[x-first+1]
		sum := uint32(0)
		row := w.rows[x]
		for k := range here {
			if row != nil {
				sum += row[k]
			}
			here[k] = sum
			if k > 0 {
				here[k] += next[k-1]
			}
		}
	}
	return c
}

// within counts the burns within the bins x to y.
func (c *binCounts) within(x, y int32) int {
	if y < x || x < c.first || int(x-c.first) >= len(c.t) {
		return 0
	}
	return int(c.t[x-c.first][min(y-x, binsPerWidth-1)])
}
