package cli

import (
	"bytes"
	"cmp"
	"fmt"
	"io"

	"sagitta/internal/cli/files"
	"sagitta/internal/cli/say"
	"sagitta/internal/fit"
	"sagitta/internal/job"
	"sagitta/internal/phrase"
	"sagitta/internal/report"
	"sagitta/internal/touch"
)

// readingOptions say how measured heights are read.
type readingOptions struct {
	Columns string `opt:"columns" is:"what the <NUMBERS> of a line are, a letter each: x, y, z, - for none, as in -xyz"`
	Units   string `opt:"units" in:"mm|in|mm,mm,in|in,in,mm" is:"<UNITS> of the file: mm or in; mm,mm,in where only the heights are in inches (default: what the file says, else mm)"`
	Decimal string `opt:"decimal" in:"point|comma" is:"the decimal <SIGN>: point or comma"`
	Down    bool   `opt:"down" is:"readings grow away from the lens, as gaps do"`
	Up      bool   `opt:"up" is:"readings grow towards the lens"`
}

type surfaceOptions struct {
	readingOptions
	Method  string      `opt:"method" in:"auto|plane|cylinder|cone|sphere|bilinear|bicubic|smooth" is:"<NAME> of the fit: auto, plane, cylinder, cone, sphere, bilinear, bicubic or smooth (default auto)"`
	KeepAll bool        `opt:"keep-all" is:"leave no touch out"`
	Datum   *[2]float64 `opt:"datum"`
	Shift   *[2]float64 `opt:"shift"`
	Rotate  float64     `opt:"rotate" in:"[-360,360]" wants:"degrees from -360 to 360"`
	Match   string      `opt:"match" file:"csv" is:"find shift and rotation from the pairs of points in <FILE>"`
	Wraps   float64     `opt:"wraps" in:"[0,1e6]" wants:"the length of a turn in mm" is:"the surface repeats after <MM> in y: a round that turns"`
	For     string      `opt:"for" file:"program" is:"the program of a job, a <FILE>: what to touch next is what serves it"`
	Next    string      `opt:"next" file:"program|csv" is:"write a program that touches the places to touch next to <FILE>"`
	ByHand  bool        `opt:"by-hand" is:"with --next: write a sheet to fill in, and a numbered map beside it"`
	Machine string      `opt:"machine"`
	KeepOut string      `opt:"keep-out"`
	Out     string      `opt:"output,o" file:"csv" is:"write the surface to <FILE> (default: standard output)"`
	Plot    string      `opt:"plot" file:"svg|png" is:"draw a map of the heights to <FILE>.svg or .png"`
	Summary string      `opt:"summary"`
}

// check looks at the options together.
func (o *readingOptions) check() error {
	if err := touch.CheckColumns(o.Columns); err != nil {
		return usagef("as in --columns xyz or --columns -xyz", "--columns %s: %v", o.Columns, err)
	}
	if o.Down && o.Up {
		return usagef("", "--down and --up are opposites")
	}
	return nil
}

// check looks at the options together.
func (o *surfaceOptions) check() error {
	if err := o.readingOptions.check(); err != nil {
		return err
	}
	switch {
	case o.Match != "" && (o.Shift != nil || o.Rotate != 0):
		return usagef("", "--match finds shift and rotation; give either it or --shift and --rotate")
	case o.Next == "" && (o.ByHand || o.KeepOut != ""):
		return usagef("say with --next where that is written", "--by-hand and --keep-out are for what is touched next")
	case o.ByHand && o.KeepOut != "":
		return usagef("", "--keep-out is for a program that touches, and --by-hand writes none")
	}
	return checkPlot(o.Plot)
}

// reading says how the file is read.
func (o *readingOptions) reading() touch.Options {
	t := touch.Options{Columns: o.Columns, Units: o.Units, Decimal: o.Decimal}
	switch {
	case o.Down:
		t.Heights = "down"
	case o.Up:
		t.Heights = "up"
	}
	return t
}

func (o *surfaceOptions) run(s *session, args []string) error {
	if err := o.check(); err != nil {
		return err
	}
	if err := files.OneStream(append([]string{o.Match, o.For, o.Machine, o.KeepOut}, args...)...); err != nil {
		return err
	}
	bench, burns, err := o.job(s)
	if err != nil {
		return err
	}
	reading, err := readRounds(s, args, o.reading())
	if err != nil {
		return err
	}
	opt := fit.MeasuredOptions{KeepAll: o.KeepAll, Method: o.Method, Datum: o.Datum, Shift: o.Shift, RotateDeg: o.Rotate, WrapsYMM: o.Wraps}
	if o.Match != "" {
		if opt.Pairs, err = job.Read(s.open, o.Match, touch.ReadPairs); err != nil {
			return err
		}
		opt.PairsName = o.Match
	}
	if err := s.files.CheckOutputs(cmp.Or(o.Out, "-"), o.Plot, o.Summary, o.Next, mapOf(o.ByHand, o.Next)); err != nil {
		return err
	}
	if err := keepSheet(o.ByHand, o.Next, "--next"); err != nil {
		return err
	}
	m, err := fit.Measure(phrase.List(args), reading, opt)
	if err != nil {
		return err
	}
	text, err := m.Text(maker)
	if err != nil {
		return err
	}
	next := m.Next(burns)
	more, err := o.touchNext(s, m, next, bench)
	if err != nil {
		return err
	}
	var picture bytes.Buffer
	if o.Plot != "" {
		if err := report.SurfaceMap(&picture, plotFormat(o.Plot), m, burns); err != nil {
			return fmt.Errorf("%s: %w", o.Plot, err)
		}
	}
	var figures []byte
	if o.Summary != "" {
		if figures, err = say.SurfaceFigures(Version, m, next, files.DigestOf(text)).JSON(); err != nil {
			return err
		}
	}
	more = append(more, files.Result{Name: o.Plot, Text: picture.Bytes()}, files.Result{Name: o.Summary, Text: figures})
	if err := s.files.Write(files.Result{Name: o.Out, Text: text}, more...); err != nil {
		return err
	}
	s.say.Surface(m, next, o.Next)
	return nil
}

// readRounds reads one file of touches or several of one surface.
func readRounds(s *session, names []string, opt touch.Options) (*touch.Reading, error) {
	var parts []touch.Part
	for _, name := range names {
		r, err := readTouches(s, name, opt)
		if err != nil {
			return nil, err
		}
		parts = append(parts, touch.Part{Name: name, Reading: r})
	}
	return touch.Join(parts)
}

func readTouches(s *session, name string, opt touch.Options) (*touch.Reading, error) {
	return job.Read(s.open, name, func(r io.Reader, name string) (*touch.Reading, error) { return touch.Read(r, name, opt) })
}
