package advise

import (
	"math"

	"sagitta/internal/machine"
	"sagitta/internal/surface"
)

// Rows is what a raster's rows ask of Z, and what rows along the other axis
// would.
type Rows struct {
	// Axis is the one that most rows run along, 'X' or 'Y', and Length how
	// long they are in mm.
	Axis   byte
	Length float64
	// Deep is the greatest difference of heights within a row, in mm, and
	// Across what it would be along the other axis.
	Deep, Across float64
	// Rate is the greatest change of the height along a row in mm/min, at
	// the programmed feed, and RateAcross what it would be along the other
	// axis: the greatest there, as sampled at the ends of stretches.
	Rate, RateAcross float64
}

// rowsSeen gathers rows, by axis.
type rowsSeen struct {
	along [2]Rows // X and Y
	// The row under way: its axis, 0 for none, and the heights within it.
	axis      byte
	ahead     bool
	low, high float64
}

// row takes a move over pieces, which sees heights from low to high.
func (r *rowsSeen) row(m *machine.Move, pieces []surface.Piece, low, high float64, p *surface.Placed) {
	axis, ahead := direction(m)
	if !m.Burn {
		axis = 0
	}
	if axis == r.axis && ahead == r.ahead {
		low, high = min(low, r.low), max(high, r.high)
	}
	r.axis, r.ahead, r.low, r.high = axis, ahead, low, high
	if axis == 0 {
		return
	}
	to := &r.along[axis-'X']
	to.Length += m.Length
	to.Deep = max(to.Deep, high-low)
	for k := range pieces {
		pc := &pieces[k]
		if d := (pc.S1 - pc.S0) * m.Length; d > 0 {
			to.Rate = max(to.Rate, math.Abs(pc.H1-pc.H0)/d*m.Feed)
		}
		xy := m.XY((pc.S0 + pc.S1) / 2)
		slopeX, slopeY := p.Grad(xy[0], xy[1])
		across := slopeX
		if axis == 'X' {
			across = slopeY
		}
		to.RateAcross = max(to.RateAcross, math.Abs(across)*m.Feed)
	}
}

// most gives the rows of the axis that has most.
func (r *rowsSeen) most() Rows {
	r.along[0].Axis, r.along[1].Axis = 'X', 'Y'
	if r.along[0].Length >= r.along[1].Length {
		return r.along[0]
	}
	return r.along[1]
}

// other is the axis across the rows.
func (r *Rows) other() byte { return 'X' + 'Y' - r.Axis }

const (
	// rowShare is the part of the burned length that must be rows along one
	// axis for the job to count as a raster.
	rowShare = 0.8
	// acrossLines and acrossSteps are at how many places heights are looked
	// up along rows that are not in the program.
	acrossLines, acrossSteps = 41, 101
)

// deepAcross looks up the greatest difference of heights within rows along
// the other axis, over the extent of the burns.
func (j *Metrics) deepAcross(p *surface.Placed) float64 {
	deep, box := 0.0, j.detail.burned
	for i := range acrossLines {
		low, high := math.Inf(1), math.Inf(-1)
		for k := range acrossSteps {
			u, v := float64(i)/(acrossLines-1), float64(k)/(acrossSteps-1)
			if j.Rows.Axis == 'Y' {
				u, v = v, u
			}
			h, where := p.At(box.Min[0]+(box.Max[0]-box.Min[0])*u, box.Min[1]+(box.Max[1]-box.Min[1])*v)
			if where == surface.On {
				low, high = min(low, h), max(high, h)
			}
		}
		deep = max(deep, high-low)
	}
	return deep
}
