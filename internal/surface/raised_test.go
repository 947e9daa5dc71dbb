package surface

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// Outside of raised boxes and their edges the surface is what it was, inside exactly so
// much higher, and nowhere surer than it was.
func TestRaised(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		nodes := func(name string) []float64 {
			list := []float64{rapid.Float64Range(-50, 50).Draw(t, name)}
			for range rapid.IntRange(1, 4).Draw(t, name+"s") {
				list = append(list, list[len(list)-1]+rapid.Float64Range(0.5, 60).Draw(t, name))
			}
			return list
		}
		x, y := nodes("x"), nodes("y")
		z, errs := make([]float64, len(x)*len(y)), make([]float64, len(x)*len(y))
		for k := range z {
			z[k], errs[k] = rapid.Float64Range(-3, 3).Draw(t, "z"), rapid.Float64Range(0.01, 1).Draw(t, "error")
			if k > 0 && rapid.IntRange(0, 9).Draw(t, "hole") == 0 {
				z[k] = math.NaN()
			}
		}
		s, err := New(x, y, z)
		if err != nil {
			t.Skip()
		}
		if rapid.Bool().Draw(t, "errors") {
			if s, err = s.WithErrors(errs); err != nil {
				t.Skip()
			}
		}
		var list []Raise
		for range rapid.IntRange(1, 3).Draw(t, "boxes") {
			r := Raise{X0: rapid.Float64Range(-80, 200).Draw(t, "x0"), Y0: rapid.Float64Range(-80, 200).Draw(t, "y0"), MM: rapid.Float64Range(-2, 2).Draw(t, "mm")}
			if rapid.Bool().Draw(t, "on a node") {
				r.X0, r.Y0 = rapid.SampledFrom(x).Draw(t, "xn"), rapid.SampledFrom(y).Draw(t, "yn")
			}
			r.X1, r.Y1 = r.X0+rapid.Float64Range(0.2, 60).Draw(t, "w"), r.Y0+rapid.Float64Range(0.2, 60).Draw(t, "h")
			r.At, r.Slope = [2]float64{r.X0, r.Y1}, [2]float64{rapid.Float64Range(-0.05, 0.05).Draw(t, "sx"), rapid.Float64Range(-0.05, 0.05).Draw(t, "sy")}
			for k := range list {
				if r.Overlap(&list[k]) {
					t.Skip()
				}
			}
			list = append(list, r)
		}
		made, err := s.Raised(list)
		if err != nil {
			t.Fatal(err)
		}
		was, err := Place(s, Placement{Method: "bilinear", Datum: nil})
		if err != nil {
			t.Skip()
		}
		now, err := Place(made, Placement{Method: "bilinear"})
		if err != nil {
			t.Skip()
		}
		for range 40 {
			px, py := rapid.Float64Range(x[0], x[len(x)-1]).Draw(t, "px"), rapid.Float64Range(y[0], y[len(y)-1]).Draw(t, "py")
			if rapid.Bool().Draw(t, "within") {
				r := rapid.SampledFrom(list).Draw(t, "of")
				px, py = rapid.Float64Range(r.X0, r.X1).Draw(t, "px"), rapid.Float64Range(r.Y0, r.Y1).Draw(t, "py")
			}
			h, w := was.At(px, py)
			g, v := now.At(px, py)
			if w != On {
				continue
			}
			if v != On {
				t.Fatalf("X%g Y%g was on it", px, py)
			}
			want, edged := h, false
			for k := range list {
				r := &list[k]
				switch in := px >= r.X0 && px <= r.X1 && py >= r.Y0 && py <= r.Y1; {
				case in:
					want += r.by(px, py)
				case px > r.X0-2*edge && px < r.X1+2*edge && py > r.Y0-2*edge && py < r.Y1+2*edge:
					edged = true
				}
			}
			if !edged && math.Abs(g-want) > 1e-9 {
				t.Fatalf("X%g Y%g is %g high, not %g", px, py, g, want)
			}
			if e, f := was.ErrorAt(px, py), now.ErrorAt(px, py); f < e {
				t.Fatalf("X%g Y%g is sure to %g, and was to %g", px, py, f, e)
			}
		}
	})
}
