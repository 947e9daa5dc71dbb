// Package phrase writes numbers, places and lists as people read them in a
// sentence. It knows nothing of what they are of.
package phrase

import (
	"fmt"
	"strings"
)

// Count writes a number of things: "1 line", "3 lines", "2 touches", "4 boxes".
func Count(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	plural := "s"
	if strings.HasSuffix(what, "ch") || strings.HasSuffix(what, "x") {
		plural = "es"
	}
	return fmt.Sprintf("%d %s%s", n, what, plural)
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
