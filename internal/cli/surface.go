package cli

import (
	"bytes"
	"fmt"
	"io"
	"math"

	"github.com/spf13/pflag"

	"sagitta/internal/cli/files"
	"sagitta/internal/cli/say"
	"sagitta/internal/fit"
	"sagitta/internal/report"
	"sagitta/internal/touch"
)

type surfaceOptions struct {
	fit.MeasuredOptions
	read               touch.Options
	down, up           bool
	match              string
	out, plot, summary string
}

func (o *surfaceOptions) bind(f *pflag.FlagSet) {
	f.StringVar(&o.read.Columns, "columns", "", "what the `NUMBERS` of a line are, a letter each: x, y, z, - for none, as in -xyz")
	f.StringVar(&o.read.Units, "units", "", "`UNITS` of the file: mm or in (default: what the file says, else mm)")
	f.StringVar(&o.read.Decimal, "decimal", "", "the decimal `SIGN`: point or comma")
	f.BoolVar(&o.down, "down", false, "readings grow away from the lens, as gaps do")
	f.BoolVar(&o.up, "up", false, "readings grow towards the lens")
	f.StringVar(&o.Method, "method", "", "`NAME` of the fit: auto, plane, cylinder, cone, sphere, bilinear, bicubic or smooth (default auto)")
	f.BoolVar(&o.KeepAll, "keep-all", false, "leave no touch out")
	f.Var(&point{&o.Datum}, "datum", "heights count from this point, `X,Y` of the program")
	bindPlacement(f, &o.Shift, &o.RotateDeg)
	f.StringVar(&o.match, "match", "", "find shift and rotation from the pairs of points in `FILE`")
	f.Float64Var(&o.WrapsYMM, "wraps", 0, "the surface repeats after `MM` in y: a round that turns")
	f.StringVarP(&o.out, "output", "o", "", "write the surface to `FILE` (default: standard output)")
	f.StringVar(&o.plot, "plot", "", "draw a map of the heights to `FILE`.svg or .png")
	bindSummary(f, &o.summary)
}

// check looks at the options alone.
func (o *surfaceOptions) check() error {
	if err := touch.CheckColumns(o.read.Columns); err != nil {
		return usagef("as in --columns xyz or --columns -xyz", "--columns %s: %v", o.read.Columns, err)
	}
	for _, v := range []struct{ name, value, a, b string }{
		{"units", o.read.Units, "mm", "in"}, {"decimal", o.read.Decimal, "point", "comma"},
	} {
		if v.value != "" && v.value != v.a && v.value != v.b {
			return usagef("", "--%s %s: wants %s or %s", v.name, v.value, v.a, v.b)
		}
	}
	if o.down {
		o.read.Heights = "down"
	} else if o.up {
		o.read.Heights = "up"
	}
	switch {
	case o.down && o.up:
		return usagef("", "--down and --up are opposites")
	case o.Method != "" && o.Method != "bilinear" && o.Method != "bicubic" && !fit.Fits(o.Method):
		return usagef("", "--method %s: wants auto, plane, cylinder, cone, sphere, bilinear, bicubic or smooth", o.Method)
	case o.match != "" && (o.Shift != nil || o.RotateDeg != 0):
		return usagef("", "--match finds shift and rotation; give either it or --shift and --rotate")
	case !(o.WrapsYMM >= 0 && o.WrapsYMM <= 1e6):
		return usagef("", "--wraps %g: wants the length of a turn in mm", o.WrapsYMM)
	case !(math.Abs(o.RotateDeg) <= 360):
		return usagef("", "--rotate %g: wants degrees from -360 to 360", o.RotateDeg)
	}
	return checkPlot(o.plot)
}

func (o *surfaceOptions) run(s *session, args []string) error {
	name := args[0]
	if err := o.check(); err != nil {
		return err
	}
	if err := files.OneStream(name, o.match); err != nil {
		return err
	}
	reading, err := readTouches(s, name, o.read)
	if err != nil {
		return err
	}
	if o.match != "" {
		if o.Pairs, err = files.Read(s.files, o.match, touch.ReadPairs); err != nil {
			return err
		}
		o.PairsName = o.match
	}
	if err := s.files.CheckOutputs(o.out, o.plot, o.summary); err != nil {
		return err
	}
	m, err := fit.Measure(name, reading, o.MeasuredOptions)
	if err != nil {
		return err
	}
	text, err := m.Text(maker)
	if err != nil {
		return err
	}
	var picture bytes.Buffer
	if o.plot != "" {
		if err := report.SurfaceMap(&picture, plotFormat(o.plot), m); err != nil {
			return fmt.Errorf("%s: %w", o.plot, err)
		}
	}
	var figures []byte
	if o.summary != "" {
		if figures, err = say.SurfaceFigures(Version, m, files.DigestOf(text)).JSON(); err != nil {
			return err
		}
	}
	err = s.files.Write(files.Result{Name: o.out, Text: text},
		files.Result{Name: o.plot, Text: picture.Bytes()}, files.Result{Name: o.summary, Text: figures})
	if err != nil {
		return err
	}
	say.Surface(s.say, m)
	return nil
}

func readTouches(s *session, name string, opt touch.Options) (*touch.Reading, error) {
	return files.Read(s.files, name, func(r io.Reader, name string) (*touch.Reading, error) { return touch.Read(r, name, opt) })
}
