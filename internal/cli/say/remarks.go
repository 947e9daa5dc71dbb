package say

import (
	"cmp"
	"fmt"
	"slices"

	"sagitta/internal/phrase"
	"sagitta/internal/program"
	"sagitta/internal/stream"
)

// remarks name each thing that is remarkable of a program once, in order of lines.
func remarks(r *stream.Remarks) []string {
	type remark struct {
		line int
		text string
	}
	var all []remark
	say := func(line int, format string, args ...any) {
		all = append(all, remark{line, fmt.Sprintf(format, args...)})
	}
	for kind, t := range r.Lapses {
		if t.Count > 0 {
			say(t.Line, "%s", t.Says(program.Lapse(kind)))
		}
	}
	for _, n := range r.Unknown {
		say(n.Place.Line, "line %d: M%d is unknown; it counts as without effect on motion and beam", n.Place.Line, n.M)
	}
	if r.Behind > 0 {
		say(r.Behind, "line %d: what stands here, behind the second \"%%\", was not read and is left out: that ends the program", r.Behind)
	}
	lit := func(t program.Tally, what string) {
		if t.Count > 0 {
			say(t.Line, "caution: line %d: the program itself %s with the beam on, %s in all", t.Line, what, phrase.Count(t.Count, "time"))
		}
	}
	lit(r.Lit.Travels, "travels")
	lit(r.Lit.Waits, "waits")
	if t := r.Lit.Strokes; t.Count > 0 {
		say(t.Line, "line %d: Z alone moves with the beam on, %s in all: a mark or a plunge in place, and it is followed as one", t.Line, phrase.Count(t.Count, "time"))
	}
	if t := r.Lit.Ends; t.Count > 0 {
		say(t.Line, "caution: line %d: the program itself ends with the beam on", t.Line)
	}
	slices.SortStableFunc(all, func(a, b remark) int { return cmp.Compare(a.line, b.line) })
	var lines []string
	for _, m := range all {
		lines = append(lines, m.text)
	}
	return lines
}
