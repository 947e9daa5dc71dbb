package cli

import (
	"fmt"
	"io"
	"math"
	"path/filepath"
	"slices"
	"strings"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"sagitta/internal/cli/files"
	"sagitta/internal/job"
	"sagitta/internal/optics"
	"sagitta/internal/report"
)

// showOptions are the options of lens show.
type showOptions struct {
	detail, text float64
	font, plot   string
}

func (s *session) lensShowCommand() *cobra.Command {
	var o showOptions
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
				return usagef("see: "+c.CommandPath()+" --help", "no lens record given")
			}
			return nil
		},
		RunE: func(c *cobra.Command, args []string) error { return s.lensShow(&o, args, c) },
	}
	f := c.Flags()
	f.SortFlags = false
	f.Float64Var(&o.detail, "detail", 0, "height in `MM` of the smallest detail")
	f.Float64Var(&o.text, "text", 0, "size in `PT` of the smallest type, 1 pt being 25.4/72 mm")
	f.StringVar(&o.font, "font", "liberation", "whose capitals are meant: liberation or dejavu")
	f.StringVar(&o.plot, "plot", "", "draw spot against Z into `FILE`, .svg or .png")
	return c
}

func (s *session) lensShow(o *showOptions, names []string, c *cobra.Command) error {
	detail, what, err := o.smallest(c)
	if err != nil {
		return err
	}
	format := strings.ToLower(strings.TrimPrefix(filepath.Ext(o.plot), "."))
	if c.Flags().Changed("plot") && format != "svg" && format != "png" {
		return usagef("", "--plot %s: wants a name that ends in .svg or .png", o.plot)
	}
	var lenses []*job.Lens
	if err := files.OneStream(names...); err != nil {
		return err
	}
	for _, name := range names {
		l, err := files.Read(s.files, name, job.ReadLens)
		if err != nil {
			return err
		}
		lenses = append(lenses, l)
	}
	out, err := s.files.Create("")
	if err != nil {
		return err
	}
	if err := lensTable(out, lenses, detail, what); err != nil {
		return err
	}
	if o.plot != "" {
		if err := s.lensPlot(o.plot, format, lenses); err != nil {
			return err
		}
	}
	if err := out.Commit(); err != nil {
		return err
	}
	s.files.ClearProgress()
	for i, l := range lenses {
		d, ok := l.Depth()
		tellLens(s.stderr, names[i], "depth", d, ok)
		if detail > 0 {
			d, ok := l.DepthFor(detail)
			tellLens(s.stderr, names[i], "depth for "+what, d, ok)
		}
	}
	return nil
}

// tellLens says where a depth comes from, or what is missing.
func tellLens(w io.Writer, name, what string, d job.LensDepth, ok bool) {
	switch {
	case !ok:
		fmt.Fprintf(w, "sagitta: %s: %s not known: %s\n", name, what, d.From)
	case d.Assumed:
		fmt.Fprintf(w, "sagitta: %s: %s assumed: from %s\n", name, what, d.From)
	default:
		fmt.Fprintf(w, "sagitta: %s: %s: from %s\n", name, what, d.From)
	}
}

// smallest gives the smallest detail asked for and its name; 0 for none.
func (o *showOptions) smallest(c *cobra.Command) (mm float64, what string, err error) {
	hasDetail, hasText := c.Flags().Changed("detail"), c.Flags().Changed("text")
	for name, v := range map[string]float64{"detail": o.detail, "text": o.text} {
		if c.Flags().Changed(name) && (!(v > 0) || math.IsInf(v, 0)) {
			return 0, "", usagef("", "--%s: wants a finite number above zero, not %g", name, v)
		}
	}
	mm, font, ok := job.CapHeightMM(o.text, o.font)
	switch {
	case !ok:
		return 0, "", usagef("", "--font %s: wants liberation or dejavu", o.font)
	case hasDetail && hasText:
		return 0, "", usagef("", "give one of --detail and --text")
	case hasDetail:
		return o.detail, fmt.Sprintf("a detail of %g mm", o.detail), nil
	case hasText:
		return mm, fmt.Sprintf("text of %g pt (capitals %.3f mm, %s)", o.text, mm, font), nil
	}
	return 0, "", nil
}

// growths are the growths of the spot that the table has a depth for; the last
// is that at the Rayleigh length.
var growths = []float64{1.05, 1.10, math.Sqrt2}

const unknown = "not known"

