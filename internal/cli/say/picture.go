package say

import (
	"path/filepath"
	"slices"
	"strings"

	"sagitta/internal/job"
	"sagitta/internal/record"
	"sagitta/internal/report"
	"sagitta/internal/report/trace"
)

// mostMeasured is how many nodes of a surface are drawn under a job: of more none would be
// told from the next.
const mostMeasured = 400

// Picture is the job as pictures of it are drawn, without a verdict.
func (c *Check) Picture(t *trace.Trace) *report.Job {
	j := &report.Job{
		Title:  filepath.Base(c.Name) + " over " + filepath.Base(c.Job.Surface),
		Placed: c.Job.Placed, Boxes: slices.Concat(c.Job.Head.Boxes, c.Job.Head.Pieces), Trace: t,
	}
	if c.Name == "-" {
		j.Title = "the program over " + filepath.Base(c.Job.Surface)
	}
	if at, _, ok := c.Job.DatumXY(); ok {
		j.Datum = &at
	}
	if points := c.Job.Measured().Points(); len(points) <= mostMeasured {
		j.Touched = points
	}
	j.ZSpeed, j.ZStep = c.zLimits()
	if t := c.Times; t != nil && t.Original != nil {
		j.Lost, j.BurnedMM = t.Made.Lost[1:], t.Made.BurnMM
	}
	if p := c.Setting.Point; p != nil {
		j.Focus = &[2]float64{p.X, p.Y}
	}
	return j
}

// zLimits are the greatest speed of Z of the bench, and the greatest step of it that it takes
// at once, in mm/s; 0 where that is not known.
func (c *Check) zLimits() (speed, step float64) {
	m := c.Job.Machine
	if l := job.Timing(m, c.Job.Config); l != nil {
		step = l.Step[2]
	}
	return record.Known(m.ZRateMMMin) / 60, step
}

// Drawn is the job as pictures of it are drawn, with the verdict.
func (c *Check) Drawn(t *trace.Trace) *report.Job {
	j := c.Picture(t)
	v := (&Reported{Check: c}).verdict()
	// The sheet is not beside it, nor what the page has below.
	j.Verdict = strings.NewReplacer(" as on the sheet", "", " as said below", "").Replace(v.Text)
	if !v.Holds {
		j.Verdict = "DOES NOT HOLD: " + j.Verdict
	}
	return j
}

// Drawn is the place of the lens that the job is drawn with: the first of the answer, or
// else the first that is not out; -1 where all are.
func (a *Advice) Drawn() int {
	if len(a.Lenses) > 0 {
		return a.Lenses[0]
	}
	return slices.IndexFunc(a.With.Lenses, func(l job.Lens) bool { return l.Out == nil })
}

// Title is the answer as the title of a picture of the job as it would run flat.
func (a *Advice) Title() string {
	answer := strings.TrimPrefix(strings.Join(texts.Lines("answer", a), ", "), "advice: ")
	return upper(answer) + ". Drawn is the program as it is, with the best focus of lens " + a.Answers[a.Drawn()].Name + "."
}
