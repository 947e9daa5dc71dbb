package cli

import (
	"bytes"
	"fmt"
	"math"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"sagitta/internal/cli/files"
	"sagitta/internal/cli/say"
	"sagitta/internal/record"
	"sagitta/internal/report"
)

type lensShowOptions struct {
	detailOptions
	plot string
}

func (s *session) lensShowCommand() *cobra.Command {
	var o lensShowOptions
	c := &cobra.Command{
		Use:   "show LENS.toml ... [--detail MM | --text PT] [--plot FILE.svg|FILE.png]",
		Short: "what lens records mean, side by side",
		Long: `show prints what records mean: the spot, the depth within which it grows by 5, 10
and 41 percent, the depth in which a detail of a height stays legible, or text
of a size in points. A type size counts by the height of its capitals, which is
1409/2048 of it in Liberation Sans and 1493/2048 in DejaVu Sans.

A tested depth holds for the detail it was seen with and coarser ones. For finer
ones the spot may be, in proportion, as wide as at the limits of the test; where
nothing was tested, a fifth of the detail.`,
		Example: `    sagitta lens show short.toml long.toml --text 4 --plot lenses.svg`,
		Args: func(c *cobra.Command, args []string) error {
			if len(args) == 0 {
				return usagef(seeHelp(c), "no lens record given")
			}
			return nil
		},
		RunE: func(_ *cobra.Command, args []string) error { return s.lensShow(&o, args) },
	}
	f := c.Flags()
	f.SortFlags = false
	o.bind(f)
	f.StringVar(&o.plot, "plot", "", "draw spot against Z into `FILE`, .svg or .png")
	return c
}

func (s *session) lensShow(o *lensShowOptions, names []string) error {
	detail, what, err := o.smallest()
	if err != nil {
		return err
	}
	if err := checkPlot(o.plot); err != nil {
		return err
	}
	if err := files.OneStream(names...); err != nil {
		return err
	}
	var lenses []*record.Lens
	for _, name := range names {
		l, err := files.Read(s.files, name, record.ReadLens)
		if err != nil {
			return err
		}
		lenses = append(lenses, l)
	}
	results := []files.Result{{Text: []byte(say.Lenses(lenses, detail, what))}}
	if o.plot != "" {
		picture, err := lensPlot(lenses, plotFormat(o.plot))
		if err != nil {
			return err
		}
		results = append(results, files.Result{Name: o.plot, Text: picture})
	}
	if err := s.files.Write(results...); err != nil {
		return err
	}
	s.files.ClearProgress()
	for i, l := range lenses {
		d, known := l.Depth()
		s.say.LensDepth(names[i], "depth", d, known)
		if detail > 0 {
			d, known := l.DepthFor(detail)
			s.say.LensDepth(names[i], "depth for "+what, d, known)
		}
	}
	return nil
}

func lensPlot(lenses []*record.Lens, format string) ([]byte, error) {
	var curves []report.LensCurve
	for _, l := range lenses {
		c := report.LensCurve{Name: l.Name}
		c.Waist, c.Rayleigh, _ = l.Beam()
		if d, ok := l.Depth(); ok {
			c.Near, c.Far, c.Assumed = d.Near, d.Far, d.Assumed
		}
		curves = append(curves, c)
	}
	var b bytes.Buffer
	err := report.LensPlot(&b, format, curves)
	return b.Bytes(), err
}

// detailOptions say what the smallest detail of a job is.
type detailOptions struct {
	detail, text float64
	font         string
	given        func(name string) bool
}

func (o *detailOptions) bind(f *pflag.FlagSet) {
	o.given = f.Changed
	f.Float64Var(&o.detail, "detail", 0, "height in `MM` of the smallest detail")
	f.Float64Var(&o.text, "text", 0, "size in `PT` of the smallest type, 1 pt being 25.4/72 mm")
	f.StringVar(&o.font, "font", "liberation", "`NAME` of the font whose capitals are meant: liberation or dejavu")
}

// smallest gives the smallest detail asked for and its name; 0 for none.
func (o *detailOptions) smallest() (mm float64, what string, err error) {
	for name, v := range map[string]float64{"detail": o.detail, "text": o.text} {
		if o.given(name) && (!(v > 0) || math.IsInf(v, 0)) {
			return 0, "", usagef("", "--%s: wants a finite number above zero, not %g", name, v)
		}
	}
	mm, font, ok := record.CapHeightMM(o.text, o.font)
	switch {
	case !ok:
		return 0, "", usagef("", "--font %s: wants liberation or dejavu", o.font)
	case o.detail > 0 && o.text > 0:
		return 0, "", usagef("", "give one of --detail and --text")
	case o.detail > 0:
		return o.detail, fmt.Sprintf("a detail of %g mm", o.detail), nil
	case o.text > 0:
		return mm, fmt.Sprintf("text of %g pt (capitals %.3f mm, %s)", o.text, mm, font), nil
	}
	return 0, "", nil
}
