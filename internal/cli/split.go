package cli

import (
	"errors"
	"math"

	"github.com/spf13/cobra"

	"sagitta/internal/cli/say"
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

func (s *session) splitCommand() *cobra.Command {
	var o splitOptions
	c := &cobra.Command{
		Use:   "split PROGRAM -s SURFACE -l LENS [-l LENS ...] -o DIR",
		Short: "divide a job among focus zones, a program for each",
		Long: `split divides a job among focus zones: burns that one setting of the focus
serves. It makes the fewest zones that each lens allows, cuts as few burns as it
can, and changes zones on travels rather than within a figure. DIR gets one
complete program for each zone, a sheet for the bench (sheet.txt), the list
set.json, and maps (zones.geojson, zones.svg).

The programs keep the original's Z: set the focus for each as the sheet says.
Of several lenses each figure gets the finest that is deep enough for it.`,
		Example: `  A cup that the beam cannot follow, as Z is moved by hand:

    sagitta split band.gcode -s cup.csv -l short.toml -o band-zones
    sagitta verify band-zones -s cup.csv -l short.toml --against band.gcode

  Two lenses, nothing finer than 0.5 mm, 1 mm of run-out where a burn is cut:

    sagitta split plate.gcode -s sheet.csv -l short.toml -l long.toml --detail 0.5 --lead 1 -o zones`,
		Args: operand("program"),
		RunE: func(_ *cobra.Command, args []string) error { return s.split(&o, args[0]) },
	}
	f := c.Flags()
	o.bind(f)
	f.StringVarP(&o.dir, "output", "o", "", "write the programs, maps and sheet into `DIR`")
	f.Float64Var(&o.detail, "detail", 0, "smallest detail of the job in `MM`: lenses that do not mark it are left out")
	f.BoolVar(&o.setZ, "set-z", false, "write each zone's focus into Z")
	f.BoolVar(&o.follow, "follow", false, "follow the surface within zones")
	f.BoolVar(&o.pause, "pause", false, "make one program that waits at each zone's focus point (M0)")
	f.Float64Var(&o.lead, "lead", 0, "run so many `MM` into and out of seams, beam off")
	f.Float64Var(&o.overlap, "overlap", 0, "let burns overlap by so many `MM` at seams")
	f.BoolVar(&o.replace, "replace", false, "replace DIR as a whole where it is not empty")
	f.BoolVar(&o.rehearsal, "rehearsal", false, "write the same motion with the beam off")
	return c
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

func (s *session) split(o *splitOptions, name string) error {
	if err := o.check(); err != nil {
		return err
	}
	j, err := s.prepare(&o.options, job.AllLenses, name)
	if err != nil {
		return err
	}
	if err := o.checkBench(j); err != nil {
		return err
	}
	in, err := s.program(s.files.OpenTwice, name, &o.options)
	if err != nil {
		return err
	}
	defer in.Close()
	dir, err := s.files.CreateFolder(o.dir, o.replace)
	if err != nil {
		return err
	}
	opt := j.Zones(name)
	opt.DetailMM, opt.Lead, opt.Overlap = o.detail, o.lead, o.overlap
	opt.SetZ, opt.Pause, opt.Rehearsal = o.setZ, o.pause, o.rehearsal
	var plan *zone.Plan
	if o.follow {
		opt.Within = j.Within()
		plan, err = zone.Fewest(in, opt)
	} else {
		plan, err = zone.Survey(in, opt)
	}
	if err == nil {
		err = plan.Split(in, dir.Build)
	}
	if err == nil {
		err = j.ProveZones(s.open, dir.Build, in, opt)
	}
	if err := s.files.Err(nil); err != nil {
		return err
	}
	if unmet, _ := errors.AsType[*zone.UnmetError](err); err == nil || unmet != nil {
		if err := s.summarize(&o.options, "split", j, name, in.Sum(), func(g *say.Figures) { g.Split(plan, unmet) }); err != nil {
			return err
		}
	}
	if err != nil {
		return err
	}
	if err := dir.Commit(); err != nil {
		return err
	}
	s.files.ClearProgress()
	s.say.Split(j, plan, o.follow, dir.Name)
	return nil
}
