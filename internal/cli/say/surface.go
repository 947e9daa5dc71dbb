package say

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"sagitta/internal/fit"
	"sagitta/internal/phrase"
	"sagitta/internal/surface"
	"sagitta/internal/touch"
)

// Surface says what was made of measured heights.
func Surface(v Voice, m *fit.Measured) {
	s := surfaceVoice{v, m}
	s.read()
	s.cleaned()
	s.fitted()
	s.shape()
	s.placed()
}

// surfaceVoice says what was made of measured heights.
type surfaceVoice struct {
	Voice
	m *fit.Measured
}

func (v surfaceVoice) read() {
	name, r := v.m.Name, v.m.Reading
	what := fmt.Sprintf("%s from %s, columns %s (%s)", phrase.Count(len(r.Points), "touch"), phrase.Count(r.Lines, "line"), r.Columns, r.ColumnsFrom)
	if g := r.Grid; g != nil {
		what = fmt.Sprintf("a grid of %d x %d nodes", len(g.X()), len(g.Y()))
		if n := g.Missing(); n > 0 {
			what += fmt.Sprintf(", %d without a height", n)
		}
	}
	v.Line("%s: read as %s; decimal %s; %s (%s); heights %s (%s)", name, what, r.Decimal, r.Units, r.UnitsFrom, r.Heights, r.HeightsFrom)
	for _, i := range r.Ignored {
		lines := strings.ReplaceAll(strings.Trim(fmt.Sprint(i.Lines), "[]"), " ", ", ")
		if i.Count > len(i.Lines) {
			lines += ", ..."
		}
		v.Line("%s: %s ignored, %s: line %s", name, phrase.Count(i.Count, "line"), i.Why, lines)
	}
	if jump := touch.MixedUnits(r.Points); jump != "" {
		v.Line("%s: %s", name, jump)
	}
	other := func(p surface.Point) bool { return p.Z != r.Points[0].Z }
	if len(r.Points) > 2 && !slices.ContainsFunc(r.Points, other) {
		v.Line("%s: every height is %s mm: flat stock, or a gauge that is stuck", name, phrase.MM(r.Points[0].Z))
	}
}

func (v surfaceVoice) cleaned() {
	m := v.m
	if d := m.Drift; d != nil {
		v.Line("%s: the datum at %s was found %+.3f mm off at the end; that drift is taken out in proportion", m.Name, phrase.XY(d.At[0], d.At[1]), d.MM)
	}
	if rep := m.Repeats; rep.Places > 0 {
		v.Line("%s: %s touched more than once, %d touches, averaged; noise of a touch %s mm", m.Name, phrase.Count(rep.Places, "place"), rep.Touches, phrase.Short(rep.NoiseMM))
	}
	for k, b := range m.LeftOut {
		if k == fit.MostNamed {
			v.Line("%s: and %d more left out", m.Name, len(m.LeftOut)-k)
			break
		}
		what := "those around it lead to"
		if b.Stray {
			what = "its repeats agree on"
		}
		v.Line("%s:%d: left out: the touch at %s is %+.3f mm off the %.3f mm that %s%s",
			m.Name, b.Line, phrase.XY(b.X, b.Y), b.OffMM, b.ExpectedMM, what, otherUnit(&b))
	}
	if n := len(m.Points); n < 10 {
		v.Line("%s: %s are too few to tell a bad touch from a bend", m.Name, phrase.Count(n, "point"))
	}
}

// otherUnit says of a touch that it would agree in the other unit.
func otherUnit(b *fit.LeftOut) string {
	agrees := func(mm float64) bool {
		return math.Abs(mm-b.ExpectedMM) < 0.1*math.Abs(b.OffMM) && math.Abs(b.Z) > 1e-3
	}
	switch {
	case agrees(b.Z * 25.4):
		return "; as inches it would agree"
	case agrees(b.Z / 25.4):
		return "; read as mm in a file of inches it would agree"
	}
	return ""
}

func (v surfaceVoice) fitted() {
	m := v.m
	c := m.Choice
	var tried []string
	for _, k := range c.Candidates {
		text := k.Name + " " + phrase.Short(k.ErrorMM)
		switch {
		case k.Why != "":
			text = fmt.Sprintf("%s - (%s)", k.Name, k.Why)
		case k.RawMM != k.ErrorMM:
			text += fmt.Sprintf(" (%s with points left out)", phrase.Short(k.RawMM))
		}
		tried = append(tried, text)
	}
	v.Line("errors by cross-validation, mm: %s", strings.Join(tried, ", "))
	v.Line("chosen: %s%s", c.Name, m.Form())
	if h := m.Written.Surface.Header(); c.ErrorKnown {
		v.Line("error of the surface %s mm, of which reading the written grid adds at most %s mm; noise of a touch %s mm",
			phrase.Short(h.ErrorMM), phrase.Short(m.Written.ReadingMM), phrase.Short(h.NoiseMM))
	} else {
		v.Line("the error of the surface is not known: %s are too few to leave one out; touch more, or allow for it", phrase.Count(len(m.Points), "point"))
	}
	if n := len(m.Written.Filled); n > 0 {
		v.Line("%s inside the hull of the points had no height and got one from the smooth surface; they are marked in the file", phrase.Count(n, "node"))
	}
	switch n := m.Written.Surface.Missing(); {
	case n > 0 && c.Grid != nil:
		v.Line("%s outside the hull of the points stay without a height", phrase.Count(n, "node"))
	case n > 0:
		v.Line("the surface ends at the hull of the points")
	}
}

