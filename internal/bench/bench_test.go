package bench

import "testing"

// Beside what is low only the tip counts, however high it stands; a step counts from
// where what stands there comes within the gap of it.
func TestBeside(t *testing.T) {
	h := Head{Radius: 4, Standoff: 6, Gap: 1, Above: []Disk{{Radius: 10, Up: 7}, {Radius: 30, Up: 15}}}
	for _, c := range []struct{ height, want float64 }{{-3, 4}, {5, 4}, {6, 4}, {6.5, 10}, {14, 10}, {14.1, 30}, {99, 30}} {
		if got := h.Beside(c.height); got != c.want {
			t.Errorf("beside %g mm: %g, want %g", c.height, got, c.want)
		}
	}
}
