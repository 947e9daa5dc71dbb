package cli

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"github.com/spf13/pflag"

	"sagitta/internal/cli/files"
	"sagitta/internal/fit"
	"sagitta/internal/focus"
	"sagitta/internal/follow"
	"sagitta/internal/job"
	"sagitta/internal/machine"
	"sagitta/internal/surface"
)

// settings are the options that mean the same in every command.
type settings struct {
	surface, lens, machine string
	lenses                 []string // all -l, the first being lens
	manyLenses             bool     // the command takes more than one
	lensesLater            bool     // the command reads the lenses itself
	depth                  string
	use, defocus           float64
	datum, shift           string
	rotate                 float64
	method, outside        string
	slow                   string
	slowest                float64
	zRate, rapid           float64
	start                  string
	startZ                 float64
	keepOut                string
	keepRamps              bool
	out, summary           string

	flags *pflag.FlagSet
}

// bind declares the options that every command which lays a program over a
// surface shares.
func (o *settings) bind(f *pflag.FlagSet) {
	o.flags = f
	f.SortFlags = false
	f.StringVarP(&o.surface, "surface", "s", "", "measured heights, a CSV `FILE`")
	f.VarP(lensFlag{o}, "lens", "l", "lens record, a TOML `FILE`")
	f.StringVar(&o.depth, "depth", "", "`MM` of depth in place of a lens: 1.5, or nearer and further as -1.2,1.8")
	f.StringVarP(&o.machine, "machine", "m", "", "machine profile, a TOML `FILE`")
	f.Float64Var(&o.use, "use", 0.5, "`PART` of the usable depth to spend while nothing forces more")
	f.Float64Var(&o.defocus, "defocus", 0, "wanted defocus in `MM`, + further from the stock (default: usual_defocus_mm of the lens record, else 0)")
	f.StringVar(&o.datum, "datum", "", "heights count from this point, `X,Y` of the program")
	f.StringVar(&o.shift, "shift", "", "where the surface's origin lies, `X,Y` of the program")
	f.Float64Var(&o.rotate, "rotate", 0, "`DEG` by which the surface is turned, counter-clockwise about its origin")
	f.StringVar(&o.method, "method", "", "how heights are read between points: bilinear or bicubic, or fitted: auto, plane, cylinder, cone, sphere, smooth")
	f.StringVar(&o.outside, "outside", "refuse", "a burn off the surface: refuse, or hold the edge's height")
	f.StringVar(&o.slow, "slow", "scaled", "which burns may be slowed: never, scaled or burns")
	f.Float64Var(&o.slowest, "slowest", 0.5, "least `PART` of the programmed feed that slowing leaves")
	f.Float64Var(&o.zRate, "z-rate", 0, "greatest rate of the focus axis in `MM/MIN`, over the profile's")
	f.Float64Var(&o.rapid, "rapid", 0, "rate of travels in `MM/MIN`, over the profile's")
	f.StringVar(&o.start, "start", "", "where the head stands at the first block, `X,Y`")
	f.Float64Var(&o.startZ, "start-z", 0, "Z at the first block, `MM`")
	f.StringVar(&o.keepOut, "keep-out", "", "boxes that stand above the stock, such as clamps, a CSV `FILE` of x0, y0, x1, y1, height over the datum")
	f.BoolVar(&o.keepRamps, "keep-ramps", false, "allow input whose Z already changes within a burn")
	f.StringVar(&o.summary, "summary", "", "write the run's figures as JSON to `FILE`")
}

// lensFlag gathers the lenses given.
type lensFlag struct{ o *settings }

func (l lensFlag) String() string {
	if l.o == nil {
		return ""
	}
	return strings.Join(l.o.lenses, ",")
}

func (l lensFlag) Type() string { return "string" }

func (l lensFlag) Set(name string) error {
	if len(l.o.lenses) == 0 {
		l.o.lens = name
	}
	l.o.lenses = append(l.o.lenses, name)
	return nil
}

// defaults sets the options as an empty command line would.
func (o *settings) defaults() {
	given := *o
	o.bind(pflag.NewFlagSet("", pflag.ContinueOnError))
	o.surface, o.lens, o.machine = given.surface, given.lens, given.machine
}

// loaded is what the options lead to.
type loaded struct {
	o       *settings
	machine *job.Machine
	profile bool // a profile was given
	lens    *job.Lens
	placed  *surface.Placed
	budget  focus.Budget
	config  machine.Config
	// boxes are those of --keep-out; head is nil where it is not known, and
	// headless then names the fields that are missing.
	boxes    []surface.Box
	head     *follow.Head
	headless []string
	slow     follow.Slow
	// writing and checking are the usable depths.
	writing, checking focus.Depth
}

