package fit

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"io"
	"math"
	"path/filepath"
	"slices"

	"sagitta/internal/diag"
	"sagitta/internal/fit/form"
	"sagitta/internal/fit/layout"
	"sagitta/internal/fit/sift"
	"sagitta/internal/phrase"
	"sagitta/internal/surface"
	"sagitta/internal/surface/file"
	"sagitta/internal/touch"
)

// MostNamed is how many touches left out are named one by one.
const MostNamed = 20

// Text is the file of the surface; made names what made it.
func (m *Measured) Text(made string) ([]byte, error) {
	var b bytes.Buffer
	short := m.shorten()
	fmt.Fprintf(&b, "# %s surface", made)
	for k, p := range m.Parts {
		from := ", from "
		if k > 0 {
			from = ", "
		}
		fmt.Fprintf(&b, "%s%s, sha256:%s", from, phrase.Printable(short(p.Name)), p.Digest)
	}
	b.WriteByte('\n')
	for _, p := range m.Parts {
		if p.Moved() {
			fmt.Fprintf(&b, "# heights of %s moved by %s mm\n", phrase.Printable(short(p.Name)), phrase.Signed(-p.Zero.MM, 3))
		}
	}
	fmt.Fprintf(&b, "# fit %s to %s%s\n", m.Choice.Name, phrase.Count(len(m.Points), "point"), m.Form())
	if len(m.LeftOut) > 0 {
		b.WriteString("# left out")
		for k, p := range m.LeftOut {
			if k == MostNamed {
				fmt.Fprintf(&b, " and %d more", len(m.LeftOut)-k)
				break
			}
			fmt.Fprintf(&b, " %s (%+.3f)", m.placeOf(p.Point, short), p.OffMM)
		}
		b.WriteByte('\n')
	}
	if n := len(m.Written.Filled); n > 0 {
		fmt.Fprintf(&b, "# filled %s inside the hull of the points", phrase.Count(n, "height"))
		for k, p := range m.Written.Filled {
			if k%8 == 0 {
				b.WriteString("\n# filled at")
			}
			fmt.Fprintf(&b, " X%g Y%g", p[0], p[1])
		}
		b.WriteByte('\n')
	}
	if err := file.Write(&b, m.Written.Surface); err != nil {
		return nil, err
	}
	if _, err := file.Read(bytes.NewReader(b.Bytes()), m.Name); err != nil {
		return nil, fmt.Errorf("the surface cannot be written so that it can be read: %w", err)
	}
	return b.Bytes(), nil
}

// shorten gives the names of files without their folders, unless two would be alike.
func (m *Measured) shorten() func(name string) string {
	seen := map[string]bool{}
	for _, p := range m.Parts {
		base := filepath.Base(p.Name)
		if seen[base] {
			return func(name string) string { return name }
		}
		seen[base] = true
	}
	return filepath.Base
}

// Form says what a round form is like, to be read after its name; "" of
// another.
func (m *Measured) Form() string {
	r := m.Choice.Round
	if r == nil {
		return ""
	}
	sure := func(u float64) string {
		if math.IsInf(u, 0) {
			return ""
		}
		return fmt.Sprintf(" +- %s (95 %%)", phrase.Short(u))
	}
	text := fmt.Sprintf(", radius %s%s mm", phrase.MM(r.RadiusMM), sure(r.RadiusU95MM))
	if r.Hollow {
		text = ", hollow" + text
	}
	top := phrase.XY(r.Top[0], r.Top[1])
	if m.Choice.Name == "sphere" {
		return text + fmt.Sprintf(", top at %s, height %s mm", top, phrase.MM(r.Top[2]))
	}
	text += fmt.Sprintf(", axis at %.2f degrees to x through %s, its top line at %s mm rising by %s",
		r.AxisDeg, top, phrase.MM(r.Top[2]), phrase.Signed(r.TopSlope, 4))
	if m.Choice.Name == "cone" {
		text += fmt.Sprintf(", taper %.5f of radius along it%s", r.Taper, sure(r.TaperU95))
	}
	return text
}

