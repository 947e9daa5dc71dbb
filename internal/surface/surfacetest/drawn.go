package surfacetest

import (
	"pgregory.net/rapid"

	"sagitta/internal/surface"
)

// Sheet is a drawn surface over a square that programs stay in.
type Sheet struct {
	X, Y, Z []float64 // Z row after row
	Method  string    // that of surface.Placement
	Errors  []float64 // standard uncertainty of each height; nil where none is known
}

// Doubt draws for each height a standard uncertainty from some, in mm: at least one is
// the first, the least.
func (s *Sheet) Doubt(t *rapid.T, errors ...float64) *Sheet {
	for range s.Z {
		s.Errors = append(s.Errors, rapid.SampledFrom(errors).Draw(t, "error"))
	}
	s.Errors[rapid.IntRange(0, len(s.Z)-1).Draw(t, "surest")] = errors[0]
	return s
}

// Draw draws a sheet over the square of a side from the origin, in mm, and a
// margin: gentle or steep, even or uneven. Spacings are those of nodes over
// 60 mm, scales how high it is; both are drawn from.
func Draw(t *rapid.T, side float64, spacings, scales []float64) *Sheet {
	const sideOfSpacings = 60.0
	axis := func(label string) (v []float64) {
		v = append(v, -1)
		for v[len(v)-1] < side {
			v = append(v, v[len(v)-1]+side/sideOfSpacings*rapid.SampledFrom(spacings).Draw(t, label))
		}
		return v
	}
	s := &Sheet{X: axis("dx"), Y: axis("dy")}
	scale := rapid.SampledFrom(scales).Draw(t, "scale")
	s.Method = rapid.SampledFrom([]string{"bilinear", "bilinear", "bicubic"}).Draw(t, "method")
	for range len(s.X) * len(s.Y) {
		// Most that rapid.Float64Range draws are next to nothing.
		const steps = 24
		z := float64(rapid.IntRange(-steps, steps).Draw(t, "z")) + rapid.Float64Range(-0.5, 0.5).Draw(t, "z's rest")
		s.Z = append(s.Z, scale*z/steps)
	}
	return s
}

// Placed is the sheet laid down as it is.
func (s *Sheet) Placed(t T) *surface.Placed {
	t.Helper()
	return place(t, s.X, s.Y, s.Z, s.Errors, surface.Placement{Method: s.Method})
}
