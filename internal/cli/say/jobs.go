package say

import (
	"fmt"
	"strings"

	"sagitta/internal/job/batch"
	"sagitta/internal/phrase"
)

// mostJobs is how many jobs are listed one by one; of more only those that went wrong.
const mostJobs = 40

// Jobs are what became of jobs.
type Jobs []batch.Outcome

// table lists them.
func (list Jobs) table() (lines []string) {
	t := Table{Right: []bool{2: true, 3: true}}
	t.Row("job", "done", "status", "seconds", "result")
	wrong, shown := 0, 0
	for i := range list {
		o := &list[i]
		what := o.Result
		if o.Status != 0 {
			what = o.Why
			wrong++
		}
		if shown < mostJobs && (len(list) <= mostJobs || o.Status != 0) {
			shown++
			t.Row(o.Job, string(o.Verdict), fmt.Sprint(o.Status), fmt.Sprintf("%.2f", o.Seconds), what)
		}
	}
	if shown > 0 {
		lines = strings.Split(strings.TrimSuffix(t.String(), "\n"), "\n")
	}
	if more := wrong - shown; len(list) > mostJobs && more > 0 {
		lines = append(lines, fmt.Sprintf("and %d more that went wrong", more))
	}
	return lines
}

// count says how many came to what.
func (list Jobs) count() (text string, made, wrong bool) {
	counts := map[batch.Verdict]int{}
	var order []batch.Verdict
	for _, o := range list {
		if counts[o.Verdict]++; counts[o.Verdict] == 1 {
			order = append(order, o.Verdict)
		}
		wrong = wrong || o.Status != 0
		made = made || o.Status == 0 && o.Verdict != batch.Unchanged
	}
	var parts []string
	for _, verdict := range order {
		parts = append(parts, fmt.Sprintf("%d %s", counts[verdict], verdict))
	}
	return phrase.Count(len(list), "job") + ": " + phrase.List(parts), made, wrong
}
