// Package phrase writes numbers as people read them in a sentence. It knows
// nothing of what they count.
package phrase

import "fmt"

// Count writes a number of things: "1 line", "3 lines". The plural of what is
// made with an s.
func Count(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}

// Clock writes a time in s: "12.5 s", "3 min 07 s" or "2 h 05 min".
func Clock(s float64) string {
	switch {
	case s < 60:
		return fmt.Sprintf("%.1f s", s)
	case s < 3600:
		return fmt.Sprintf("%d min %02d s", int(s)/60, int(s)%60)
	}
	return fmt.Sprintf("%d h %02d min", int(s)/3600, int(s)%3600/60)
}
