package cli

import (
	"bytes"
	"fmt"
	"math"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

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
	if name == "-" && o.match == "-" {
		return usagef("", "standard input (-) can stand for one file only")
	}
	g := &gauged{name: name}
	if err := s.readMeasured(o, g); err != nil {
		return err
	}
	if err := s.readMatch(o, g); err != nil {
		return err
	}
	for _, out := range []string{o.out, o.plot, o.summary} {
		if err := s.apart(out); err != nil {
			return err
		}
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
	if s.ctx.Err() != nil {
		return errInterrupted
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
		if err := s.file(o.plot, picture.Bytes()); err != nil {
			return err
		}
	}
	if o.summary != "" {
		if err := s.writeFigures(o.summary, g.figures(text)); err != nil {
			return err
		}
	}
	if err := s.file(o.out, text); err != nil {
		return err
	}
	s.progress.clear()
	tellSurface(s.stderr, g)
	return nil
}

func (s *session) readMeasured(o *surfaceOptions, g *gauged) error {
	in, err := s.open(g.name)
	if err != nil {
		return err
	}
	defer in.Close()
	g.reading, err = touch.Read(interruptible{in, s.ctx}, g.name, o.read)
	return err
}

func (s *session) readMatch(o *surfaceOptions, g *gauged) error {
	if o.match == "" {
		return nil
	}
	in, err := s.open(o.match)
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
		return &touch.Error{File: o.match, Line: 1, What: err.Error()}
	}
	return nil
}

// refuse is a log that no surface can be made of.
func (g *gauged) refuse(what, hint string) error {
	return &touch.Error{File: g.name, Line: 1, What: what, Hint: hint}
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

// place makes the header of the surface: where it lies, and its datum.
func (g *gauged) place(o *surfaceOptions) error {
	h := &g.header
	h.NoiseMM, h.WrapsYMM, h.Datum = g.reading.NoiseMM, g.reading.WrapsYMM, g.reading.Datum
	if g.repeats.NoiseMM > 0 {
		h.NoiseMM = g.repeats.NoiseMM
	}
	if o.wraps > 0 {
		h.WrapsYMM = o.wraps
	}
	if g.drift != nil && h.Datum == nil {
		h.Datum = &g.drift.At
	}
	if g.match != nil {
		// A micrometre and a thousandth of a degree are finer than places
		// are known.
		h.Shift = &[2]float64{math.Round(g.match.Shift[0]*1e4) / 1e4, math.Round(g.match.Shift[1]*1e4) / 1e4}
		h.RotateDeg = math.Round(g.match.Deg*1e6) / 1e6
	}
	if o.shift != "" {
		xy, err := pair("shift", o.shift)
		if err != nil {
			return err
		}
		h.Shift = &xy
	}
	if o.rotate != 0 {
		h.RotateDeg = o.rotate
	}
	if o.datum != "" {
		xy, err := pair("datum", o.datum)
		if err != nil {
			return err
		}
		p := h.Placement()
		sin, cos := math.Sincos(p.RotateDeg * math.Pi / 180)
		x, y := xy[0]-p.ShiftX, xy[1]-p.ShiftY
		h.Datum = &[2]float64{math.Round((cos*x+sin*y)*1e6) / 1e6, math.Round((cos*y-sin*x)*1e6) / 1e6}
	}
	return nil
}

// fit chooses the surface.
func (g *gauged) fit(o *surfaceOptions) error {
	r := g.reading
	method := o.method
	if method == "" {
		method = r.Method
	}
	if method == "" {
		method = "auto"
	}
	grid := fit.GridOf(g.points, touch.SamePlaceMM)
	if r.Grid {
		grid = gridOf(r, g.points)
	}
	// What is known of the noise from a few repeats is not enough to take it
	// out of the error.
	noise := g.header.NoiseMM
	if rep := g.repeats; rep.Places > 0 && rep.Touches-rep.Places < noiseDegrees {
		noise = 0
	}
	var err error
	g.choice, err = fit.Choose(g.points, grid, method, noise, g.header.WrapsYMM, r.ResolutionMM)
	if err != nil {
		return g.refuse(err.Error(), "")
	}
	g.sheet, err = g.choice.Sheet(g.points, g.header)
	if err != nil {
		return g.refuse(err.Error(), "")
	}
	// What is written must be what the other commands take.
	at := g.header.Placement()
	at.Raw = true
	if _, err := surface.Place(g.sheet.Surface, at); err != nil {
		return g.refuse(err.Error(), "")
	}
	if g.header.Datum != nil {
		if _, err := surface.Place(g.sheet.Surface, g.header.Placement()); err != nil {
			return err
		}
	}
	return nil
}

// noiseDegrees of freedom know a standard deviation to a fifth.
const noiseDegrees = 12

// gridOf lays the points that are left back on the nodes of a grid that was
// read as one.
func gridOf(r *touch.Reading, points []fit.Point) *fit.Grid {
	g := &fit.Grid{X: r.X, Y: r.Y, Z: make([]float64, len(r.X)*len(r.Y))}
	for k := range g.Z {
		g.Z[k] = math.NaN()
	}
	atX, atY := map[float64]int{}, map[float64]int{}
	for i, x := range r.X {
		atX[x] = i
	}
	for j, y := range r.Y {
		atY[y] = j
	}
	for _, p := range points {
		g.Z[atY[p.Y]*len(r.X)+atX[p.X]] = p.Z
	}
	return g
}

// text is the file of the surface.
func (g *gauged) text() ([]byte, error) {
	var b bytes.Buffer
	fmt.Fprintf(&b, "# sagitta %s surface, from %s, sha256:%s\n", Version, oneLine(filepath.Base(g.name)), g.reading.Digest)
	fmt.Fprintf(&b, "# fit %s to %s%s\n", g.choice.Name, count(len(g.points), "point"), g.roundText())
	if len(g.bad) > 0 {
		b.WriteString("# left out")
		for k, p := range g.bad {
			if k == shownTouches {
				fmt.Fprintf(&b, " and %d more", len(g.bad)-k)
				break
			}
			fmt.Fprintf(&b, " line %d (%+.3f)", p.Ref, p.offMM)
		}
		b.WriteByte('\n')
	}
	if n := len(g.sheet.Filled); n > 0 {
		fmt.Fprintf(&b, "# filled %s inside the hull of the points", count(n, "height"))
		for k, p := range g.sheet.Filled {
			if k%8 == 0 {
				b.WriteString("\n# filled at")
			}
			fmt.Fprintf(&b, " X%g Y%g", p[0], p[1])
		}
		b.WriteByte('\n')
	}
	if err := g.sheet.Surface.WriteGrid(&b); err != nil {
		return nil, err
	}
	if _, err := surface.Read(bytes.NewReader(b.Bytes()), g.name); err != nil {
		return nil, fmt.Errorf("the surface cannot be written so that it can be read: %w", err)
	}
	return b.Bytes(), nil
}

// oneLine keeps a file's name from breaking out of a comment.
func oneLine(name string) string {
	return strings.Map(func(r rune) rune {
		if r < ' ' {
			return '_'
		}
		return r
	}, name)
}
