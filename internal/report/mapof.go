package report

import (
	"fmt"

	"sagitta/internal/fit"
	"sagitta/internal/phrase"
)

// MapOf is the map of a surface and the points that it was made of.
func MapOf(m *fit.Measured) *Map {
	c := &Map{Title: fmt.Sprintf("%s: %s, %s", phrase.Printable(m.Name), m.Choice.Name, phrase.Count(len(m.Points), "point"))}
	s := m.Written.Surface
	read, err := fit.Reading(s, "")
	if err != nil {
		return c
	}
	c.At = read.At
	x, y := s.X(), s.Y()
	c.Low, c.Top = [2]float64{x[0], y[0]}, [2]float64{x[len(x)-1], y[len(y)-1]}
	for _, q := range m.Points {
		if h := c.At(q.X, q.Y); h == h {
			c.Marks = append(c.Marks, Mark{X: q.X, Y: q.Y, OffMM: q.Z - h, Line: q.Line})
		}
	}
	for _, b := range m.LeftOut {
		c.Marks = append(c.Marks, Mark{X: b.X, Y: b.Y, OffMM: b.OffMM, Line: b.Line, Bad: true})
	}
	return c
}
