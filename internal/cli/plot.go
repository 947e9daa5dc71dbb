package cli

import (
	"bytes"
	"errors"
	"io"
	"math"

	"sagitta/internal/cli/files"
	"sagitta/internal/cli/say"
	"sagitta/internal/diag"
	"sagitta/internal/report"
	"sagitta/internal/report/trace"
	"sagitta/internal/verify"
)

// plotOptions are those of the commands that draw a job.
type plotOptions struct {
	Plot string `opt:"plot" file:"svg|png" is:"draw the job to <FILE>.svg or .png: from above, along its path, and how much of it has how much defocus"`
}

// check looks at the options together: a rehearsal burns nothing that could be drawn.
func (o *plotOptions) check(rehearsal bool) error {
	if o.Plot != "" && rehearsal {
		return usagef("leave one of them out", "--plot draws what is burned, and --rehearsal burns nothing")
	}
	return checkPlot(o.Plot)
}

// draw makes the picture of a job. It appears whether the job holds, is refused, or neither.
func (r *run) draw(name string, by report.By, j *report.Job) error {
	p, err := j.Figure(by, report.Wide)
	if err != nil {
		return diag.Errorf(diag.Setting, "leave --plot out", "--plot %s: %v", name, err)
	}
	var picture bytes.Buffer
	if err := p.Write(&picture, plotFormat(name)); err != nil {
		return err
	}
	r.drawn, err = r.files.Make(files.Result{Name: name, Text: picture.Bytes()})
	return err
}

// anew is an input that was opened to be read twice, from its beginning.
func anew(in io.ReaderAt) io.Reader { return io.NewSectionReader(in, 0, math.MaxInt64) }

// flat has the program as it is traced, with a lens by its place and the focus at a height
// over the datum; nil where Z says that.
func (r *run) flat(name string, lens int, focus *float64) (*verify.Result, *trace.Trace, error) {
	j := *r.job
	j.Lenses = j.Lenses[lens : lens+1]
	return j.VerifyTraced(r.program, name, nil, "", focus, false)
}

// drawRefused makes the picture of a job that was refused: of its program as it is, under
// why. What cannot be read is not drawn.
func (r *run) drawRefused(plot, name string, err error) error {
	refusal, refused := errors.AsType[diag.Refusal](err)
	if plot == "" || !refused || len(refusal.Reasons()) == 0 {
		return nil
	}
	res, t, failed := r.flat(name, 0, nil)
	if failed != nil {
		return nil
	}
	c := say.Check{Job: r.job, Name: name, Program: res}
	j := c.Drawn(t)
	j.Verdict = "Refused: " + refusal.Reasons()[0] + ". Drawn is the program as it is, with the focus set at the datum."
	return r.draw(plot, report.ByDefocus, j)
}
