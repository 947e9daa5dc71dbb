package cli

import (
	"fmt"
	"io"
	"math"
	"os"

	"github.com/spf13/cobra"

	"sagitta/internal/cli/files"
	"sagitta/internal/diag"
	"sagitta/internal/focus"
	"sagitta/internal/job"
	"sagitta/internal/phrase"
	"sagitta/internal/zone"
)

// splitSettings are the options of split alone.
type splitSettings struct {
	dir                                     string
	detail, lead, overlap                   float64
	setZ, follow, pause, replace, rehearsal bool
}

func (s *session) splitCommand() *cobra.Command {
	var o settings
	var so splitSettings
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
		Args: operands("program"),
		RunE: func(_ *cobra.Command, args []string) error {
			return s.split(&o, &so, args[0])
		},
	}
	o.manyLenses = true
	o.bind(c.Flags())
	f := c.Flags()
	f.StringVarP(&so.dir, "output", "o", "", "write the programs, maps and sheet into `DIR`")
	f.Float64Var(&so.detail, "detail", 0, "smallest detail of the job in `MM`: lenses that do not mark it are left out")
	f.BoolVar(&so.setZ, "set-z", false, "write each zone's focus into Z")
	f.BoolVar(&so.follow, "follow", false, "follow the surface within zones")
	f.BoolVar(&so.pause, "pause", false, "make one program that waits at each zone's focus point (M0)")
	f.Float64Var(&so.lead, "lead", 0, "run so many `MM` into and out of seams, beam off")
	f.Float64Var(&so.overlap, "overlap", 0, "let burns overlap by so many `MM` at seams")
	f.BoolVar(&so.replace, "replace", false, "replace DIR as a whole where it is not empty")
	f.BoolVar(&so.rehearsal, "rehearsal", false, "write the same motion with the beam off")
	return c
}

func (so *splitSettings) check() error {
	for name, v := range map[string]float64{"detail": so.detail, "lead": so.lead, "overlap": so.overlap} {
		if !(v >= 0) || math.IsInf(v, 1) {
			return usagef("", "--%s %g: wants mm, 0 or more", name, v)
		}
	}
	if so.follow && (so.setZ || so.pause || so.rehearsal) {
		return usagef("", "--follow goes with neither --set-z nor --pause or --rehearsal")
	}
	return nil
}

func (s *session) split(o *settings, so *splitSettings, name string) error {
	if err := so.check(); err != nil {
		return err
	}
	l, err := s.load(o, name)
	if err != nil {
		return err
	}
	if so.setZ && l.machine.ZMoves == job.ZByHand {
		return usagef("leave --set-z out, and set the focus as the sheet says", "--set-z writes Z, and the profile says that Z is moved by hand")
	}
	if so.follow && l.machine.ZMoves == job.ZByHand {
		return usagef("leave --follow out", "--follow moves Z, and the profile says that Z is moved by hand")
	}
	if err := splitKeepsClear(l); err != nil {
		return err
	}
	opt, lenses, err := s.splitOptions(l, so)
	if err != nil {
		return err
	}
	in, err := s.files.OpenTwice(name)
	if err != nil {
		return err
	}
	defer in.Close()
	opt.Name = in.Name
	if err := s.files.CheckOutputs(o.summary); err != nil {
		return err
	}
	dir, err := s.files.CreateFolder(so.dir, so.replace)
	if err != nil {
		return err
	}
	if o.summary != "" {
		in.KeepDigest()
	}
	var plan *zone.Plan
	if so.follow {
		within := l.followOptions("")
		within.Marker = l.marker("split")
		opt.Within = &zone.Within{Follow: within}
		plan, err = zone.Fewest(in, opt)
	} else {
		plan, err = zone.Survey(in, opt)
	}
	if err == nil {
		err = plan.Split(in, dir.Build)
	}
	if err == nil {
		err = s.prove(l, lenses, opt, in, dir.Build)
	}
	if err := s.files.Err(nil); err != nil {
		return err
	}
	if werr := s.writeSplitFigures(l, in.Name, plan, err, in); werr != nil && err == nil {
		return werr
	}
	if err != nil {
		if _, ok := err.(*os.PathError); ok {
			return diag.IOError(err)
		}
		return err
	}
	if err := dir.Commit(); err != nil {
		return err
	}
	s.files.ClearProgress()
	tellSplit(s.stderr, l, so, plan, dir.Name)
	return nil
}

