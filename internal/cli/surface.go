package cli

import (
	"bytes"
	"fmt"
	"math"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"sagitta/internal/cli/files"
	"sagitta/internal/diag"
	"sagitta/internal/fit"
	"sagitta/internal/surface"
	"sagitta/internal/touch"
)

// surfaceOptions are the options of sagitta surface.
type surfaceOptions struct {
	read          touch.Options
	down, up      bool
	method        string
	keep          bool
	datum, shift  string
	rotate, wraps float64
	match         string
	out, plot     string
	summary       string
	placed        bool // shift, rotate or match was given
}

func (s *session) surfaceCommand() *cobra.Command {
	var o surfaceOptions
	c := &cobra.Command{
		Use:   "surface MEASURED [--match PAIRS.csv] [-o SURFACE.csv] [--plot FILE.svg]",
		Short: "clean and fit measured heights into a surface",
		Long: `surface reads what machines and people write down when they touch stock: any
text with three numbers in a line, a filled-in sheet, a grid. It says how it read
the file, takes drift out, averages places touched again, leaves bad touches out
by line and place, picks the form that predicts the heights best, and writes a
surface that the other commands take, with the error that is left.`,
		Example: `  A log of touches, as the machine wrote it:

    sagitta surface touches.log -o sheet.csv --plot sheet.svg
    sagitta follow plate.gcode -s sheet.csv --depth 1.5 -o plate-followed.gcode

  Gaps by a gauge in inches, columns in another order:

    sagitta surface gaps.txt --columns zxy --units in --down -o sheet.csv

  A surface measured in one work offset and used in another: three or more
  pairs of points, x and y of the surface, x and y of the program:

    sagitta surface touches.log --match pairs.csv -o sheet.csv

  A cup that turns, Y wrapped round it, 251.3 mm in a turn:

    sagitta surface cup.log --wraps 251.3 -o cup.csv`,
		Args: operands("file of measured heights"),
		RunE: func(c *cobra.Command, args []string) error {
			o.placed = c.Flags().Changed("shift") || c.Flags().Changed("rotate") || o.match != ""
			return s.surface(&o, args[0])
		},
	}
	f := c.Flags()
	f.SortFlags = false
	f.StringVar(&o.read.Columns, "columns", "", "what the `NUMBERS` of a line are, a letter each: x, y, z, - for none, as in -xyz")
	f.StringVar(&o.read.Units, "units", "", "`UNITS` of the file: mm or in (default: what the file says, else mm)")
	f.StringVar(&o.read.Decimal, "decimal", "", "the decimal `SIGN`: point or comma")
	f.BoolVar(&o.down, "down", false, "readings grow away from the lens, as gaps do")
	f.BoolVar(&o.up, "up", false, "readings grow towards the lens")
	f.StringVar(&o.method, "method", "", "`NAME` of the fit: auto, plane, cylinder, cone, sphere, bilinear, bicubic or smooth (default auto)")
	f.BoolVar(&o.keep, "keep-all", false, "leave no touch out")
	f.StringVar(&o.datum, "datum", "", "heights count from this point, `X,Y` of the program")
	f.StringVar(&o.shift, "shift", "", "where the surface's origin lies, `X,Y` of the program")
	f.Float64Var(&o.rotate, "rotate", 0, "`DEG` by which the surface is turned, counter-clockwise about its origin")
	f.StringVar(&o.match, "match", "", "find shift and rotation from the pairs of points in `FILE`")
	f.Float64Var(&o.wraps, "wraps", 0, "the surface repeats after `MM` in y: a round that turns")
	f.StringVarP(&o.out, "output", "o", "", "write the surface to `FILE` (default: standard output)")
	f.StringVar(&o.plot, "plot", "", "draw a map of the heights to `FILE`.svg or .png")
	f.StringVar(&o.summary, "summary", "", "write the run's figures as JSON to `FILE`")
	return c
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
	switch {
	case o.down && o.up:
		return usagef("", "--down and --up are opposites")
	case o.down:
		o.read.Heights = "down"
	case o.up:
		o.read.Heights = "up"
	}
	if o.method != "" && o.method != "bilinear" && o.method != "bicubic" && !fit.Fits(o.method) {
		return usagef("", "--method %s: wants auto, plane, cylinder, cone, sphere, bilinear, bicubic or smooth", o.method)
	}
	if o.match != "" && (o.shift != "" || o.rotate != 0) {
		return usagef("", "--match finds shift and rotation; give either it or --shift and --rotate")
	}
	if !(o.wraps >= 0 && o.wraps <= 1e6) {
		return usagef("", "--wraps %g: wants the length of a turn in mm", o.wraps)
	}
	if !(math.Abs(o.rotate) <= 360) {
		return usagef("", "--rotate %g: wants degrees from -360 to 360", o.rotate)
	}
	if o.plot != "" && plotFormat(o.plot) == "" {
		return usagef("", "--plot %s: wants a name that ends in .svg or .png", o.plot)
	}
	return nil
}

func plotFormat(name string) string {
	switch strings.ToLower(filepath.Ext(name)) {
	case ".svg":
		return "svg"
	case ".png":
		return "png"
	}
	return ""
}