func (v surfaceVoice) shape() {
	m := v.m
	low, high, lowAt, highAt := m.Range()
	v.Line("heights from %s mm at %s to %s mm at %s; best fixed focus at %s mm, and a flat run is out by %.3f mm either way",
		phrase.MM(low), phrase.XY(lowAt[0], lowAt[1]), phrase.MM(high), phrase.XY(highAt[0], highAt[1]), phrase.MM((low+high)/2), (high-low)/2)
	f := fit.FlatnessOf(m.Points)
	if f.Settled {
		v.Line("bow %s mm along x, %s mm along y; twist %s mm; slope %s along x, %s along y", phrase.Signed(f.BowX, 3),
			phrase.Signed(f.BowY, 3), phrase.Signed(f.Twist, 3), phrase.Signed(f.SlopeX, 4), phrase.Signed(f.SlopeY, 4))
	}
	v.Line("roughness about the mean plane, at the touched points: Sa %.4f, Sq %.4f, Sz %.4f mm", f.Sa, f.Sq, f.Sz)
	k := fit.SkinOf(m.Choice.Shape, m.Points)
	if k.MostLonger >= 0.0005 || m.Choice.Round != nil {
		v.Line("greatest slope %.3f (%.1f degrees) at %s: the spot is stretched there by %.3f; a mark is %.2f %% longer on the skin than in the drawing, %.2f %% there",
			k.MaxSlope, math.Atan(k.MaxSlope)*180/math.Pi, phrase.XY(k.At[0], k.At[1]), 1+k.MostLonger, 100*k.MeanLonger, 100*k.MostLonger)
	}
	if t := m.Header.WrapsYMM; t > 0 {
		v.Line("the surface repeats after %s mm in y", phrase.Short(t))
	}
}

// matchScale is a scale that no slip of places makes: two per cent.
const matchScale = 0.02

func (v surfaceVoice) placed() {
	m := v.m
	if x := m.Alignment; x != nil {
		v.Line("matched by %s: --shift %.4f,%.4f --rotate %.6f, written into the file; residual %.3f mm, the largest %.3f mm at line %d",
			phrase.Count(len(m.Pairs), "pair"), x.Shift[0], x.Shift[1], x.Deg, x.ResidualMM, x.WorstMM, m.Pairs[x.Worst].Line)
		if x.Mirrored {
			v.Line("the pairs fit far better mirrored: an axis runs the other way in one of the two")
		} else if math.Abs(x.Scale-1) > matchScale {
			v.Line("the pairs fit better with a scale of %.4f: is one of the two in inches?", x.Scale)
		}
	}
	low, high, _, _ := m.Range()
	if d := m.Header.Datum; d != nil {
		v.Line("heights count from the datum at %s of the surface", phrase.XY(d[0], d[1]))
	} else if far := math.Min(math.Abs(low), math.Abs(high)); low*high > 0 && far > 5 && far > 3*(high-low) {
		v.Line("heights are all far from zero: say where they count from with --datum X,Y here or when the surface is used")
	}
}

// SurfaceFigures are the figures of a surface that was made, digest being that
// of its file.
func SurfaceFigures(version string, m *fit.Measured, digest string) *Figures {
	r := m.Reading
	low, high, _, _ := m.Range()
	flat := fit.FlatnessOf(m.Points)
	leftOut, errors := []figures{}, map[string]float64{}
	for _, b := range m.LeftOut {
		leftOut = append(leftOut, figures{{"line", b.Line}, {"x_mm", b.X}, {"y_mm", b.Y}, {"off_mm", b.OffMM}})
	}
	for _, c := range m.Choice.Candidates {
		if c.Why == "" {
			errors[c.Name] = c.ErrorMM
		}
	}
	var drift, radius, radiusU95, taper, match float64
	if m.Drift != nil {
		drift = m.Drift.MM
	}
	if o := m.Choice.Round; o != nil {
		radius, taper = o.RadiusMM, o.Taper
		if !math.IsInf(o.RadiusU95MM, 0) {
			radiusU95 = o.RadiusU95MM
		}
	}
	if m.Alignment != nil {
		match = m.Alignment.ResidualMM
	}
	f := figures{
		{"touches", len(r.Points)},
		{"points", len(m.Points)},
		{"lines_ignored", r.IgnoredCount},
		{"left_out", leftOut},
		{"drift_mm", drift},
		{"noise_mm", m.Header.NoiseMM},
		{"method", m.Choice.Name},
		{"errors_mm", errors},
		{"error_mm", m.Written.Surface.Header().ErrorMM},
		{"error_known", m.Choice.ErrorKnown},
		{"radius_mm?", radius},
		{"radius_u95_mm?", radiusU95},
		{"taper?", taper},
		{"height_low_mm", low},
		{"height_high_mm", high},
		{"bow_x_mm", flat.BowX},
		{"bow_y_mm", flat.BowY},
		{"twist_mm", flat.Twist},
		{"sa_mm", flat.Sa},
		{"sq_mm", flat.Sq},
		{"sz_mm", flat.Sz},
		{"best_fixed_focus_mm", (low + high) / 2},
		{"greatest_slope", fit.SkinOf(m.Choice.Shape, m.Points).MaxSlope},
		{"filled", len(m.Written.Filled)},
		{"match_residual_mm?", match},
	}
	return &Figures{Schema: 1, Command: "surface", Version: version, Verdict: "done", Changed: true,
		Inputs:  map[string]string{"measured": "sha256:" + r.Digest},
		Outputs: map[string]string{"surface": digest},
		Options: map[string]string{"columns": r.Columns, "units": r.Units, "heights": r.Heights, "decimal": r.Decimal},
		Figures: f}
}
