package cli

import (
	"math"

	"github.com/spf13/pflag"

	"sagitta/internal/cli/say"
	"sagitta/internal/diag"
	"sagitta/internal/job"
	"sagitta/internal/record"
	"sagitta/internal/zone"
)

type splitOptions struct {
	options
	dir                                     string
	detail, lead, overlap                   float64
	setZ, follow, pause, replace, rehearsal bool
}

func (o *splitOptions) bind(f *pflag.FlagSet) {
	o.options.bind(f)
	f.StringVarP(&o.dir, "output", "o", "", "write the programs, maps and sheet into `DIR`")
	f.Float64Var(&o.detail, "detail", 0, "smallest detail of the job in `MM`: lenses that do not mark it are left out")
	f.BoolVar(&o.setZ, "set-z", false, "write each zone's focus into Z")
	f.BoolVar(&o.follow, "follow", false, "follow the surface within zones")
	f.BoolVar(&o.pause, "pause", false, "make one program that waits at each zone's focus point (M0)")
	f.Float64Var(&o.lead, "lead", 0, "run so many `MM` into and out of seams, beam off")
	f.Float64Var(&o.overlap, "overlap", 0, "let burns overlap by so many `MM` at seams")
	f.BoolVar(&o.replace, "replace", false, "replace DIR as a whole where it is not empty")
	bindRehearsal(f, &o.rehearsal)
}

func (o *splitOptions) check() error {
	for name, v := range map[string]float64{"detail": o.detail, "lead": o.lead, "overlap": o.overlap} {
		if !(v >= 0) || math.IsInf(v, 1) {
			return usagef("", "--%s %g: wants mm, 0 or more", name, v)
		}
	}
	if o.follow && (o.setZ || o.pause || o.rehearsal) {
		return usagef("", "--follow goes with neither --set-z nor --pause or --rehearsal")
	}
	return nil
}

// checkBench refuses what a bench cannot do.
func (o *splitOptions) checkBench(j *job.Job) error {
	byHand := j.Machine.ZMoves == record.ZByHand
	switch {
	case byHand && o.setZ:
		return usagef("leave --set-z out, and set the focus as the sheet says", "--set-z writes Z, and the profile says that Z is moved by hand")
	case byHand && o.follow:
		return usagef("leave --follow out", "--follow moves Z, and the profile says that Z is moved by hand")
	}
	return nil
}

func (o *splitOptions) run(s *session, args []string) error {
	name := args[0]
	if err := o.check(); err != nil {
		return err
	}
	r, err := s.prepare(&o.options, job.AllLenses, name)
	if err != nil {
		return err
	}
	if err := o.checkBench(r.job); err != nil {
		return err
	}
	if err := r.read(s.files.OpenTwice, name); err != nil {
		return err
	}
	dir, err := s.files.CreateFolder(o.dir, o.replace)
	if err != nil {
		return err
	}
	plan, err := o.divide(r, name, dir.Build)
	err = r.summarize("split", name, err, func(g *say.Figures, refusal diag.Refusal) { g.Split(plan, refusal) })
	if err != nil {
		return err
	}
	if err := dir.Commit(); err != nil {
		return err
	}
	s.say.Split(r.job, plan, o.follow, dir.Name)
	return nil
}

// divide makes the zones in a folder, and proves them. The plan is nil where
// there is none.
func (o *splitOptions) divide(r *run, name, dir string) (plan *zone.Plan, err error) {
	opt := r.job.Zones(name)
	opt.DetailMM, opt.Lead, opt.Overlap = o.detail, o.lead, o.overlap
	opt.SetZ, opt.Pause, opt.Rehearsal = o.setZ, o.pause, o.rehearsal
	if o.follow {
		opt.Within = r.job.Within()
		plan, err = zone.Fewest(r.program, opt)
	} else {
		plan, err = zone.Survey(r.program, opt)
	}
	if err == nil {
		err = plan.Split(r.program, dir)
	}
	if err == nil {
		err = r.job.ProveZones(r.open, dir, r.program, opt)
	}
	return plan, err
}