// load reads the files and checks the options. programs are the operands that
// will be opened next.
func (s *session) load(o *settings, programs ...string) (*loaded, error) {
	l := &loaded{o: o, machine: job.DefaultMachine()}
	if o.surface == "" {
		return nil, usagef("give the measured heights with -s SURFACE.csv", "no surface given")
	}
	if (o.lens == "") == (o.depth == "") {
		return nil, usagef("give the lens with -l LENS.toml, or its depth with --depth 1.5", "one of --lens and --depth is needed")
	}
	if len(o.lenses) > 1 && !o.manyLenses {
		return nil, usagef("", "one lens at a time, not also %s", o.lenses[1])
	}
	if err := l.checkNumbers(); err != nil {
		return nil, err
	}
	names := append(programs, o.surface, o.machine, o.keepOut)
	if o.lens != "" && len(o.lenses) == 0 {
		names = append(names, o.lens)
	}
	if err := files.OneStream(append(names, o.lenses...)...); err != nil {
		return nil, err
	}
	if o.machine != "" {
		m, err := files.Read(s.files, o.machine, job.ReadMachine)
		if err != nil {
			return nil, err
		}
		l.machine, l.profile = m, true
	}
	if !o.lensesLater {
		if err := l.loadDepth(s); err != nil {
			return nil, err
		}
	}
	if err := l.loadSurface(s); err != nil {
		return nil, err
	}
	if err := l.loadHead(s); err != nil {
		return nil, err
	}
	return l, l.finish()
}

func (l *loaded) checkNumbers() error {
	o := l.o
	if !(o.use > 0 && o.use <= 1) {
		return usagef("", "--use %g: wants a part of the depth, above 0 up to 1", o.use)
	}
	if !(o.slowest > 0 && o.slowest <= 1) {
		return usagef("", "--slowest %g: wants a part of the feed, above 0 up to 1", o.slowest)
	}
	for name, v := range map[string]float64{"defocus": o.defocus, "rotate": o.rotate, "start-z": o.startZ} {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return usagef("", "--%s %g: wants a finite number", name, v)
		}
	}
	for name, v := range map[string]float64{"z-rate": o.zRate, "rapid": o.rapid} {
		if o.flags.Changed(name) && !(v > 0 && !math.IsInf(v, 0)) {
			return usagef("", "--%s %g: wants a rate above 0 in mm/min", name, v)
		}
	}
	if o.outside != "refuse" && o.outside != "hold" {
		return usagef("", "--outside %s: wants refuse or hold", o.outside)
	}
	switch o.slow {
	case "never":
		l.slow = follow.SlowNever
	case "scaled":
		l.slow = follow.SlowScaled
	case "burns":
		l.slow = follow.SlowBurns
	default:
		return usagef("", "--slow %s: wants never, scaled or burns", o.slow)
	}
	return nil
}

func (l *loaded) loadDepth(s *session) error {
	if l.o.depth != "" {
		d, err := focus.ParseDepth(l.o.depth)
		if err != nil {
			return usagef("", "--%v", err)
		}
		l.budget.Lens, l.budget.LensFrom = d, "--depth"
		return nil
	}
	lens, err := files.Read(s.files, l.o.lens, job.ReadLens)
	if err != nil {
		return err
	}
	d, ok := lens.Depth()
	if !ok {
		return withoutDepth(l.o.lens, d)
	}
	l.lens = lens
	if d := lens.UsualDefocusMM; d != nil && !l.o.flags.Changed("defocus") {
		l.o.defocus = *d
		on := ""
		if lens.TestedOn != "" {
			on = ", as usual on " + lens.TestedOn
		}
		fmt.Fprintf(s.stderr, "sagitta: assumed: a defocus of %g mm%s (usual_defocus_mm of %s); --defocus 0 for none\n", *d, on, l.o.lens)
	}
	l.budget.Lens, l.budget.LensFrom = d.Depth, l.o.lens+", "+d.From
	if d.Assumed {
		fmt.Fprintf(s.stderr, "sagitta: assumed: the depth of lens %s is %s mm, from %s\n", lens.Name, d.Depth, d.From)
	}
	return nil
}

