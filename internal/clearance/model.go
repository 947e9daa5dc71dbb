package clearance

import (
	"cmp"
	"math"
	"slices"

	"sagitta/internal/bench"
	"sagitta/internal/machine"
	"sagitta/internal/stream"
	"sagitta/internal/surface"
)

// Slack is what is not certain of what is written, in mm.
type Slack struct {
	// Lateral is how far a written place may be beside the one meant, Height
	// how far a written Z may be off, and Tolerance by how much more than need
	// be may be asked on a slope.
	Lateral, Height, Tolerance float64
}

// radiusKnown in mm is how well anybody knows the radius of a head: on a slope
// so steep that this makes more than the tolerance, finer bounds are work for
// nothing.
const radiusKnown = 0.05

// Model is what must stay free under the head. It changes with the pieces that come free
// (see Free) alone.
type Model struct {
	surface   *surface.Placed
	peaks     *surface.Peaks
	boxes     []surface.Box
	tallest   float64 // of the boxes
	disks     []disk  // from the tip of the head up
	tolerance float64
	low, high float64 // of the surface
	freed     *float64
	lateral   float64
}

// disk is one of those that the head is made of: the focus must be rise over the highest
// within the radius.
type disk struct{ radius, rise float64 }

// New returns the model of a head over a surface, nil where no head is known.
func New(on *surface.Placed, h *bench.Head, slack Slack) *Model {
	if h == nil {
		return nil
	}
	m := &Model{
		surface: on, peaks: surface.NewPeaks(on), boxes: slices.Clip(slices.Clone(h.Boxes)),
		freed: h.FreedMM, lateral: slack.Lateral,
		tolerance: max(slack.Tolerance, radiusKnown*on.MaxSlope()),
	}
	for _, d := range h.Disks() {
		m.disks = append(m.disks, disk{d.Radius + slack.Lateral, h.Gap - h.Standoff - d.Up + slack.Height})
	}
	m.low, m.high, _, _ = on.Range()
	m.tallest = math.Inf(-1)
	// The tallest first: behind one that covers a move, most others need no look.
	slices.SortFunc(m.boxes, func(a, b surface.Box) int { return cmp.Compare(b.Height, a.Height) })
	if len(m.boxes) > 0 {
		m.tallest = m.boxes[0].Height
	}
	return m
}

// Everywhere is how high the focus must stand to be clear everywhere: the tip is the
// lowest.
func (m *Model) Everywhere() float64 { return max(m.high, m.tallest) + m.disks[0].rise }

// Within bounds how high the focus must stand wherever the beam is in a
// rectangle, from above.
func (m *Model) Within(x0, y0, x1, y1 float64) float64 {
	most := math.Inf(-1)
	for _, d := range m.disks {
		most = max(most, m.within(d, x0, y0, x1, y1))
	}
	return most
}

// within is what a disk asks for.
func (m *Model) within(d disk, x0, y0, x1, y1 float64) float64 {
	_, high := m.peaks.Bounds(x0, y0, x1, y1, d.radius)
	return m.overBoxes(high, d, x0, y0, x1, y1) + d.rise
}

// overBoxes is the highest of what is high and the boxes within the radius of a disk
// wherever the beam is in a rectangle.
func (m *Model) overBoxes(high float64, d disk, x0, y0, x1, y1 float64) float64 {
	for k := range m.boxes {
		if b := &m.boxes[k]; b.Height > high && b.Stands(m.surface, x0, y0, x1, y1, d.radius) {
			high = b.Height
		}
	}
	return high
}

// Clears reports whether a focus that stands at least lead over the surface under
// the beam is clear, wherever the beam is in a rectangle and however Z is lifted
// by lift besides.
func (m *Model) Clears(x0, y0, x1, y1, lead, lift float64) bool {
	if lift+lead >= m.Everywhere()-m.low {
		return true
	}
	low, _ := m.peaks.Bounds(x0, y0, x1, y1, 0)
	return m.Within(x0, y0, x1, y1)-lift <= low+lead
}

// Extent is a rectangle that a move stays in.
func Extent(m *machine.Move) (x0, y0, x1, y1 float64) {
	x0, x1 = min(m.From.X, m.To.X), max(m.From.X, m.To.X)
	y0, y1 = min(m.From.Y, m.To.Y), max(m.From.Y, m.To.Y)
	if m.Kind == machine.Arc {
		// No point of it is further than half its length from the nearer end,
		// nor further than its radius from the centre.
		h, r := m.Length/2+samePlace, max(math.Abs(m.R0), math.Abs(m.R1))+samePlace
		x0, x1 = max(x0-h, m.CX-r), min(x1+h, m.CX+r)
		y0, y1 = max(y0-h, m.CY-r), min(y1+h, m.CY+r)
	}
	return x0, y0, x1, y1
}

// Programmed is how far from the stock Z is programmed between two fractions of a
// move, at its nearest; sigma is +1 where +Z leads from the stock, else -1. A loose
// rapid may be at its nearest anywhere. A move of Z alone counts where it ends:
// before, it is where the one before it has ended, or on its way up from there.
func Programmed(m *machine.Move, sigma, s0, s1 float64) float64 {
	if m.Length == 0 || m.FromUnknown || m.ZUnknown {
		return sigma * m.To.Z
	}
	if m.Loose {
		s0, s1 = 0, 1
	}
	dz := m.To.Z - m.From.Z
	return min(sigma*(m.From.Z+s0*dz), sigma*(m.From.Z+s1*dz))
}

