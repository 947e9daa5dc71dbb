package phrase

import "testing"

func TestCount(t *testing.T) {
	for n, want := range map[int]string{0: "0 lines", 1: "1 line", 2: "2 lines", 1000: "1000 lines"} {
		if got := Count(n, "line"); got != want {
			t.Errorf("%d: %q, want %q", n, got, want)
		}
	}
	for what, want := range map[string]string{"touch": "2 touches", "box": "2 boxes", "inch": "2 inches"} {
		if got := Count(2, what); got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
}

func TestClock(t *testing.T) {
	for s, want := range map[float64]string{0: "0.0 s", 59.9: "59.9 s", 60: "1 min 00 s", 187.9: "3 min 07 s",
		3599: "59 min 59 s", 3600: "1 h 00 min", 7530: "2 h 05 min"} {
		if got := Clock(s); got != want {
			t.Errorf("%g s: %q, want %q", s, got, want)
		}
	}
}