// withoutDepth refuses a lens record without depth.
func withoutDepth(file string, d job.LensDepth) error {
	return usagef("mark a focus series and write depth_mm into the record, or give --depth",
		"%s: a lens record without depth: %s", file, d.From)
}

func (l *loaded) loadSurface(s *session) error {
	in, err := s.files.Open(l.o.surface)
	if err != nil {
		return err
	}
	defer in.Close()
	surf, err := fit.Load(in, in.Name, l.o.method)
	if err != nil {
		return err
	}
	h := surf.Header()
	p := h.Placement()
	if !fit.Fits(l.o.method) {
		p.Method = l.o.method
	}
	if l.o.flags.Changed("rotate") {
		p.RotateDeg = l.o.rotate
	}
	if l.o.shift != "" {
		xy, err := pair("shift", l.o.shift)
		if err != nil {
			return err
		}
		p.ShiftX, p.ShiftY = xy[0], xy[1]
	}
	if l.o.datum != "" {
		xy, err := pair("datum", l.o.datum)
		if err != nil {
			return err
		}
		p.Datum = &xy
	}
	l.placed, err = surface.Place(surf, p)
	if err != nil {
		return err
	}
	l.budget.Noise = focus.Term{MM: h.NoiseMM, From: l.o.surface}
	l.budget.SurfaceError = focus.Term{MM: h.ErrorMM, From: l.o.surface}
	return nil
}

// method is how heights are read, by the name that gives the same again.
func (l *loaded) method() string {
	if fit.Fits(l.o.method) {
		return l.o.method
	}
	return l.placed.Method()
}

// pair reads X,Y.
func pair(option, text string) ([2]float64, error) {
	var xy [2]float64
	parts := strings.Split(text, ",")
	if len(parts) != 2 {
		return xy, usagef("", "--%s %s: wants X,Y, as in --%s 10,20", option, text, option)
	}
	for i, p := range parts {
		v, err := strconv.ParseFloat(strings.TrimSpace(p), 64)
		if err != nil || math.IsNaN(v) || math.IsInf(v, 0) || strings.ContainsAny(p, "xX_") {
			return xy, usagef("", "--%s %s: %q is not a number", option, text, strings.TrimSpace(p))
		}
		xy[i] = v
	}
	return xy, nil
}

// finish works out the usable depths and the machine's settings.
func (l *loaded) finish() error {
	m, o := l.machine, l.o
	if o.flags.Changed("z-rate") {
		m.ZRateMMMin = &o.zRate
	}
	if o.flags.Changed("rapid") {
		m.RapidMMMin = o.rapid
	}
	if m.FocusSettingMM != nil {
		l.budget.FocusSetting = focus.Term{MM: *m.FocusSettingMM, From: "focus_setting_mm"}
	}
	if m.ZBacklashMM != nil {
		l.budget.Backlash = focus.Term{MM: *m.ZBacklashMM, From: "z_backlash_mm"}
	}
	// A program may be in either unit: the coarser decimal counts.
	half := math.Max(math.Pow10(-m.DecimalsMM()), 25.4*math.Pow10(-m.DecimalsInch())) / 2
	l.budget.HalfDecimal = focus.Term{MM: half, From: "decimals"}
	if r := m.ZResolutionMM; r != nil && *r/2 > half {
		l.budget.HalfDecimal = focus.Term{MM: *r / 2, From: "z_resolution_mm"}
	}
	if m.ZMoves == job.ZByHand {
		l.budget.HalfDecimal, l.budget.Backlash = focus.Term{}, focus.Term{} // no Z is written
	}
	if !o.lensesLater {
		var err error
		if l.writing, err = l.budget.Usable(focus.Writing); err != nil {
			return err
		}
		if l.checking, err = l.budget.Usable(focus.Checking); err != nil {
			return err
		}
	}
	c := machine.DefaultConfig()
	c.Inches = m.Inches()
	c.ZAxis = m.ZAxis[0]
	c.BeamOn, c.BeamOff, c.PowerFollows = m.BeamOn, m.BeamOff, m.PowerFollowsSpeed
	c.PowerWord = m.PowerWord[0]
	c.RapidsFire, c.RapidMMMin, c.FeedCountsZ = m.RapidsFire, m.RapidMMMin, m.FeedCountsZ
	c.Start.Z = o.startZ
	if o.start != "" {
		xy, err := pair("start", o.start)
		if err != nil {
			return err
		}
		c.Start.X, c.Start.Y, c.StartXYKnown = xy[0], xy[1], true
	}
	l.config = c
	return nil
}
