package cli

import (
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"sagitta/internal/cli/files"
	"sagitta/internal/focus"
	"sagitta/internal/follow"
	"sagitta/internal/job"
	"sagitta/internal/phrase"
	"sagitta/internal/verify"
)

func (s *session) verifyCommand() *cobra.Command {
	var o settings
	var against string
	var rehearsal bool
	c := &cobra.Command{
		Use:   "verify PROGRAM|DIR -s SURFACE (-l LENS | --depth D) [--against ORIGINAL]",
		Short: "prove that every burn of a program is in focus",
		Long: `verify reads any program and proves, by code of its own, that every burn stays
within the lens's depth over the surface and that every travel is clear. With
--against it also proves that the program does what its original does: the same
path over XY, the same power, dwells and beam, speeds as allowed. Without it
the programmed Z counts as the correction itself.

A folder that split has made is proved as a whole against the original: nothing
is lost or burned twice, and each zone is in focus at its own setting.

Exit status 0 when it holds, 1 when it does not.`,
		Example: `    sagitta verify plate-followed.gcode -s sheet.csv --depth 1.5 --against plate.gcode

  Would the job run flat as it is?

    sagitta verify plate.gcode -s sheet.csv --depth 1.5

  A folder of zones:

    sagitta verify plate-zones -s sheet.csv -l short.toml --against plate.gcode`,
		Args: operands("program"),
		RunE: func(_ *cobra.Command, args []string) error {
			if files.IsFolder(args[0]) {
				o.manyLenses = true
				return s.verifySet(&o, args[0], against)
			}
			return s.verify(&o, args[0], against, rehearsal)
		},
	}
	o.bind(c.Flags())
	c.Flags().StringVar(&against, "against", "", "the program that it was made from, a `FILE`")
	c.Flags().BoolVar(&rehearsal, "rehearsal", false, "the program is a rehearsal: the beam is to be off throughout")
	return c
}

func (s *session) verify(o *settings, name, against string, rehearsal bool) error {
	l, err := s.load(o, name, against)
	if err != nil {
		return err
	}
	in, err := s.files.Open(name)
	if err != nil {
		return err
	}
	defer in.Close()
	if o.summary != "" {
		in.KeepDigest()
	}
	var original io.Reader
	if against != "" {
		orig, err := s.files.Open(against)
		if err != nil {
			return err
		}
		defer orig.Close()
		original = orig
	}
	if err := s.files.CheckOutputs(o.summary); err != nil {
		return err
	}
	opt := l.verifyOptions()
	opt.Rehearsal = rehearsal
	res, err := verify.Run(in, in.Name, original, against, opt)
	if err != nil {
		return s.files.Err(err)
	}
	s.files.ClearProgress()
	if o.summary != "" {
		if err := s.writeFigures(o.summary, l.verifyFigures(res, in.Name, in.Sum())); err != nil {
			return err
		}
	}
	tellVerify(s.stderr, l, in.Name, res)
	if !res.Holds() {
		return notHeld{}
	}
	return nil
}

func (l *loaded) verifyOptions() verify.Options {
	m := l.machine
	opt := verify.Options{
		Machine: l.config, Surface: l.placed, Depth: l.checking, DefocusMM: l.o.defocus,
		ZPlusAway: m.ZPlus == job.Away, OutsideHold: l.o.outside == "hold",
		Slowest: l.o.slowest, DecimalsMM: m.DecimalsMM(), DecimalsInch: m.DecimalsInch(),
		ZMinMM: m.ZMinMM, ZMaxMM: m.ZMaxMM, Head: l.verifyHead(),
	}
	switch l.slow {
	case follow.SlowScaled:
		opt.Slow = verify.SlowScaled
	case follow.SlowBurns:
		opt.Slow = verify.SlowBurns
	}
	switch m.ZMoves {
	case job.ZBeamOff:
		opt.ZMoves = verify.BeamOff
	case job.ZByHand:
		opt.ZMoves = verify.ByHand
	}
	if m.ZRateMMMin != nil {
		opt.ZRateMMMin = *m.ZRateMMMin
	}
	if m.FeedMaxMMMin != nil {
		opt.FeedMaxMMMin = *m.FeedMaxMMMin
	}
	return opt
}

