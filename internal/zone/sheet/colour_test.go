package sheet

import (
	"math"
	"strconv"
	"testing"
)

// luminance is the relative luminance of #rrggbb (W3C, WCAG 2.2, definition of
// relative luminance; from memory).
func luminance(t *testing.T, colour string) float64 {
	t.Helper()
	v, err := strconv.ParseUint(colour[1:], 16, 32)
	if err != nil || len(colour) != 7 {
		t.Fatalf("colour %q", colour)
	}
	part := func(c uint64) float64 {
		f := float64(c&255) / 255
		if f <= 0.04045 {
			return f / 12.92
		}
		return math.Pow((f+0.055)/1.055, 2.4)
	}
	return 0.2126*part(v>>16) + 0.7152*part(v>>8) + 0.0722*part(v)
}

// Zones are told apart by lightness alone, as in grey print, and their lines
// and numbers stand out from white paper: graphics want a contrast of 3
// (WCAG 2.2, 1.4.11).
func TestZoneColours(t *testing.T) {
	for _, n := range []int{1, 2, 3, 7} {
		before := math.Inf(1)
		for i := range n {
			l := luminance(t, colour(i, n))
			if contrast := 1.05 / (l + 0.05); contrast < 3 {
				t.Errorf("zone %d of %d: %s has a contrast of %.2f", i, n, colour(i, n), contrast)
			}
			if step := (before + 0.05) / (l + 0.05); step < 1.1 {
				t.Errorf("zone %d of %d: %s is darker than the one before by %.2f only", i, n, colour(i, n), step)
			}
			before = l
		}
	}
}
