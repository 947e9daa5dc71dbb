package clearance

import (
	"cmp"
	"math"
	"slices"

	"sagitta/internal/bench"
	"sagitta/internal/machine"
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

// Model is what must stay free under the head. It does not change.
type Model struct {
	surface   *surface.Placed
	peaks     *surface.Peaks
	boxes     []surface.Box
	tallest   float64 // of the boxes
	radius    float64
	rise      float64 // the focus must be this much over the highest
	tolerance float64
	low, high float64 // of the surface
}

// New returns the model of a head over a surface, nil where no head is known.
func New(on *surface.Placed, h *bench.Head, slack Slack) *Model {
	if h == nil {
		return nil
	}
	m := &Model{
		surface: on, peaks: surface.NewPeaks(on), boxes: slices.Clone(h.Boxes),
		radius:    h.Radius + slack.Lateral,
		rise:      h.Gap - h.Standoff + slack.Height,
		tolerance: max(slack.Tolerance, radiusKnown*on.MaxSlope()),
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

// Everywhere is how high the focus must stand to be clear everywhere.
func (m *Model) Everywhere() float64 { return max(m.high, m.tallest) + m.rise }

// Within bounds how high the focus must stand wherever the beam is in a
// rectangle, from above.
func (m *Model) Within(x0, y0, x1, y1 float64) float64 {
	_, high := m.peaks.Bounds(x0, y0, x1, y1, m.radius)
	for k := range m.boxes {
		if b := &m.boxes[k]; b.Height > high && b.Stands(m.surface, x0, y0, x1, y1, m.radius) {
			high = b.Height
		}
	}
	return high + m.rise
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

// Arrives reports whether a move is one before which the program does not say
// where the head is over XY, but at which Z.
func Arrives(m *machine.Move) bool {
	return m.FromUnknown && !m.ZUnknown && m.Kind != machine.Still
}

// Arrival is the straight way of a move that arrives from where the head stands,
// at X and Y, at the Z of its end; nil where that is not known, and of any other
// move.
func Arrival(stand *[2]float64, m *machine.Move) *machine.Move {
	if stand == nil || !Arrives(m) {
		return nil
	}
	way := *m
	way.Kind, way.FromUnknown = machine.Line, false
	way.From = machine.Point{X: stand[0], Y: stand[1], Z: m.To.Z}
	way.Length = math.Hypot(m.To.X-way.From.X, m.To.Y-way.From.Y)
	return &way
}

// Programmed is how far from the stock Z is programmed between two fractions of a
// move, at its nearest; sigma is +1 where +Z leads from the stock, else -1. A move
// of Z alone counts where it ends: before, it is where the one before it has ended,
// or on its way up from there.
func Programmed(m *machine.Move, sigma, s0, s1 float64) float64 {
	if m.Length == 0 || m.FromUnknown || m.ZUnknown {
		return sigma * m.To.Z
	}
	dz := m.To.Z - m.From.Z
	return min(sigma*(m.From.Z+s0*dz), sigma*(m.From.Z+s1*dz))
}

// samePlace in mm is more than rounding makes of a place.
const samePlace = 1e-6

// Append appends how high the focus must stand along the move from fraction from
// on, in stretches; at its end alone where it has no length, or its way is not
// known.
func (m *Model) Append(dst []surface.Ceiling, mv *machine.Move, from float64) []surface.Ceiling {
	n := len(dst)
	switch {
	case mv.Length == 0 || mv.FromUnknown:
		dst = m.surface.AppendLineCeiling(dst, m.boxes, mv.To.X, mv.To.Y, mv.To.X, mv.To.Y, m.radius, m.tolerance)
	case mv.Kind == machine.Arc:
		dst = m.surface.AppendArcCeiling(dst, m.boxes, mv.CX, mv.CY, mv.R0+from*(mv.R1-mv.R0), mv.R1,
			mv.A0+from*mv.Sweep, (1-from)*mv.Sweep, m.radius, m.tolerance)
	default:
		at := mv.XY(from)
		dst = m.surface.AppendLineCeiling(dst, m.boxes, at[0], at[1], mv.To.X, mv.To.Y, m.radius, m.tolerance)
	}
	for k := n; k < len(dst); k++ {
		dst[k].High += m.rise
	}
	return dst
}

// Straight returns how high the focus must stand on a straight way.
func (m *Model) Straight(x0, y0, x1, y1 float64) float64 {
	high := math.Inf(-1)
	for _, c := range m.surface.AppendLineCeiling(nil, m.boxes, x0, y0, x1, y1, m.radius, m.tolerance) {
		high = max(high, c.High)
	}
	return high + m.rise
}