func tellVerify(w io.Writer, l *loaded, name string, r *verify.Result) {
	tellNoProfile(w, l)
	tellHead(w, l, nearText(r.Nearest.MM, false, r.Nearest.X, r.Nearest.Y, r.Nearest.Line))
	tellDepth(w, l, focus.Checking)
	for _, n := range r.Notes {
		fmt.Fprintf(w, "sagitta: %s\n", n)
	}
	for _, f := range r.Failures {
		fmt.Fprintf(w, "sagitta: %s: %s\n", name, f)
	}
	if more := r.FailureCount - len(r.Failures); more > 0 {
		fmt.Fprintf(w, "sagitta: and %d more\n", more)
	}
	if r.Burns > 0 {
		fmt.Fprintf(w, "sagitta: %s, %s mm long, over heights from %s to %s mm; the highest at X%.3f Y%.3f, line %d\n",
			phrase.Count(r.Burns, "burn"), short(r.BurnLengthMM), mm(r.Lowest.MM), mm(r.Highest.MM), r.Highest.X, r.Highest.Y, r.Highest.Line)
		fmt.Fprintf(w, "sagitta: greatest defocus %+.3f mm at X%.3f Y%.3f, line %d; Z from %s to %s mm, at most %s mm/min on a burn\n",
			r.Defocus.MM, r.Defocus.X, r.Defocus.Y, r.Defocus.Line, mm(r.ZMinMM), mm(r.ZMaxMM), short(r.PeakZRate))
	}
	verdict := "it holds: every burn is in focus"
	if !r.Holds() {
		verdict = "it does not hold: " + phrase.Count(r.FailureCount, "failure")
	}
	fmt.Fprintf(w, "sagitta: %s: %s\n", name, verdict)
}

type verifyFigures struct {
	Blocks            int     `json:"blocks"`
	Burns             int     `json:"burns"`
	Travels           int     `json:"travels"`
	BurnLengthMM      float64 `json:"burn_length_mm"`
	BurnsHeld         int     `json:"burns_outside"`
	DefocusMM         float64 `json:"greatest_defocus_mm"`
	DefocusLine       int     `json:"greatest_defocus_line"`
	HeightLowMM       float64 `json:"height_low_mm"`
	HeightHighMM      float64 `json:"height_high_mm"`
	ZLowMM            float64 `json:"z_low_mm"`
	ZHighMM           float64 `json:"z_high_mm"`
	ZTravelMM         float64 `json:"z_travel_mm"`
	ZPeakRateMMMin    float64 `json:"z_peak_rate_mm_min"`
	ZSpeedChangeMMMin float64 `json:"z_speed_change_mm_min"`
	Seconds           float64 `json:"seconds"`
	FailureCount      int     `json:"failure_count"`
	DepthNearMM       float64 `json:"usable_near_mm"`
	DepthFarMM        float64 `json:"usable_far_mm"`
	headFigures
}

func (l *loaded) verifyFigures(r *verify.Result, name, digest string) *figures {
	g := l.figures("verify", name, digest)
	g.Verdict = "holds"
	if !r.Holds() {
		g.Verdict = "fails"
	}
	for _, f := range r.Failures {
		g.Fails = append(g.Fails, f.String())
	}
	g.Notes = r.Notes
	g.Figures = verifyFigures{r.Blocks, r.Burns, r.Travels, r.BurnLengthMM, r.HeldBurns, r.Defocus.MM, r.Defocus.Line,
		r.Lowest.MM, r.Highest.MM, r.ZMinMM, r.ZMaxMM, r.ZTravelMM, r.PeakZRate, r.ZSpeedStep, r.Seconds,
		r.FailureCount, l.checking.Near, l.checking.Far,
		headFigures{l.head != nil, r.Nearest.MM, r.Nearest.X, r.Nearest.Y, r.Nearest.Line}}
	return g
}
