package fit

import (
	"fmt"
	"math"

	"sagitta/internal/fit/form"
	"sagitta/internal/fit/layout"
	"sagitta/internal/phrase"
	"sagitta/internal/surface"
	"sagitta/internal/touch"
)

// fewRows are as many rows of a lattice as do not tell a bend from a wave: one as long as
// three rows gives each of four the height that a bow has there, or a cone.
const fewRows = 4

// doubtFewRows asks for touches half-way between rows, where a form bends over so few of
// them that waves would have left the same heights. How far such a form is known no touch
// on these rows can tell, as all of them are foretold well.
func (m *Measured) doubtFewRows() {
	if !form.Is(m.Choice.Name) {
		return // others are known the less, the farther from touches
	}
	g := layout.GridOf(m.Points, touch.SamePlaceMM)
	if g == nil {
		return
	}
	for _, axis := range []struct {
		name          string
		along, beside []float64
		at            func(along, beside float64) (x, y float64)
	}{
		{"X", g.X(), g.Y(), func(a, b float64) (x, y float64) { return a, b }},
		{"Y", g.Y(), g.X(), func(a, b float64) (x, y float64) { return b, a }},
	} {
		n := len(axis.along)
		if n < 3 || n > fewRows {
			continue
		}
		height := func(i, j int) float64 { return m.Choice.Shape.At(axis.at(axis.along[i], axis.beside[j])) }
		bend, row, beside := 0.0, 0, 0
		for i := 1; i < n-1; i++ {
			part := (axis.along[i] - axis.along[i-1]) / (axis.along[i+1] - axis.along[i-1])
			for j := range axis.beside {
				if b := math.Abs(height(i, j) - (1-part)*height(i-1, j) - part*height(i+1, j)); b > bend {
					bend, row, beside = b, i, j
				}
			}
		}
		if bend <= enoughMM {
			continue
		}
		d := Doubt{
			What: fmt.Sprintf("a %s bends by %s mm over only %d places along %s: waves as long as two or three of their spacings would leave the same heights",
				m.Choice.Name, phrase.MM(bend), n, axis.name),
			Mend: "touch half-way between places as well",
		}
		for _, i := range []int{row - 1, row} {
			x, y := axis.at((axis.along[i]+axis.along[i+1])/2, axis.beside[beside])
			if h := m.Choice.Shape.At(x, y); h == h {
				d.Places = append(d.Places, surface.Point{X: x, Y: y, Z: h})
			}
		}
		m.Doubts = append(m.Doubts, d)
	}
}
