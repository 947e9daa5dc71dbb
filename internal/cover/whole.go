package cover

import "math"

// Whole counts burns by the heights they reach over, so that Place can put
// settings where most burns fit one of them as a whole. Burns are counted by
// the bins that their heights begin and end in; a bin is a part of the width
// too small to matter at the bench.
type Whole struct {
	bin  float64 // mm
	rows map[int32]*[binsPerWidth]uint32
	wait []reach
}

// reach is a number of burns over the bins from to to.
type reach struct {
	from, to int32
	n        uint32
}

const (
	// binsPerWidth is how many bins a width has.
	binsPerWidth = 64
	// mostBins bounds the memory of the search (8 MB): beyond, as where some
	// hundred settings would be needed, the cover is taken as it is.
	mostBins = 1 << 15
	// mostWaiting is how many counts wait for Keep or Drop at most.
	mostWaiting = 1 << 13
	// onBorder is the part of a bin by which what is on a border of bins may
	// be beside it, by rounding.
	onBorder = 1e-6
)

// NewWhole counts for intervals of a width.
func NewWhole(width float64) *Whole {
	return &Whole{bin: width / binsPerWidth, rows: map[int32]*[binsPerWidth]uint32{}}
}

// Count counts so many burns that rise or fall evenly over heights, one by one,
// until Keep or Drop is called. It reports false where no more can wait before that.
func (w *Whole) Count(h Span, burns int) bool {
	rise := (h.Hi - h.Lo) / float64(burns)
	if rise > (binsPerWidth+2)*w.bin {
		return true // no interval serves them
	}
	if r := w.reach(h); r.from == r.to {
		w.count(r, burns)
		return len(w.wait) < mostWaiting
	}
	for k := range burns {
		low := h.Lo + rise*float64(k)
		w.count(w.reach(Span{low, low + rise}), 1)
	}
	return len(w.wait) < mostWaiting
}

// reach is the bins that a burn over heights reaches over.
func (w *Whole) reach(h Span) reach {
	// An upper end on the border of two bins counts to the lower.
	from := int32(math.Floor(h.Lo/w.bin + onBorder))
	return reach{from: from, to: max(from, int32(math.Ceil(h.Hi/w.bin-onBorder))-1)}
}

// count counts so many burns that reach over the same bins.
func (w *Whole) count(r reach, burns int) {
	if r.to-r.from >= binsPerWidth {
		return
	}
	n := len(w.wait)
	if n == 0 || w.wait[n-1].from != r.from || w.wait[n-1].to != r.to {
		w.wait = append(w.wait, r)
		n++
	}
	w.wait[n-1].n += uint32(burns)
}

// Drop forgets the burns counted since the last Keep or Drop.
func (w *Whole) Drop() { w.wait = w.wait[:0] }

// Keep lets the burns counted since the last Keep or Drop count for Place.
func (w *Whole) Keep() {
	for _, r := range w.wait {
		row := w.rows[r.from]
		if row == nil {
			if len(w.rows) >= 2*mostBins {
				break // the search will not be made
			}
			row = new([binsPerWidth]uint32)
			w.rows[r.from] = row
		}
		row[r.to-r.from] += r.n
	}
	w.Drop()
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