// zoneOptions turns settings into those of the zones, but for the lenses.
func (l *loaded) zoneOptions(so *splitSettings) zone.Options {
	m := l.machine
	opt := zone.Options{
		Machine: l.config, Surface: l.placed, DetailMM: so.detail, Defocus: l.o.defocus,
		OutsideHold: l.o.outside == "hold", KeepRamps: l.o.keepRamps,
		ZPlusAway: m.ZPlus == job.Away, ByHand: m.ZMoves == job.ZByHand, ZMin: m.ZMinMM, ZMax: m.ZMaxMM,
		DecimalsMM: int8(m.DecimalsMM()), DecimalsInch: int8(m.DecimalsInch()),
		SetZ: so.setZ, Pause: so.pause, Rehearsal: so.rehearsal, Lead: so.lead, Overlap: so.overlap,
		Comments: m.Comments, Marker: l.marker("split"),
	}
	if m.ZStepMM != nil {
		opt.CrankMM = *m.ZStepMM
	}
	return opt
}

// splitOptions turns settings into those of the zones.
func (s *session) splitOptions(l *loaded, so *splitSettings) (zone.Options, []lensDepths, error) {
	opt := l.zoneOptions(so)
	lenses, err := s.loadLenses(l)
	if err != nil {
		return opt, nil, err
	}
	for _, n := range lenses {
		z := zone.Lens{Name: n.name, Depth: n.writing}
		if n.record != nil && n.record.SmallestDetailMM != nil {
			z.DetailMM = *n.record.SmallestDetailMM
		}
		for _, other := range opt.Lenses {
			if other.Name == z.Name {
				return opt, nil, usagef("give each record a name of its own", "two lenses are called %s", z.Name)
			}
		}
		opt.Lenses = append(opt.Lenses, z)
	}
	return opt, lenses, nil
}

// lensDepths is one of the lenses given, with its usable depths.
type lensDepths struct {
	name              string
	record            *job.Lens
	writing, checking focus.Depth
}

// loadLenses gives all lenses given, the first of which l has read.
func (s *session) loadLenses(l *loaded) ([]lensDepths, error) {
	first := lensDepths{name: "lens", record: l.lens, writing: l.writing, checking: l.checking}
	if l.lens != nil {
		first.name = l.lens.Name
	}
	list := []lensDepths{first}
	for _, name := range l.o.lenses[min(1, len(l.o.lenses)):] {
		r, err := files.Read(s.files, name, job.ReadLens)
		if err != nil {
			return nil, err
		}
		d, ok := r.Depth()
		if !ok {
			return nil, withoutDepth(name, d)
		}
		b := l.budget
		b.Lens, b.LensFrom = d.Depth, name+", "+d.From
		n := lensDepths{name: r.Name, record: r}
		if n.writing, err = b.Usable(focus.Writing); err != nil {
			return nil, err
		}
		if n.checking, err = b.Usable(focus.Checking); err != nil {
			return nil, err
		}
		if d.Assumed {
			fmt.Fprintf(s.stderr, "sagitta: assumed: the depth of lens %s is %s mm, from %s\n", r.Name, d.Depth, d.From)
		}
		list = append(list, n)
	}
	return list, nil
}

