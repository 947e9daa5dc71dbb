package cli

import (
	"fmt"
	"io"
	"math"
	"strings"

	"sagitta/internal/cli/files"
	"sagitta/internal/fit"
	"sagitta/internal/phrase"
	"sagitta/internal/report"
	"sagitta/internal/surface"
	"sagitta/internal/touch"
)

// shownTouches is how many touches are named one by one.
const shownTouches = 20

func mixedUnits(line int, ratio float64) string {
	what := "larger"
	if ratio < 1 {
		what, ratio = "smaller", 1/ratio
	}
	return fmt.Sprintf("from line %d on heights are about %.0f times %s: a jump of 25.4 is suspected, inches among millimetres", line, ratio, what)
}

func tellSurface(w io.Writer, g *gauged) {
	say := func(format string, args ...any) { fmt.Fprintf(w, "sagitta: "+format+"\n", args...) }
	g.tellRead(say)
	g.tellCleaned(say)
	g.tellFit(say)
	g.tellShape(say)
	g.tellPlaced(say)
}

func (g *gauged) tellRead(say func(string, ...any)) {
	r := g.reading
	what := fmt.Sprintf("%s from %s, columns %s (%s)", phrase.Count(len(r.Points), "touch"), phrase.Count(r.Lines, "line"), r.Columns, r.ColumnsFrom)
	if len(r.Points) != 1 {
		what = strings.Replace(what, " touchs", " touches", 1)
	}
	if r.Grid {
		what = fmt.Sprintf("a grid of %d x %d nodes", len(r.X), len(r.Y))
		if r.Missing > 0 {
			what += fmt.Sprintf(", %d without a height", r.Missing)
		}
	}
	say("%s: read as %s; decimal %s; %s (%s); heights %s (%s)", g.name, what, r.Decimal, r.Units, r.UnitsFrom, r.Heights, r.HeightsFrom)
	for _, i := range r.Ignored {
		lines := make([]string, len(i.Lines))
		for k, n := range i.Lines {
			lines[k] = fmt.Sprint(n)
		}
		more := ""
		if i.Count > len(i.Lines) {
			more = ", ..."
		}
		say("%s: %s ignored, %s: line %s%s", g.name, phrase.Count(i.Count, "line"), i.Why, strings.Join(lines, ", "), more)
	}
	if line, ratio := touch.MixedInches(r.Points); line > 0 {
		say("%s: %s", g.name, mixedUnits(line, ratio))
	}
	if len(r.Points) > 2 && sameHeight(r.Points) {
		say("%s: every height is %s mm: flat stock, or a gauge that is stuck", g.name, mm(r.Points[0].Z))
	}
}

func sameHeight(p []touch.Point) bool {
	for k := range p {
		if p[k].Z != p[0].Z {
			return false
		}
	}
	return true
}

func (g *gauged) tellCleaned(say func(string, ...any)) {
	if d := g.drift; d != nil {
		say("%s: the datum at X%.3f Y%.3f was found %+.3f mm off at the end; that drift is taken out in proportion", g.name, d.At[0], d.At[1], d.MM)
	}
	if rep := g.repeats; rep.Places > 0 {
		say("%s: %s touched more than once, %d touches, averaged; noise of a touch %s mm", g.name, phrase.Count(rep.Places, "place"), rep.Touches, short(rep.NoiseMM))
	}
	for k, b := range g.bad {
		if k == shownTouches {
			say("%s: and %d more left out", g.name, len(g.bad)-k)
			break
		}
		what := "those around it lead to"
		if b.stray {
			what = "its repeats agree on"
		}
		if r := inchRatio(b); r != "" {
			what += "; " + r
		}
		say("%s:%d: left out: the touch at X%.3f Y%.3f is %+.3f mm off the %.3f mm that %s", g.name, b.Ref, b.X, b.Y, b.offMM, b.expectedMM, what)
	}
	if n := len(g.points); n < 10 {
		say("%s: %s are too few to tell a bad touch from a bend", g.name, phrase.Count(n, "point"))
	}
}

