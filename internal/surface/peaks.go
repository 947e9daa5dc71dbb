package surface

import (
	"math"
	"slices"
)

// Peaks bounds the heights of a placed surface over rectangles at once, from
// the extremes of its cells and of blocks of 2, 4, 8 ... cells. It does not
// change and may be shared between goroutines.
type Peaks struct {
	p      *Placed
	levels []peakLevel
}

// peakLevel has the extremes of blocks of cells, over the surface's zero.
type peakLevel struct {
	nx, ny int
	blocks []peak
}

type peak struct{ low, high float64 }

func newPeakLevel(nx, ny int) peakLevel {
	return peakLevel{nx, ny, slices.Repeat([]peak{{math.Inf(1), math.Inf(-1)}}, nx*ny)}
}

// peakSpan is how many blocks a rectangle may span along either axis before
// larger blocks are looked at: they stand out over it by half its size at most.
const peakSpan = 4

// NewPeaks works the bounds out: some ten values a cell.
func NewPeaks(p *Placed) *Peaks {
	l := newPeakLevel(p.cx, p.y.cells())
	for k := range l.blocks {
		l.blocks[k].low, l.blocks[k].high = p.cellRange(k%l.nx, k/l.nx)
	}
	k := &Peaks{p: p, levels: []peakLevel{l}}
	for l.nx > 1 || l.ny > 1 {
		up := newPeakLevel((l.nx+1)/2, (l.ny+1)/2)
		for k, b := range l.blocks {
			of := &up.blocks[k/l.nx/2*up.nx+k%l.nx/2]
			of.low, of.high = min(of.low, b.low), max(of.high, b.high)
		}
		l = up
		k.levels = append(k.levels, l)
	}
	return k
}

// Bounds gives heights over the datum, in mm, that the surface does not leave
// within r mm of the rectangle from x0, y0 to x1, y1 (program XY, x0 <= x1,
// y0 <= y1), but for Allowance. The rectangle may be a point.
func (k *Peaks) Bounds(x0, y0, x1, y1, r float64) (low, high float64) {
	p := k.p
	i0, j0, i1, j1 := p.cellsOf(p.around(x0, y0, x1, y1, r))
	n := 0
	for n+1 < len(k.levels) && max(i1>>n-i0>>n, j1>>n-j0>>n) >= peakSpan {
		n++
	}
	l := &k.levels[n]
	low, high = math.Inf(1), math.Inf(-1)
	for j := j0 >> n; j <= j1>>n; j++ {
		for i := i0 >> n; i <= i1>>n; i++ {
			b := &l.blocks[j*l.nx+i]
			low, high = min(low, b.low), max(high, b.high)
		}
	}
	return low - p.off, high - p.off
}
