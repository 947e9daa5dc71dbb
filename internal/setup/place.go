package setup

import (
	"math"

	"sagitta/internal/surface"
)

// FlatEnough is by how many mm the stock may rise or fall under the foot of a gauge and
// count as flat.
const FlatEnough = 0.1

// What a focus point is chosen by, in mm that it may lie further from what is to be
// burned: a reason before another weighs far more.
const (
	beyondReach = 1e9 // for a mm
	headTooLow  = 1e6 // for a mm
	onBox       = 1e5 // for a mm of the foot's radius
	onLoose     = 1e4
	onBurned    = 1e4 // for a mm of the foot's radius
	offHeight   = 300 // for a mm
	offFlat     = 20  // for a mm
	onOwn       = 1.5 // for a mm of the foot's radius
	fromFirst   = 0.05
)

// Place finds where to set the focus, at a height in mm over the datum, before the
// layer of a number is burned, and after others: within or next to it, at that height,
// flat under the gauge's foot, not on what those have burned nor within what they
// may have cut free. Of what is asked for, the reach of the machine goes first, then that
// the head is clear.
func (m *Marks) Place(height float64, own int, before []int) FocusPoint {
	if m.distance == nil {
		m.distance = m.distances(&m.set.cells)
	}
	burned := m.together(before)
	p := placing{Marks: m, height: height, score: math.Inf(-1), loose: m.loose(burned), own: m.distances(m.together([]int{own}))}
	for i := range burned {
		burned[i] |= p.loose[i]
	}
	p.spoiled = m.distances(burned)
	if m.boxes.any {
		p.boxes = m.distances(&m.boxes.cells)
	}
	if l := m.layers[own]; l != nil && l.any {
		p.first = &l.first
	}
	near := m.corner()
	if p.first != nil {
		near = *p.first
	}
	m.level(near, height, func(lx, ly float64) float64 {
		p.try(lx, ly)
		return PointTolerance - p.score/offHeight
	})
	if math.IsInf(p.score, 0) { // it is all holes
		return m.At(height)
	}
	return p.best
}

// placing is a search for a place.
type placing struct {
	*Marks
	height float64
	// own, spoiled and boxes tell how far a cell is from such a one; boxes is nil where
	// there is none. loose are those that may be cut free.
	own, spoiled, boxes far
	loose               *cells
	// first is where what is to be burned begins, nil where that is not known.
	first *[2]float64

	best  FocusPoint
	score float64
}

// try tries a place, in the surface's own coordinates.
func (p *placing) try(lx, ly float64) {
	x, y := p.on.Program(lx, ly)
	x, y = math.Round(x*1e3)/1e3, math.Round(y*1e3)/1e3
	c := p.cell(x, y)
	if c < 0 {
		return
	}
	foot := p.Foot / 2
	score := -onBurned*max(0, foot+p.step()-p.spoiled(c)) - onOwn*max(0, foot-p.distance(c)) - max(0, min(p.own(c), 1e3)-foot-p.step())
	if p.loose.has(c) {
		score -= onLoose
	}
	if p.boxes != nil {
		score -= onBox * max(0, foot-p.boxes(c))
	}
	if p.first != nil {
		score -= fromFirst * math.Hypot(x-p.first[0], y-p.first[1])
	}
	if score <= p.score {
		return
	}
	h, where := p.on.At(x, y)
	if where != surface.On {
		return
	}
	score -= offHeight * max(0, math.Abs(h-p.height)-PointTolerance)
	if score -= beyondReach * p.Reach.Beyond(x, y); score <= p.score {
		return
	}
	at := FocusPoint{X: x, Y: y, Height: h, FromMarks: min(p.spoiled(c), ClearOfMarks), Spoiled: p.spoiled(c) < foot}
	at.Uneven = p.uneven(x, y, h, FlatEnough+(score-p.score)/offFlat)
	if score -= offFlat * max(0, at.Uneven-FlatEnough); score > p.score && p.Over != nil {
		score -= headTooLow * p.Over(x, y, min(h, p.height))
	}
	if score > p.score {
		p.best, p.score = at, score
	}
}

// overEdge is as how uneven stock counts that ends under the foot, in mm: no gauge stands
// well there.
const overEdge = 10

// uneven is by how many mm the stock rises or falls from the middle of the foot to its
// rim; where that is more than enough it is no less than that.
func (p *placing) uneven(x, y, h, enough float64) (most float64) {
	const places = 8
	for k := 0; k < places && most <= enough; k++ {
		sin, cos := math.Sincos(2 * math.Pi * float64(k) / places)
		rim, where := p.on.At(x+p.Foot/2*cos, y+p.Foot/2*sin)
		if where != surface.On {
			rim = h + overEdge
		}
		most = max(most, math.Abs(rim-h))
	}
	return most
}