// inchRatio tells a touch that would agree in the other unit.
func inchRatio(b badTouch) string {
	near := func(v float64) bool {
		return math.Abs(v-b.expectedMM) < 0.1*math.Abs(b.offMM) && math.Abs(b.Z) > 1e-3
	}
	switch {
	case near(b.Z * 25.4):
		return "as inches it would agree"
	case near(b.Z / 25.4):
		return "read as mm in a file of inches it would agree"
	}
	return ""
}

func (g *gauged) tellFit(say func(string, ...any)) {
	c := g.choice
	var tried []string
	for _, k := range c.Candidates {
		if k.Why != "" {
			tried = append(tried, fmt.Sprintf("%s - (%s)", k.Name, k.Why))
			continue
		}
		raw := ""
		if k.RawMM != k.ErrorMM {
			raw = fmt.Sprintf(" (%s with points left out)", short(k.RawMM))
		}
		tried = append(tried, k.Name+" "+short(k.ErrorMM)+raw)
	}
	say("errors by cross-validation, mm: %s", strings.Join(tried, ", "))
	say("chosen: %s%s", c.Name, g.roundText())
	h := g.sheet.Surface.Header()
	switch {
	case !c.ErrorKnown:
		say("the error of the surface is not known: %s are too few to leave one out; touch more, or allow for it", phrase.Count(len(g.points), "point"))
	default:
		say("error of the surface %s mm, of which reading the written grid adds at most %s mm; noise of a touch %s mm", short(h.ErrorMM), short(g.sheet.ReadingMM), short(h.NoiseMM))
	}
	if n := len(g.sheet.Filled); n > 0 {
		say("%s inside the hull of the points had no height and got one from the smooth surface; they are marked in the file", phrase.Count(n, "node"))
	}
	if g.sheet.Holes > 0 && g.choice.Grid != nil {
		say("%s outside the hull of the points stay without a height", phrase.Count(g.sheet.Holes, "node"))
	} else if g.sheet.Holes > 0 {
		say("the surface ends at the hull of the points")
	}
}

// roundText says what a round form is like.
func (g *gauged) roundText() string {
	if g.choice.Fitted == nil {
		return ""
	}
	r := g.choice.Fitted.Round()
	if r == nil {
		return ""
	}
	u := ""
	if !math.IsInf(r.RadiusU95MM, 0) {
		u = fmt.Sprintf(" +- %s (95 %%)", short(r.RadiusU95MM))
	}
	text := fmt.Sprintf(", radius %.3f%s mm", r.RadiusMM, u)
	if r.Hollow {
		text = ", hollow" + text
	}
	if g.choice.Name == "sphere" {
		return text + fmt.Sprintf(", top at X%.3f Y%.3f, height %s mm", r.Top[0], r.Top[1], mm(r.Top[2]))
	}
	text += fmt.Sprintf(", axis at %.2f degrees to x through X%.3f Y%.3f, its top line at %s mm rising by %s", r.AxisDeg, r.Top[0], r.Top[1], mm(r.Top[2]), withSign(r.TopSlope, 4))
	if g.choice.Name == "cone" {
		text += fmt.Sprintf(", taper %.5f of radius along it", r.Taper)
		if !math.IsInf(r.TaperU95, 0) {
			text += fmt.Sprintf(" +- %s (95 %%)", short(r.TaperU95))
		}
	}
	return text
}

// heightRange is that of the surface within the hull.
func (g *gauged) heightRange() (low, high float64, lowAt, highAt [2]float64) {
	h := g.sheet.Surface.Header()
	h.WrapsYMM = 0 // one turn tells
	once, err := g.sheet.Surface.WithHeader(h)
	if err != nil {
		return 0, 0, lowAt, highAt
	}
	p, err := surface.Place(once, surface.Placement{Raw: true})
	if err != nil {
		return 0, 0, lowAt, highAt
	}
	return p.Range()
}

