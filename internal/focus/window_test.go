package focus

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// place draws numbers that often coincide, so that windows touch, are points
// or miss each other by little.
func place() *rapid.Generator[float64] {
	return rapid.OneOf(
		rapid.SampledFrom([]float64{-1, -1e-9, 0, 1e-9, 1, math.Nextafter(1, 2)}),
		rapid.Float64Range(-5, 5))
}

func window() *rapid.Generator[Window] {
	return rapid.Custom(func(t *rapid.T) Window {
		return Window{place().Draw(t, "lo"), place().Draw(t, "hi")}
	})
}

func allows(w Window, c float64) bool { return w.Lo <= c && c <= w.Hi }

func TestIntersectAllowsWhatBothAllow(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b, c := window().Draw(t, "a"), window().Draw(t, "b"), place().Draw(t, "c")
		both := a.Intersect(b)
		if got, want := allows(both, c), allows(a, c) && allows(b, c); got != want {
			t.Fatalf("%v of %v and %v holds %g: %v", both, a, b, c, got)
		}
		if both != b.Intersect(a) {
			t.Fatalf("order changes %v and %v", a, b)
		}
		if both.Empty() && allows(both, c) || both.Empty() != (both.Width() < 0) {
			t.Fatalf("%v: empty %v, width %g", both, both.Empty(), both.Width())
		}
	})
}

func TestClampIsNearestAllowed(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w, c, other := window().Draw(t, "w"), place().Draw(t, "c"), place().Draw(t, "other")
		got := w.Clamp(c)
		if w.Empty() {
			if got != (w.Lo+w.Hi)/2 {
				t.Fatalf("empty %v gives %g, not its middle", w, got)
			}
			return
		}
		if !allows(w, got) {
			t.Fatalf("%v clamps %g to %g, outside", w, c, got)
		}
		if allows(w, other) && math.Abs(other-c) < math.Abs(got-c) {
			t.Fatalf("%v clamps %g to %g, but %g is nearer", w, c, got, other)
		}
	})
}

func TestWindowEdgesAreAllowed(t *testing.T) {
	point := Window{0.3, 0.3}
	if point.Empty() || !allows(point, 0.3) || point.Width() != 0 {
		t.Error("a window of one value is not empty and holds that value")
	}
}
