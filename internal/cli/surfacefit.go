package cli

import (
	"bytes"
	"fmt"
	"math"
	"path/filepath"
	"strings"

	"sagitta/internal/fit"
	"sagitta/internal/phrase"
	"sagitta/internal/surface"
	"sagitta/internal/touch"
)

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
	fmt.Fprintf(&b, "# fit %s to %s%s\n", g.choice.Name, phrase.Count(len(g.points), "point"), g.roundText())
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
		fmt.Fprintf(&b, "# filled %s inside the hull of the points", phrase.Count(n, "height"))
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
