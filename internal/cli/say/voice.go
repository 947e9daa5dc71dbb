package say

import (
	"fmt"
	"io"

	"sagitta/internal/diag"
)

// Voice says messages.
type Voice struct{ W io.Writer }

// Line says a line.
func (v Voice) Line(format string, args ...any) {
	fmt.Fprintf(v.W, "sagitta: "+format+"\n", args...)
}

// Lines says lines as they are.
func (v Voice) Lines(lines []string) {
	for _, l := range lines {
		v.Line("%s", l)
	}
}

// listed says the first of so many failures, and how many more there are.
func (v Voice) listed(lines []string, count int) {
	v.Lines(diag.Listed(lines[:min(len(lines), mostListed)], count))
}

const (
	// mostListed is how many failures are listed: as many as fit on a screen.
	mostListed = 20
	// mostZones is how many zones are.
	mostZones = 12
)
