package surfacetest

import (
	"math"

	"pgregory.net/rapid"

	"sagitta/internal/surface"
)

// Round draws a surface that repeats, laid down askew over the square of a side from
// the origin, in mm, and far about it.
func Round(t *rapid.T, side float64) *surface.Placed {
	turn := side * rapid.SampledFrom([]float64{0.4, 0.7, 1.5}).Draw(t, "turn")
	x, y := []float64{-3 * side, 0, side / 2, 3 * side}, []float64{0, turn / 4, turn / 2, turn * 3 / 4}
	scale := rapid.SampledFrom([]float64{0, 0.5}).Draw(t, "scale")
	var z []float64
	for range len(x) * len(y) {
		z = append(z, scale*rapid.Float64Range(-1, 1).Draw(t, "z"))
	}
	s, err := surface.New(x, y, z)
	if err == nil {
		s, err = s.WithHeader(surface.Header{WrapsYMM: turn})
	}
	if err != nil {
		t.Fatal(err)
	}
	p, err := surface.Place(s, surface.Placement{
		ShiftX:    rapid.SampledFrom([]float64{0, side / 7}).Draw(t, "shift x"),
		ShiftY:    rapid.SampledFrom([]float64{0, -side / 3}).Draw(t, "shift y"),
		RotateDeg: rapid.SampledFrom([]float64{0, 0, 90, 180, -90, 31}).Draw(t, "askew"),
		Method:    rapid.SampledFrom([]string{"bilinear", "bicubic"}).Draw(t, "method"),
	})
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// Standing are boxes as they stand over a placed surface at least within far mm of the
// origin: on every turn of one that repeats.
func Standing(p *surface.Placed, boxes []surface.Box, far float64) []surface.Box {
	turn := p.Surface().Header().WrapsYMM
	if turn == 0 {
		return boxes
	}
	// Along the surface's y, wherever that leads in the program.
	x0, y0 := p.Program(0, 0)
	x1, y1 := p.Program(0, turn)
	var all []surface.Box
	for _, b := range boxes {
		n := math.Ceil((far + max(math.Abs(b.X0), math.Abs(b.X1)) + max(math.Abs(b.Y0), math.Abs(b.Y1))) / turn)
		for k := -n; k <= n; k++ {
			dx, dy := k*(x1-x0), k*(y1-y0)
			all = append(all, surface.Box{X0: b.X0 + dx, Y0: b.Y0 + dy, X1: b.X1 + dx, Y1: b.Y1 + dy, Height: b.Height})
		}
	}
	return all
}