func (g *gauged) tellShape(say func(string, ...any)) {
	low, high, lowAt, highAt := g.heightRange()
	say("heights from %s mm at X%.3f Y%.3f to %s mm at X%.3f Y%.3f; best fixed focus at %s mm, and a flat run is out by %.3f mm either way",
		mm(low), lowAt[0], lowAt[1], mm(high), highAt[0], highAt[1], mm((low+high)/2), (high-low)/2)
	f := fit.FlatnessOf(g.points)
	if f.Settled {
		say("bow %s mm along x, %s mm along y; twist %s mm; slope %s along x, %s along y", withSign(f.BowX, 3), withSign(f.BowY, 3), withSign(f.Twist, 3), withSign(f.SlopeX, 4), withSign(f.SlopeY, 4))
	}
	say("roughness about the mean plane, at the touched points: Sa %.4f, Sq %.4f, Sz %.4f mm", f.Sa, f.Sq, f.Sz)
	k := fit.SkinOf(g.choice.Shape, g.points)
	deg := math.Atan(k.MaxSlope) * 180 / math.Pi
	if k.MostLonger >= 0.0005 || g.round() {
		say("greatest slope %.3f (%.1f degrees) at X%.3f Y%.3f: the spot is stretched there by %.3f; a mark is %.2f %% longer on the skin than in the drawing, %.2f %% there",
			k.MaxSlope, deg, k.At[0], k.At[1], 1+k.MostLonger, 100*k.MeanLonger, 100*k.MostLonger)
	}
	if t := g.header.WrapsYMM; t > 0 {
		say("the surface repeats after %s mm in y", short(t))
	}
}

func (g *gauged) round() bool { return g.choice.Fitted != nil && g.choice.Fitted.Round() != nil }

func (g *gauged) tellPlaced(say func(string, ...any)) {
	if m := g.match; m != nil {
		say("matched by %s: --shift %.4f,%.4f --rotate %.6f, written into the file; residual %.3f mm, the largest %.3f mm at line %d",
			phrase.Count(len(g.pairs), "pair"), m.Shift[0], m.Shift[1], m.Deg, m.ResidualMM, m.WorstMM, g.pairs[m.Worst].Line)
		if m.Mirrored {
			say("the pairs fit far better mirrored: an axis runs the other way in one of the two")
		} else if math.Abs(m.Scale-1) > matchScale {
			say("the pairs fit better with a scale of %.4f: is one of the two in inches?", m.Scale)
		}
	}
	low, high, _, _ := g.heightRange()
	if h := g.header; h.Datum != nil {
		say("heights count from the datum at X%.3f Y%.3f of the surface", h.Datum[0], h.Datum[1])
	} else if far := math.Min(math.Abs(low), math.Abs(high)); low*high > 0 && far > 5 && far > 3*(high-low) {
		say("heights are all far from zero: say where they count from with --datum X,Y here or when the surface is used")
	}
}

// withSign writes a number with its sign, nought without a minus.
func withSign(v float64, decimals int) string {
	if math.Abs(v) < math.Pow10(-decimals)/2 {
		v = 0
	}
	return fmt.Sprintf("%+.*f", decimals, v)
}

// matchScale is a scale that no slip of places makes: two per cent.
const matchScale = 0.02

// picture is the map of the surface and its points.
func (g *gauged) picture() *report.Map {
	p, err := surface.Place(g.sheet.Surface, surface.Placement{Raw: true})
	m := &report.Map{Title: fmt.Sprintf("%s: %s, %s", oneLine(g.name), g.choice.Name, phrase.Count(len(g.points), "point"))}
	if err != nil {
		return m
	}
	m.At = func(x, y float64) float64 {
		if h, where := p.At(x, y); where == surface.On {
			return h
		}
		return math.NaN()
	}
	x, y := g.sheet.Surface.X(), g.sheet.Surface.Y()
	m.Low, m.Top = [2]float64{x[0], y[0]}, [2]float64{x[len(x)-1], y[len(y)-1]}
	for _, q := range g.points {
		if h := m.At(q.X, q.Y); h == h {
			m.Marks = append(m.Marks, report.Mark{X: q.X, Y: q.Y, OffMM: q.Z - h, Line: q.Ref})
		}
	}
	for _, b := range g.bad {
		m.Marks = append(m.Marks, report.Mark{X: b.X, Y: b.Y, OffMM: b.offMM, Line: b.Ref, Bad: true})
	}
	return m
}