func lensTable(w io.Writer, lenses []*job.Lens, detail float64, what string) error {
	t := tabwriter.NewWriter(w, 0, 0, 3, ' ', 0)
	row := func(name string, cell func(*job.Lens) string) {
		cells := make([]string, len(lenses))
		some := false
		for i, l := range lenses {
			if cells[i] = cell(l); cells[i] == "" {
				cells[i] = unknown
			} else {
				some = true
			}
		}
		if some {
			fmt.Fprintln(t, name+"\t"+strings.Join(cells, "\t"))
		}
	}
	row("lens", func(l *job.Lens) string { return l.Name })
	value := func(get func(*job.Lens) *float64) func(*job.Lens) string {
		return func(l *job.Lens) string {
			if v := get(l); v != nil {
				return fmt.Sprintf("%.6g", *v)
			}
			return ""
		}
	}
	row("focal length, mm", value(func(l *job.Lens) *float64 { return l.FocalLengthMM }))
	row("wavelength, nm", value(func(l *job.Lens) *float64 { return l.WavelengthNM }))
	beam := func(format string, f func(waist, zR float64) float64) func(*job.Lens) string {
		return func(l *job.Lens) string {
			waist, zR, ok := l.Beam()
			if !ok {
				return ""
			}
			return fmt.Sprintf(format, f(waist, zR))
		}
	}
	row("M²", func(l *job.Lens) string {
		m2, ok := l.Quality()
		if !ok {
			return ""
		}
		return fmt.Sprintf("%.3g", m2)
	})
	row("spot at best focus, 1/e², µm", func(l *job.Lens) string {
		if l.WaistUM != nil {
			return short(*l.WaistUM)
		}
		return beam("%.4g", func(waist, _ float64) float64 { return 1000 * waist })(l)
	})
	zR := func(l *job.Lens) (float64, bool) {
		if l.RayleighMM != nil {
			return *l.RayleighMM, true
		}
		_, zR, ok := l.Beam()
		return zR, ok
	}
	row("rayleigh length, mm", func(l *job.Lens) string {
		if v, ok := zR(l); ok {
			return short(v)
		}
		return ""
	})
	depth := func(d job.LensDepth, ok bool) string {
		switch {
		case !ok:
			return ""
		case d.Assumed:
			return sidesOf(d.Near, d.Far) + ", assumed"
		}
		return sidesOf(d.Near, d.Far)
	}
	row("depth, mm", func(l *job.Lens) string { return depth(l.Depth()) })
	row("either side of it sure to, mm", value(func(l *job.Lens) *float64 { return l.DepthErrorMM }))
	for _, k := range growths {
		row("depth for a growth of "+percent(k)+" %, mm", func(l *job.Lens) string {
			v, ok := zR(l)
			if !ok {
				return ""
			}
			return "± " + short(optics.HalfDepth(v, k))
		})
	}
	if detail > 0 {
		row("depth for "+what+", mm", func(l *job.Lens) string {
			if d, ok := l.DepthFor(detail); ok || d.Assumed {
				if ok {
					return depth(d, ok)
				}
				return "none"
			}
			return unknown
		})
	}
	row("smallest detail seen, mm", value(func(l *job.Lens) *float64 { return l.SmallestDetailMM }))
	row("tested on", func(l *job.Lens) string { return l.TestedOn })
	row("with power, %", value(func(l *job.Lens) *float64 { return l.TestedPowerPct }))
	row("and feed, mm/min", value(func(l *job.Lens) *float64 { return l.TestedFeedMMMin }))
	row("best focus against the bench's zero, mm", func(l *job.Lens) string {
		if l.FocusShiftMM == nil {
			return ""
		}
		return signed(*l.FocusShiftMM)
	})
	row("usual defocus, mm", value(func(l *job.Lens) *float64 { return l.UsualDefocusMM }))
	if slices.ContainsFunc(lenses, func(l *job.Lens) bool { return l.FocusHeightMM != 0 }) {
		row("further from the stock than the reference lens by, mm", func(l *job.Lens) string { return signed(l.FocusHeightMM) })
	}
	row("tip over the stock at best focus, mm", value(func(l *job.Lens) *float64 { return l.StandoffMM }))
	return t.Flush()
}

func (s *session) lensPlot(name, format string, lenses []*job.Lens) error {
	if err := s.files.CheckOutputs(name); err != nil {
		return err
	}
	var curves []report.LensCurve
	for _, l := range lenses {
		c := report.LensCurve{Name: l.Name}
		c.Waist, c.Rayleigh, _ = l.Beam()
		if d, ok := l.Depth(); ok {
			c.Near, c.Far, c.Assumed = d.Near, d.Far, d.Assumed
		}
		curves = append(curves, c)
	}
	out, err := s.files.Create(name)
	if err != nil {
		return err
	}
	if err := report.LensPlot(out, format, curves); err != nil {
		return err
	}
	return out.Commit()
}
