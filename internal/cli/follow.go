package cli

import (
	"cmp"
	"errors"

	"sagitta/internal/cli/files"
	"sagitta/internal/cli/say"
	"sagitta/internal/follow"
	"sagitta/internal/job"
	"sagitta/internal/report"
)

type followOptions struct {
	options
	burnsOptions
	Rehearsal bool   `opt:"rehearsal"`
	Out       string `opt:"output,o" file:"program" is:"write the program to <FILE> (default: standard output)"`
	Sheet     string `opt:"sheet"`
	plotOptions
}

// followGCPercent is by how much the heap of a run may grow before it is
// collected: a run allocates next to nothing once it is under way, and what
// little there is need not wait until the heap has doubled.
const followGCPercent = 25

func (o *followOptions) run(s *session, args []string) error {
	name := args[0]
	if err := o.check(o.Rehearsal); err != nil {
		return err
	}
	r, err := s.prepare(&o.options, job.OneLens, name)
	if err != nil {
		return err
	}
	if err := o.take(r, name); err != nil {
		return err
	}
	open := s.files.Open
	if o.Plot != "" || r.inert() {
		open = s.files.OpenTwice // for what was written is held to it
	}
	if err := r.read(open, name, cmp.Or(o.Out, "-"), o.Sheet, o.Plot); err != nil {
		return err
	}
	out, err := s.files.Create(o.Out)
	if err != nil {
		return err
	}
	if o.Summary != "" {
		out.KeepDigest()
	}
	opt := r.job.Follow(name)
	opt.Rehearsal = o.Rehearsal
	defer s.collect(followGCPercent)()
	sum, err := follow.Run(r.program, out, opt)
	times, err := o.time(r, name, out, sum, err)
	if failed := o.draw(r, name, out, times, err); failed != nil {
		return failed
	}
	sheet, err := r.sheet(o.Sheet, err, func() []byte { return say.FollowSheet(r.job, o.Out, o.Rehearsal, sum) })
	err = r.finish("follow", name, err, func(g *say.Figures) { g.Follow(r.job, sum, times, out.Sum()) }, append(sheet, out)...)
	if err != nil {
		return err
	}
	s.say.Follow(r.job, sum, cmp.Or(o.Out, "the program"), times)
	s.say.Made("bench sheet", o.Sheet)
	s.say.Made("picture", o.Plot)
	return nil
}

// time works out what the program that was written and the one that it comes from take on a
// bench with inertia, which the summary has from then on, also of one that does not hold; nil
// where nothing is known of it, or where the program was refused.
func (o *followOptions) time(r *run, name string, out *files.Output, sum *follow.Summary, err error) (*say.Timing, error) {
	if !r.inert() {
		return nil, err
	}
	if unmet := (*follow.UnmetError)(nil); errors.As(err, &unmet) {
		// What was written of it need not be whole.
		if t, failed := r.times(r.program, name, nil, ""); failed == nil {
			sum.Seconds = t.Made.Seconds
		}
		if t, failed := r.times(out, cmp.Or(o.Out, "-"), nil, ""); failed == nil {
			sum.SecondsOut = t.Made.Seconds
		}
	}
	if err != nil {
		return nil, err
	}
	t, err := r.times(out, cmp.Or(o.Out, "-"), r.program, name)
	if err != nil {
		return nil, err
	}
	sum.SecondsOut, sum.Seconds = t.Made.Seconds, t.Original.Seconds
	return t, nil
}

// draw draws what was written, as it is proved against the program that it comes from; or
// that program, where following it was refused.
func (o *followOptions) draw(r *run, name string, out *files.Output, times *say.Timing, err error) error {
	if o.Plot == "" {
		return nil
	}
	if err != nil {
		return r.drawRefused(o.Plot, name, err)
	}
	written := cmp.Or(o.Out, "-")
	res, t, err := r.job.VerifyTraced(out, written, anew(r.program), name, nil, false)
	if err != nil {
		return err
	}
	c := say.Check{Job: r.job, Name: written, Original: name, Program: res, Setting: job.Setup{Job: r.job}.Setting(res.First), Times: times}
	return r.draw(o.Plot, report.ByDefocus, c.Drawn(t))
}