func tellSplit(w io.Writer, l *loaded, so *splitSettings, p *zone.Plan, dir string) {
	c := &l.config
	if !c.StartXYKnown {
		fmt.Fprintf(w, "sagitta: assumed: the head stands at Z%g; where in XY is not known before the program says\n", c.Start.Z)
	}
	tellNoProfile(w, l)
	for _, n := range p.Lenses {
		fmt.Fprintf(w, "sagitta: lens %s, usable depth -%.3f to +%.3f mm: %s", n.Name, n.Usable.Near, n.Usable.Far, phrase.Count(n.Figures, "figure"))
		switch {
		case p.Followed() && n.Zones > 0:
			fmt.Fprintf(w, " over heights from %s to %s mm, %s, followed within", mm(n.Low), mm(n.High), phrase.Count(n.Zones, "zone"))
		case n.Zones > 0:
			fmt.Fprintf(w, " over heights from %s to %s mm, %s, and none fewer would do", mm(n.Low), mm(n.High), phrase.Count(n.Zones, "zone"))
		}
		fmt.Fprintln(w)
	}
	if so.follow && !p.Followed() {
		fmt.Fprintln(w, "sagitta: not followed: within zones that are followed more settings would be needed")
	}
	fmt.Fprintf(w, "sagitta: %s, %s mm long; %s cut in %s, %s within figures\n", phrase.Count(p.Burns, "burn"), short(p.BurnLength),
		phrase.Count(p.CutBurns, "burn"), phrase.Count(p.Cuts, "place"), phrase.Count(p.JointChanges, "other change"))
	if p.Outside > 0 {
		fmt.Fprintf(w, "sagitta: %s off the surface, at the height of its edge\n", phrase.Count(p.Outside, "burn"))
	}
	for i := range p.Zones {
		z := &p.Zones[i]
		if i == mostZonesTold {
			fmt.Fprintf(w, "sagitta: and %d more zones\n", len(p.Zones)-i)
			break
		}
		fmt.Fprintf(w, "sagitta: zone %d: %s, lens %s, focus %+.3f mm, to be set at X%.3f Y%.3f; %s in %s, %s\n", z.Order, z.Program,
			p.Lenses[z.Lens].Name, z.Focus, z.Point.X, z.Point.Y, phrase.Count(z.Burns, "burn"), phrase.Count(z.Pieces, "piece"), phrase.Clock(z.Seconds))
		if z.Raises > 0 {
			fmt.Fprintf(w, "sagitta: zone %d: it waits %d times (M0) for the lens to be raised by hand, by up to %.2f mm\n", z.Order, z.Raises, z.Raise)
		}
		if z.Lift > 0 {
			fmt.Fprintf(w, "sagitta: zone %d: travels at the program's ends are lifted by %.3f mm to be clear of the stock\n", z.Order, z.Lift)
		}
	}
	fmt.Fprintln(w, "sagitta: head clearance not checked")
	tellDatum(w, l)
	fmt.Fprintf(w, "sagitta: wrote %s; print %s\n", dir, dir+string(os.PathSeparator)+"sheet.txt")
}

// mostZonesTold is how many zones are listed on the screen.
const mostZonesTold = 12

type splitFigures struct {
	Zones        []zoneFigures `json:"zones"`
	Burns        int           `json:"burns"`
	BurnLengthMM float64       `json:"burn_length_mm"`
	BurnsCut     int           `json:"burns_cut"`
	Cuts         int           `json:"cuts"`
	JointChanges int           `json:"joint_changes"`
	HeightLowMM  float64       `json:"height_low_mm"`
	HeightHighMM float64       `json:"height_high_mm"`
}

type zoneFigures struct {
	Program      string  `json:"program"`
	Lens         string  `json:"lens"`
	FocusMM      float64 `json:"focus_mm"`
	Seconds      float64 `json:"seconds"`
	Burns        int     `json:"burns"`
	Pieces       int     `json:"pieces"`
	BurnLengthMM float64 `json:"burn_length_mm"`
}

func (s *session) writeSplitFigures(l *loaded, name string, p *zone.Plan, err error, in *files.Input) error {
	if l.o.summary == "" {
		return nil
	}
	g := l.figures("split", name, in.Sum())
	var f splitFigures
	switch e := err.(type) {
	case nil:
		g.Verdict, g.Changed = "split", true
		for i := range p.Zones {
			z := &p.Zones[i]
			f.Zones = append(f.Zones, zoneFigures{z.Program, p.Lenses[z.Lens].Name, z.Focus, z.Seconds, z.Burns, z.Pieces, z.BurnLength})
		}
	case *zone.UnmetError:
		g.Verdict = "refused"
		for _, x := range e.Failures {
			g.Fails = append(g.Fails, x.What)
		}
	default:
		return nil // the program could not be read: there are no figures
	}
	if p != nil {
		f.Burns, f.BurnLengthMM, f.BurnsCut, f.Cuts, f.JointChanges = p.Burns, p.BurnLength, p.CutBurns, p.Cuts, p.JointChanges
		f.HeightLowMM, f.HeightHighMM = p.Low, p.High
	}
	g.Figures = f
	return s.writeFigures(l.o.summary, g)
}
