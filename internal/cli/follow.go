package cli

import (
	"cmp"
	"runtime/debug"

	"sagitta/internal/cli/say"
	"sagitta/internal/follow"
	"sagitta/internal/job"
)

type followOptions struct {
	options
	Rehearsal bool   `opt:"rehearsal"`
	Out       string `opt:"output,o" file:"program" is:"write the program to <FILE> (default: standard output)"`
	Sheet     string `opt:"sheet"`
}

// followGCPercent is by how much the heap of a run may grow before it is
// collected: a run allocates next to nothing once it is under way, and what
// little there is need not wait until the heap has doubled.
const followGCPercent = 25

func (o *followOptions) run(s *session, args []string) error {
	name := args[0]
	r, err := s.prepare(&o.options, job.OneLens, name)
	if err != nil {
		return err
	}
	if err := r.read(s.files.Open, name, cmp.Or(o.Out, "-"), o.Sheet); err != nil {
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
	defer debug.SetGCPercent(debug.SetGCPercent(followGCPercent))
	sum, err := follow.Run(r.program, out, opt)
	sheet, err := r.sheet(o.Sheet, err, func() []byte { return say.FollowSheet(r.job, o.Out, o.Rehearsal, sum) })
	err = r.finish("follow", name, err, func(g *say.Figures) { g.Follow(r.job, sum, out.Sum()) }, append(sheet, out)...)
	if err != nil {
		return err
	}
	s.say.Follow(r.job, sum)
	s.say.Made("bench sheet", o.Sheet)
	return nil
}