// samePlace in mm is more than rounding makes of a place.
const samePlace = 1e-6

// Append appends how high the focus must stand along the move from fraction from
// on, in stretches; at its end alone where it has no length, or its way is not
// known; anywhere in the rectangle of its ends, if it is loose.
func (m *Model) Append(dst []surface.Ceiling, mv *machine.Move, from float64) []surface.Ceiling {
	n := len(dst)
	dst = m.append(dst, m.disks[0], mv, from)
	x0, y0, x1, y1 := Extent(mv)
	for _, d := range m.disks[1:] {
		least := math.Inf(1)
		for _, c := range dst[n:] {
			least = min(least, c.High)
		}
		if m.within(d, x0, y0, x1, y1) <= least {
			continue // what is below asks for as much everywhere
		}
		k := len(dst)
		dst = m.append(dst, d, mv, from)
		both := len(dst)
		dst = appendHighest(dst, dst[n:k], dst[k:both])
		dst = append(dst[:n], dst[both:]...)
	}
	return dst
}

// append appends what a disk asks for.
func (m *Model) append(dst []surface.Ceiling, d disk, mv *machine.Move, from float64) []surface.Ceiling {
	n := len(dst)
	switch boxes := m.near(mv, d.radius); {
	case mv.Length == 0 || mv.FromUnknown:
		dst = m.surface.AppendLineCeiling(dst, boxes, mv.To.X, mv.To.Y, mv.To.X, mv.To.Y, d.radius, m.tolerance)
	case mv.Crosses():
		x0, y0, x1, y1 := Extent(mv)
		high := m.surface.HighestIn(x0, y0, x1, y1, d.radius, m.tolerance)
		dst = append(dst, surface.Ceiling{S1: 1, High: m.overBoxes(high, d, x0, y0, x1, y1)})
	case mv.Kind == machine.Arc:
		dst = m.surface.AppendArcCeiling(dst, boxes, mv.CX, mv.CY, mv.R0+from*(mv.R1-mv.R0), mv.R1,
			mv.A0+from*mv.Sweep, (1-from)*mv.Sweep, d.radius, m.tolerance)
	default:
		at := mv.XY(from)
		dst = m.surface.AppendLineCeiling(dst, boxes, at[0], at[1], mv.To.X, mv.To.Y, d.radius, m.tolerance)
	}
	for k := n; k < len(dst); k++ {
		dst[k].High += d.rise
	}
	return dst
}

// fewBoxes are looked at one by one: a list of those that matter is more work.
const fewBoxes = 32

// near are the boxes that a move may come near to, the tallest first.
func (m *Model) near(mv *machine.Move, radius float64) (near []surface.Box) {
	if len(m.boxes) <= fewBoxes {
		return m.boxes
	}
	end := *mv
	if mv.Length == 0 || mv.FromUnknown {
		end.Kind, end.From = machine.Line, mv.To
	}
	x0, y0, x1, y1 := Extent(&end)
	for k := range m.boxes {
		if m.boxes[k].Stands(m.surface, x0, y0, x1, y1, radius+samePlace) {
			near = append(near, m.boxes[k])
		}
	}
	return near
}

// appendHighest appends the higher of two rows of stretches, each from 0 to 1.
func appendHighest(dst, a, b []surface.Ceiling) []surface.Ceiling {
	n, from := len(dst), 0.0
	for len(a) > 0 && len(b) > 0 {
		to, high := min(a[0].S1, b[0].S1), max(a[0].High, b[0].High)
		if k := len(dst) - 1; k >= n && dst[k].High == high {
			dst[k].S1 = to
		} else {
			dst = append(dst, surface.Ceiling{S0: from, S1: to, High: high})
		}
		from = to
		if a[0].S1 == to {
			a = a[1:]
		}
		if b[0].S1 == to {
			b = b[1:]
		}
	}
	return dst
}

// HighestAlong is how high the focus must stand along the move of an item, from fraction
// s0 to s1; along all of a run, which is not divided. A nil model asks for nothing.
func (m *Model) HighestAlong(it *stream.Item, s0, s1 float64) float64 {
	high := math.Inf(-1)
	switch {
	case m == nil:
	case it.IsRun():
		for a, b := range it.Ends() {
			high = max(high, m.Within(min(a.X, b.X), min(a.Y, b.Y), max(a.X, b.X), max(a.Y, b.Y)))
		}
	default:
		for _, c := range m.Append(nil, &it.Move, s0) {
			if s0+(1-s0)*c.S0 < s1 {
				high = max(high, c.High)
			}
		}
	}
	return high
}

// Highest returns how high the focus must stand on all of a move.
func (m *Model) Highest(mv *machine.Move) float64 {
	high := math.Inf(-1)
	for _, c := range m.Append(nil, mv, 0) {
		high = max(high, c.High)
	}
	return high
}
