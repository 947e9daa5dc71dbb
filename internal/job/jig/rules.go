package jig

import (
	"fmt"

	"sagitta/internal/diag"
	"sagitta/internal/record"
	"sagitta/internal/rewrite/placed"
)

// Rules are rules about the burns of the part's program, from a file called name, as they are
// for the program of all parts: lines of the one become those that stand for them in the
// other, at each place.
func (j *Jig) Rules(parts []placed.Part, rules record.Burns, name string) (record.Burns, error) {
	all := make(record.Burns, len(rules))
	for i := range rules {
		all[i] = rules[i]
		if rules[i].Lines == nil {
			continue
		}
		var spans record.LineSpans
		last := 0
		for k := range parts {
			p := &parts[k]
			last = p.Last
			for _, s := range *rules[i].Lines {
				if from, to := max(s[0], p.First), min(s[1], p.Last); from <= to {
					spans = append(spans, [2]int{p.Body + from - p.First, p.Body + to - p.First})
				}
			}
		}
		if spans == nil {
			e := &diag.Error{Kind: diag.Setting, Place: rules[i].Place("lines"), Field: "lines", What: fmt.Sprintf("rule %d is for %s of the part's program, and %s ends with line %d", i+1, rules[i].Lines, j.Name, last),
				Hint: "lines count in the program of one part"}
			e.File = name
			return nil, e
		}
		all[i].Lines = &spans
	}
	return all, nil
}
