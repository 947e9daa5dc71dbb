package fit

import (
	"math"

	"sagitta/internal/fit/layout"
	"sagitta/internal/surface"
	"sagitta/internal/touch"
)

// stepPart of the height of a step is the standard uncertainty near its edge: it may be
// anywhere between two touches, so that what is read there is off by up to half of it
// either way, all of that alike (JCGM 100, 4.3.7).
var stepPart = 1 / (2 * math.Sqrt(3))

// unsure raises the uncertainty of heights within a spacing of the edges of steps, and of
// touches that are kept though they are off.
func (m *Measured) unsure() error {
	s := m.Written.Surface
	if len(m.Steps)+len(m.Doubted) == 0 || !s.Header().ErrorSaid {
		return nil
	}
	perX, perY := layout.PerSpacing(m.Points, touch.SamePlaceMM)
	nx := len(s.X())
	mm := make([]float64, nx*len(s.Y()))
	for k := range mm {
		mm[k] = s.ErrorAt(k%nx, k/nx)
	}
	near := func(p surface.Point, within, height float64) {
		for j, y := range s.Y() {
			if math.Abs(y-p.Y)*perY > within {
				continue
			}
			for i, x := range s.X() {
				if math.Abs(x-p.X)*perX <= within {
					mm[j*nx+i] = max(mm[j*nx+i], ceilDigits(math.Abs(height)*stepPart, 3))
				}
			}
		}
	}
	for _, t := range m.Steps {
		within := besideEdge
		if t.Between {
			within /= 2 // from the touches on either side of it
		}
		for _, p := range t.Points {
			near(p, within, t.HeightMM)
		}
	}
	for _, d := range m.Doubted {
		height := math.Abs(d.OffMM)
		// What was touched is within twice what is stated, also where the form passes over.
		if off := math.Abs(m.Choice.Shape.At(d.X, d.Y) - d.Z); off == off {
			height = max(height, off/2/stepPart)
		}
		near(d.Point, besideEdge, height)
	}
	raised, err := s.WithErrors(mm)
	if err != nil {
		return err
	}
	m.Written.Surface = raised
	m.Written.seek(layout.NewHull(m.Points))
	return nil
}

// besideEdge is how many spacings from a touch the edge beside it may be, and the
// rounding of places.
const besideEdge = 1.001
