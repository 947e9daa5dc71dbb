// Package surfacetest makes surfaces for tests.
package surfacetest

import "sagitta/internal/surface"

// T is what is needed of a test; *testing.T, *testing.B and *rapid.T have it.
type T interface {
	Helper()
	Fatal(args ...any)
}

// Of makes a surface with nodes x and y, ascending, and the heights that
// height gives, asked row after row; all in mm. It is laid down as it is. The
// method is that of surface.Placement.
func Of(t T, method string, x, y []float64, height func(x, y float64) float64) *surface.Placed {
	t.Helper()
	z := make([]float64, 0, len(x)*len(y))
	for _, b := range y {
		for _, a := range x {
			z = append(z, height(a, b))
		}
	}
	return place(t, x, y, z, nil, surface.Placement{Method: method})
}

func place(t T, x, y, z, errors []float64, at surface.Placement) *surface.Placed {
	t.Helper()
	s, err := surface.New(x, y, z)
	if err == nil && errors != nil {
		s, err = s.WithErrors(errors)
	}
	if err != nil {
		t.Fatal(err)
	}
	p, err := surface.Place(s, at)
	if err != nil {
		t.Fatal(err)
	}
	return p
}
