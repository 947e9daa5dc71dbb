package cli

import (
	"io"

	"sagitta/internal/cli/files"
	"sagitta/internal/cli/say"
	"sagitta/internal/job"
	"sagitta/internal/record"
	"sagitta/internal/report"
	"sagitta/internal/report/trace"
	"sagitta/internal/zone"
)

type splitOptions struct {
	options
	burnsOptions
	Dir       string  `opt:"output,o" is:"write the programs, maps and sheet into <DIR>"`
	Detail    float64 `opt:"detail" in:"[0,1000]" wants:"mm from 0 to 1000" is:"smallest detail of the job in <MM>: lenses that do not mark it are left out"`
	SetZ      bool    `opt:"set-z" is:"write each zone's focus into Z"`
	Follow    bool    `opt:"follow" is:"follow the surface within zones"`
	Pause     bool    `opt:"pause" is:"make one program that waits (M0) before it moves, and at each zone's focus point"`
	Lead      float64 `opt:"lead" in:"[0,1000]" wants:"mm from 0 to 1000" is:"run so many <MM> into and out of seams, beam off, where the original does not; else as far as the bench needs to come to speed, where that is known"`
	Overlap   float64 `opt:"overlap" in:"[0,1000]" wants:"mm from 0 to 1000" is:"let all burns overlap by so many <MM> at seams; else lines do by half their spot, and rows of a raster meet"`
	Replace   bool    `opt:"replace" is:"replace the set of zones that is in DIR as a whole"`
	Rehearsal bool    `opt:"rehearsal"`
	plotOptions
	Order string `opt:"order" in:"best|original" is:"in which order each zone burns, a <WORD>: best, or original (the program's own)"`
}

// checkBench refuses what a bench cannot do.
func (o *splitOptions) checkBench(j *job.Job) error {
	byHand := j.Machine.ZMoves == record.ZByHand
	switch {
	case byHand && o.SetZ:
		return usagef("leave --set-z out, and set the focus as the sheet says", "--set-z writes Z, and the profile says that Z is moved by hand")
	case byHand && o.Follow:
		return usagef("leave --follow out", "--follow moves Z, and the profile says that Z is moved by hand")
	}
	return nil
}

func (o *splitOptions) run(s *session, args []string) error {
	name := args[0]
	// Pieces and programs come and go: collecting them early keeps memory at what is in
	// use, for a few hundredths of the time.
	defer s.collect(50)()
	if o.Follow && (o.SetZ || o.Pause || o.Rehearsal) {
		return usagef("", "--follow goes with neither --set-z nor --pause or --rehearsal")
	}
	if err := o.check(o.Rehearsal); err != nil {
		return err
	}
	r, err := s.prepare(&o.options, job.AllLenses, name)
	if err != nil {
		return err
	}
	if err := o.checkBench(r.job); err != nil {
		return err
	}
	if err := o.take(r, name); err != nil {
		return err
	}
	if err := o.checkRules(r.job); err != nil {
		return err
	}
	if err := r.read(s.files.OpenTwice, name, o.Plot); err != nil {
		return err
	}
	r.program.KeepDigest()
	for _, beside := range []string{o.Summary, o.Plot} {
		if err := files.CheckBeside(o.Dir, beside); err != nil {
			return err
		}
	}
	kind := files.Kind{Name: "set of zones", File: job.ListFile}
	if s.only != "" { // a run of jobs has looked at what is there by itself
		kind = files.Kind{}
	}
	dir, err := s.files.CreateFolder(o.Dir, o.Replace, kind)
	if err != nil {
		return err
	}
	plan, proof, err := o.divide(r, name, dir.Build)
	if failed := o.draw(r, name, dir, err); failed != nil {
		return failed
	}
	err = r.finish("split", name, err, func(g *say.Figures) { g.Split(r.job, plan, proof) }, dir)
	if err != nil {
		return err
	}
	s.say.Split(r.job, plan, o.Follow, dir.Name, proof)
	s.say.Made("picture", o.Plot)
	return nil
}

// checkRules refuses what does not go with rules.
func (o *splitOptions) checkRules(j *job.Job) error {
	if j.Rules.TellCuts() && o.Order == "original" {
		return usagef("leave --order out", "--burns says what is burned first, and --order original keeps the program's order")
	}
	return nil
}

// draw draws the zones as they are proved; or the program, where dividing it was refused.
func (o *splitOptions) draw(r *run, name string, dir *files.Folder, err error) error {
	if o.Plot == "" {
		return nil
	}
	if err != nil {
		return r.drawRefused(o.Plot, name, err)
	}
	f, err := job.ReadFolder(r.open, dir.Build)
	if err != nil {
		return err
	}
	c := say.Check{Job: r.job, Name: dir.Name, Original: name, Zones: f.Set}
	if _, err = r.program.Seek(0, io.SeekStart); err != nil {
		return err
	}
	var t *trace.Trace
	if c.Set, t, err = r.job.VerifySetTraced(r.open, f, r.program, name); err != nil {
		return err
	}
	return r.draw(o.Plot, report.ByZone, c.Drawn(t))
}

// divide makes the zones in a folder, and proves them. The plan is nil where
// there is none, and the proof where they do not prove.
func (o *splitOptions) divide(r *run, name, dir string) (plan *zone.Plan, proof *job.Proof, err error) {
	if err := r.job.StandUp(r.program, name); err != nil {
		return nil, nil, err
	}
	opt := r.job.Zones(name)
	opt.DetailMM, opt.Lead, opt.Overlap = o.Detail, o.Lead, o.Overlap
	opt.LeadSaid, opt.OverlapSaid = r.job.Given("lead"), r.job.Given("overlap")
	opt.SetZ, opt.Pause, opt.Rehearsal, opt.Original = o.SetZ, o.Pause, o.Rehearsal, o.Order == "original"
	if o.Follow {
		opt.Within = r.job.Within()
		plan, err = zone.Fewest(r.program, opt)
	} else {
		plan, err = zone.Survey(r.program, opt)
	}
	if err == nil {
		plan.Made, err = r.job.Keep(dir, o)
		plan.Made.Digest, plan.Unsure = r.program.Sum(), r.job.Unsure.String()
	}
	if err == nil {
		err = plan.Split(r.program, dir)
	}
	if err == nil {
		proof, err = r.job.ProveZones(r.open, dir, r.program, opt)
	}
	return plan, proof, err
}
