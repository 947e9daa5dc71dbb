package machine

import "math"

// XY gives the place at the fraction s, 0 to 1, of the move's XY length, in
// mm. At 0 and 1 it is From and To to the last bit.
func (m *Move) XY(s float64) [2]float64 {
	switch {
	case s <= 0:
		return [2]float64{m.From.X, m.From.Y}
	case s >= 1:
		return [2]float64{m.To.X, m.To.Y}
	case m.Kind == Arc:
		r := m.R0 + (m.R1-m.R0)*s
		sin, cos := math.Sincos(m.A0 + m.Sweep*s)
		return [2]float64{m.CX + r*cos, m.CY + r*sin}
	}
	return [2]float64{m.From.X + (m.To.X-m.From.X)*s, m.From.Y + (m.To.Y-m.From.Y)*s}
}
