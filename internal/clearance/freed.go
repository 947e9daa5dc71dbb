package clearance

import (
	"math"
	"slices"

	"github.com/paulmach/orb"

	"sagitta/internal/surface"
)

// Frees reports whether pieces that are cut free count.
func (m *Model) Frees() bool { return m != nil && m.freed != nil }

// Free lets a piece stand up that is cut out of a rectangle of program XY: from now on
// it is a box there, so high over the highest of the surface within it. The model must
// not be in use elsewhere. Where pieces do not count it does nothing.
func (m *Model) Free(about orb.Bound) {
	if !m.Frees() {
		return
	}
	b := Piece(m.surface, about.Pad(m.lateral), *m.freed, m.tolerance)
	k := 0
	for ; k < len(m.boxes) && m.boxes[k].Height >= b.Height; k++ {
		if o := &m.boxes[k]; o.X0 <= b.X0 && o.Y0 <= b.Y0 && o.X1 >= b.X1 && o.Y1 >= b.Y1 {
			return // as another pass over the same cut is
		}
	}
	m.boxes = slices.Insert(m.boxes, k, b)
	m.tallest = max(m.tallest, b.Height)
}

// Piece is a piece that is cut out of a rectangle of program XY and stands up by so many
// mm over the highest of the surface within it, which is bounded to a tolerance.
func Piece(on *surface.Placed, about orb.Bound, up, tolerance float64) surface.Box {
	b := surface.Box{X0: about.Min[0], Y0: about.Min[1], X1: about.Max[0], Y1: about.Max[1]}
	b.Height = on.HighestIn(b.X0, b.Y0, b.X1, b.Y1, 0, tolerance) + up
	return b
}

// Anywhere is the model as if such a piece stood everywhere; what comes free in one
// does not in the other.
func (m *Model) Anywhere() *Model {
	if !m.Frees() {
		return m
	}
	all := *m
	most := math.MaxFloat32
	all.tallest = max(m.tallest, m.high+*m.freed)
	all.boxes = append([]surface.Box{{X0: -most, Y0: -most, X1: most, Y1: most, Height: all.tallest}}, m.boxes...)
	return &all
}