// mostMeasured bounds what is kept of a file that is read as a surface, to see what it
// is where it is none: sheets and logs are far shorter.
const mostMeasured = 1 << 20

// Load reads a surface as file.Read does, and fits it where the method, or where
// that is "" the file, asks for a fit; points that are on no grid can be read in
// no other way. The surface keeps the name and digest of the file. Touches that
// look bad are refused: leaving them out is to be seen by whoever measured. What is
// measured heights still, as a filled-in sheet, is told from what is no surface at all.
func Load(r io.Reader, name, method string) (*Loaded, error) {
	var begin bytes.Buffer
	l, err := load(io.MultiReader(io.TeeReader(io.LimitReader(r, mostMeasured), &begin), r), name, method)
	if e := diag.As(err); e != nil {
		_, _ = io.Copy(&begin, io.LimitReader(r, int64(mostMeasured-begin.Len()))) // what was not read yet
		reading, bad := touch.Read(&begin, name, touch.Options{})
		switch {
		case bad == nil && len(reading.Points) >= leastMeasured:
			e.Hint = fmt.Sprintf("these look like measured heights: make a surface of them with sagitta surface %s -o SURFACE.csv, and give that", name)
		case diag.Hint(bad) == touch.StillBlank:
			e.Hint = touch.StillBlank
		}
	}
	return l, err
}

// Loaded is a surface of a file.
type Loaded struct {
	*surface.Surface
	// Said tells that the file says an error of its heights, and Fitted that a form was
	// fitted to them: its own error is then in the header, where it is known.
	Said, Fitted bool
}

// leastMeasured touches make a file measured heights.
const leastMeasured = 3

func load(r io.Reader, name, method string) (*Loaded, error) {
	s, err := file.Read(r, name)
	scattered, ok := errors.AsType[*file.ScatteredError](err)
	if err != nil && !ok {
		return nil, err
	}
	var header surface.Header
	var points []surface.Point
	var digest string
	if ok {
		header, digest = scattered.Header, scattered.Digest
		points = slices.DeleteFunc(scattered.Points, func(p surface.Point) bool { return p.Z != p.Z })
	} else {
		header, digest, points = s.Header(), s.Source().Digest, s.Points()
		_, header.ErrorMM = s.Errors()
	}
	method = cmp.Or(method, header.Method)
	if !Fits(method) {
		return &Loaded{Surface: s, Said: header.ErrorSaid}, err
	}
	_, bad, err := sift.Outliers(points)
	if err != nil {
		return nil, refused(name, err.Error()+"; clean the measured heights first", "")
	}
	if len(bad) > 0 {
		return nil, &diag.Error{Place: diag.Place{File: name, Line: max(bad[0].Line, 1), Col: 1},
			What: fmt.Sprintf("a touch is %+.3f mm off what those around it lead to; clean the measured heights first", bad[0].OffMM)}
	}
	if why := unborneForm(points, method); why != "" {
		return nil, refused(name, fmt.Sprintf("a %s does not bear the touches: %s", method, why),
			"use another method, such as auto, or clean the measured heights first")
	}
	choice, err := Choose(points, layout.GridOf(points, touch.SamePlaceMM), method, Given{TurnMM: header.WrapsYMM})
	if err != nil {
		return nil, refused(name, err.Error(), "")
	}
	// What the file says of its heights holds for the fit as well.
	written, err := choice.Write(points, header)
	if err != nil {
		return nil, refused(name, err.Error(), "")
	}
	return &Loaded{written.Surface.WithSource(surface.Source{Name: name, Digest: digest}), header.ErrorSaid, true}, nil
}

// Fits reports whether a method is a fit.
func Fits(method string) bool {
	return form.Is(method) || method == "smooth" || method == "auto"
}