// gauged is a surface under way: what was read, and what became of it.
type gauged struct {
	name    string
	reading *touch.Reading
	drift   *touch.Drift
	repeats touch.Repeats
	points  []fit.Point
	bad     []badTouch
	choice  *fit.Choice
	sheet   *fit.Sheet
	header  surface.Header
	match   *fit.Match
	pairs   []touch.Pair
}

// badTouch is a touch that was left out.
type badTouch struct {
	fit.Point
	offMM, expectedMM float64
	stray             bool // its own repeats agree against it
}

func (s *session) surface(o *surfaceOptions, name string) error {
	if err := o.check(); err != nil {
		return err
	}
	if err := files.OneStream(name, o.match); err != nil {
		return err
	}
	g := &gauged{name: name}
	if err := s.readMeasured(o, g); err != nil {
		return err
	}
	if err := s.readMatch(o, g); err != nil {
		return err
	}
	if err := s.files.CheckOutputs(o.out, o.plot, o.summary); err != nil {
		return err
	}
	if err := g.clean(o); err != nil {
		return err
	}
	if err := g.place(o); err != nil {
		return err
	}
	if err := g.fit(o); err != nil {
		return err
	}
	if err := s.files.Err(nil); err != nil {
		return err
	}
	text, err := g.text()
	if err != nil {
		return err
	}
	if o.plot != "" {
		var picture bytes.Buffer
		if err := g.picture().Draw(&picture, plotFormat(o.plot)); err != nil {
			return fmt.Errorf("%s: %w", o.plot, err)
		}
		if err := s.files.Write(files.Result{Name: o.plot, Text: picture.Bytes()}); err != nil {
			return err
		}
	}
	if o.summary != "" {
		if err := s.writeFigures(o.summary, g.figures(text)); err != nil {
			return err
		}
	}
	if err := s.files.Write(files.Result{Name: o.out, Text: text}); err != nil {
		return err
	}
	s.files.ClearProgress()
	tellSurface(s.stderr, g)
	return nil
}

func (s *session) readMeasured(o *surfaceOptions, g *gauged) error {
	in, err := s.files.Open(g.name)
	if err != nil {
		return err
	}
	defer in.Close()
	g.reading, err = touch.Read(in, g.name, o.read)
	return err
}

func (s *session) readMatch(o *surfaceOptions, g *gauged) error {
	if o.match == "" {
		return nil
	}
	in, err := s.files.Open(o.match)
	if err != nil {
		return err
	}
	defer in.Close()
	if g.pairs, err = touch.ReadPairs(in, o.match); err != nil {
		return err
	}
	pairs := make([]fit.Pair, len(g.pairs))
	for k, p := range g.pairs {
		pairs[k] = fit.Pair{From: p.From, To: p.To, Line: p.Line}
	}
	if g.match, err = fit.MatchPairs(pairs); err != nil {
		return &diag.Error{Place: diag.Place{File: o.match, Line: 1, Col: 1}, What: err.Error()}
	}
	return nil
}

// refuse is a log that no surface can be made of.
func (g *gauged) refuse(what, hint string) error {
	return &diag.Error{Place: diag.Place{File: g.name, Line: 1, Col: 1}, What: what, Hint: hint}
}

// clean takes out drift, repeats and bad touches.
func (g *gauged) clean(o *surfaceOptions) error {
	r := g.reading
	if len(r.Points) == 0 {
		return g.refuse("no height in the file", "")
	}
	if !r.Grid {
		g.drift = touch.Undrift(r.Points)
	}
	touches := r.Points
	if g.drift != nil {
		touches = touches[:len(touches)-g.drift.Closing]
	}
	merged, rep := touch.Merge(touches)
	g.repeats = rep
	for _, p := range rep.Stray {
		g.bad = append(g.bad, badTouch{Point: fit.Point{X: p.X, Y: p.Y, Z: p.Z, Ref: p.Line}, stray: true})
	}
	all := make([]fit.Point, len(merged))
	for k, m := range merged {
		all[k] = fit.Point{X: m.X, Y: m.Y, Z: m.Z, Ref: m.Line}
	}
	for k := range g.bad {
		for _, p := range all {
			if math.Abs(p.X-g.bad[k].X) <= touch.SamePlaceMM && math.Abs(p.Y-g.bad[k].Y) <= touch.SamePlaceMM {
				g.bad[k].expectedMM, g.bad[k].offMM = p.Z, g.bad[k].Z-p.Z
			}
		}
	}
	g.points = all
	if o.keep {
		return nil
	}
	out, err := fit.Outliers(all)
	if err != nil {
		hint := "give --keep-all to take them as they are"
		if line, ratio := touch.MixedInches(r.Points); line > 0 {
			hint = mixedUnits(line, ratio)
		}
		return g.refuse(err.Error(), hint)
	}
	gone := make(map[int]bool, len(out))
	for _, b := range out {
		gone[b.Index] = true
		g.bad = append(g.bad, badTouch{Point: all[b.Index], offMM: b.OffMM, expectedMM: b.ExpectedMM})
	}
	if len(out) > 0 {
		g.points = make([]fit.Point, 0, len(all))
		for k := range all {
			if !gone[k] {
				g.points = append(g.points, all[k])
			}
		}
	}
	return nil
}