// surfaceFigures is the JSON of a run.
type surfaceFigures struct {
	Touches      int                `json:"touches"`
	Points       int                `json:"points"`
	LinesIgnored int                `json:"lines_ignored"`
	LeftOut      []leftOut          `json:"left_out"`
	DriftMM      float64            `json:"drift_mm"`
	NoiseMM      float64            `json:"noise_mm"`
	Method       string             `json:"method"`
	Errors       map[string]float64 `json:"errors_mm"`
	ErrorMM      float64            `json:"error_mm"`
	ErrorKnown   bool               `json:"error_known"`
	RadiusMM     float64            `json:"radius_mm,omitempty"`
	RadiusU95MM  float64            `json:"radius_u95_mm,omitempty"`
	Taper        float64            `json:"taper,omitempty"`
	LowMM        float64            `json:"height_low_mm"`
	HighMM       float64            `json:"height_high_mm"`
	BowXMM       float64            `json:"bow_x_mm"`
	BowYMM       float64            `json:"bow_y_mm"`
	TwistMM      float64            `json:"twist_mm"`
	SaMM         float64            `json:"sa_mm"`
	SqMM         float64            `json:"sq_mm"`
	SzMM         float64            `json:"sz_mm"`
	BestFocusMM  float64            `json:"best_fixed_focus_mm"`
	MaxSlope     float64            `json:"greatest_slope"`
	Filled       int                `json:"filled"`
	MatchMM      float64            `json:"match_residual_mm,omitempty"`
}

type leftOut struct {
	Line  int     `json:"line"`
	X     float64 `json:"x_mm"`
	Y     float64 `json:"y_mm"`
	OffMM float64 `json:"off_mm"`
}

func (g *gauged) figures(text []byte) *figures {
	r := g.reading
	f := &figures{Schema: 1, Command: "surface", Version: Version, Verdict: "done", Changed: true,
		Inputs:  map[string]string{"measured": "sha256:" + r.Digest},
		Options: map[string]string{"columns": r.Columns, "units": r.Units, "heights": r.Heights, "decimal": r.Decimal}}
	f.Outputs = map[string]string{"surface": files.DigestOf(text)}
	low, high, _, _ := g.heightRange()
	flat := fit.FlatnessOf(g.points)
	v := surfaceFigures{
		Touches: len(r.Points), Points: len(g.points), LinesIgnored: r.IgnoredCount, LeftOut: []leftOut{},
		NoiseMM: g.header.NoiseMM, Method: g.choice.Name, Errors: map[string]float64{},
		ErrorMM: g.sheet.Surface.Header().ErrorMM, ErrorKnown: g.choice.ErrorKnown,
		LowMM: low, HighMM: high, BowXMM: flat.BowX, BowYMM: flat.BowY, TwistMM: flat.Twist,
		SaMM: flat.Sa, SqMM: flat.Sq, SzMM: flat.Sz, BestFocusMM: (low + high) / 2,
		MaxSlope: fit.SkinOf(g.choice.Shape, g.points).MaxSlope, Filled: len(g.sheet.Filled),
	}
	for _, b := range g.bad {
		v.LeftOut = append(v.LeftOut, leftOut{b.Ref, b.X, b.Y, b.offMM})
	}
	if g.drift != nil {
		v.DriftMM = g.drift.MM
	}
	for _, c := range g.choice.Candidates {
		if c.Why == "" {
			v.Errors[c.Name] = c.ErrorMM
		}
	}
	if g.round() {
		o := g.choice.Fitted.Round()
		v.RadiusMM, v.Taper = o.RadiusMM, o.Taper
		if !math.IsInf(o.RadiusU95MM, 0) {
			v.RadiusU95MM = o.RadiusU95MM
		}
	}
	if g.match != nil {
		v.MatchMM = g.match.ResidualMM
	}
	f.Figures = v
	return f
}
