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
			t.Row(named(o.Job), string(o.Verdict), fmt.Sprint(o.Status), fmt.Sprintf("%.2f", o.Seconds), what)
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

// named is the name of a job on one line, whatever it is called.
func named(job string) string { return strings.ReplaceAll(job, "\n", `\n`) }

// Tally is how many jobs came to what.
type Tally struct {
	of          map[batch.Verdict]int
	order       []batch.Verdict
	all         int
	made, wrong bool
}

// Add counts a job.
func (t *Tally) Add(o *batch.Outcome) {
	if t.of == nil {
		t.of = map[batch.Verdict]int{}
	}
	t.all++
	if t.of[o.Verdict]++; t.of[o.Verdict] == 1 {
		t.order = append(t.order, o.Verdict)
	}
	t.wrong = t.wrong || o.Status != batch.Done
	t.made = t.made || o.Status == batch.Done && o.Verdict != batch.Unchanged
}

// String says how many jobs there were, and how many came to each verdict.
func (t *Tally) String() string {
	var parts []string
	for _, verdict := range t.order {
		parts = append(parts, fmt.Sprintf("%d %s", t.of[verdict], verdict))
	}
	if t.all == 0 {
		return "no job"
	}
	return phrase.Count(t.all, "job") + ": " + phrase.List(parts)
}
