package say

import (
	"math"
	"slices"
	"strconv"
	"strings"

	"sagitta/internal/fit"
	"sagitta/internal/surface"
	"sagitta/internal/touch"
)

// measured is a surface that was made, and what there is to say of it.
type measured struct {
	*fit.Measured
	// Low and High are the extremes of the heights, Middle is between, and Half
	// how far they are from there.
	Low, High, Middle, Half float64
	LowAt, HighAt           [2]float64
	Flat                    fit.Flatness
	Skin                    fit.Skin
}

func see(m *fit.Measured) measured {
	s := measured{Measured: m, Flat: fit.FlatnessOf(m.Points), Skin: fit.SkinOf(m.Choice.Shape, m.Points)}
	s.Low, s.High, s.LowAt, s.HighAt = m.Range()
	s.Middle, s.Half = (s.Low+s.High)/2, (s.High-s.Low)/2
	return s
}

const (
	// matchScale is a scale that no slip of places makes: two per cent.
	matchScale = 0.02
	// fewPoints are too few to tell a bad touch from a bend.
	fewPoints = 10
)

// nextShown is how many places to touch next are listed.
const nextShown = 8

// Surface says what was made of measured heights, and what to touch next, which the file
// is for, "" for none.
func (v Voice) Surface(m *fit.Measured, next []fit.Next, file string) {
	s, points, named := see(m), m.Reading.Points, min(len(m.LeftOut), fit.MostNamed)
	other := func(p surface.Point) bool { return p.Z != points[0].Z }
	least := math.Min(math.Abs(s.Low), math.Abs(s.High))
	verdict := func(is touch.Verdict) bool { return m.Drift != nil && m.Drift.Verdict == is }
	shown := next[:min(len(next), nextShown)]
	v.tell("surface", of{"Moved": m.Drift != nil && math.Abs(m.Drift.MM) >= 0.0005, "Next": shown, "NextMore": len(next) - len(shown), "NextFile": file, "Drifted": verdict(touch.Drifted), "Contradicted": verdict(touch.Contradicted), "Made": s, "Jump": touch.MixedUnits(points), "Named": m.LeftOut[:named], "More": len(m.LeftOut) - named,
		"Reading": m.Written.ReadingMM > 0.001, "Inches": m.Reading.HeightMM() != 1, "Stuck": len(points) > 2 && !slices.ContainsFunc(points, other), "TooFew": len(m.Points) < fewPoints,
		"Slopes":  s.Skin.MostLonger >= 0.0005 || m.Choice.Round != nil,
		"Degrees": math.Atan(s.Skin.MaxSlope) * 180 / math.Pi, "Stretch": 1 + s.Skin.MostLonger,
		"Scaled":  m.Alignment != nil && math.Abs(m.Alignment.Scale-1) > matchScale,
		"InUnits": m.Alignment != nil && math.Abs(math.Abs(math.Log(m.Alignment.Scale))-math.Log(25.4)) < matchScale,
		"Far":     s.Low*s.High > 0 && least > 5 && least > 3*(s.High-s.Low)})
}

// otherUnit says of a touch, of a file whose heights are in inches or not, that it would
// agree in the other unit.
func otherUnit(b fit.LeftOut, inches bool) string {
	agrees := func(mm float64) bool {
		return math.Abs(mm-b.ExpectedMM) <= min(b.WithinMM, math.Abs(b.OffMM)/10)
	}
	switch {
	case !inches && agrees(b.Z*25.4):
		return "; as inches it would agree"
	case inches && agrees(b.Z/25.4):
		return "; read as mm in a file of inches it would agree"
	}
	return ""
}

// linesShown is how many lines of a doubt are named.
const linesShown = 6

// linesOf names the lines that a doubt is about, the most doubted first.
func linesOf(d fit.Doubt) string {
	var lines []string
	for _, p := range d.Places {
		switch line := strconv.Itoa(p.Line); {
		case p.Line == 0 || slices.Contains(lines, line):
		case len(lines) == linesShown:
			return " (lines " + strings.Join(lines, ", ") + ", ...)"
		default:
			lines = append(lines, line)
		}
	}
	switch len(lines) {
	case 0:
		return ""
	case 1:
		return " (line " + lines[0] + ")"
	}
	return " (lines " + strings.Join(lines, ", ") + ")"
}

// doubtFigures are the doubts with their places, the most doubted first.
func doubtFigures(doubts []fit.Doubt) []figures {
	all := []figures{}
	for _, d := range doubts {
		places := []figures{}
		for _, p := range d.Places {
			places = append(places, figures{{"line", p.Line}, {"x_mm", p.X}, {"y_mm", p.Y}})
		}
		all = append(all, figures{{"what", d.What}, {"mend", d.Mend}, {"places", places}})
	}
	return all
}

// SurfaceFigures are the figures of a surface that was made, digest being that
// of its file.
func SurfaceFigures(version string, m *fit.Measured, next []fit.Next, digest string) *Figures {
	r := m.Reading
	s := see(m)
	leftOut, errors := []figures{}, map[string]float64{}
	for _, b := range m.LeftOut {
		leftOut = append(leftOut, figures{{"line", b.Line}, {"x_mm", b.X}, {"y_mm", b.Y}, {"off_mm", b.OffMM}})
	}
	places := []figures{}
	for _, n := range next {
		places = append(places, figures{{"x_mm", n.At[0]}, {"y_mm", n.At[1]}, {"why", n.Why}})
	}
	for _, c := range m.Choice.Candidates {
		if c.Why == "" {
			errors[c.Name] = c.ErrorMM
		}
	}
	var drift, radius, radiusU95, taper, match float64
	if m.Drift != nil && m.Drift.Verdict == touch.Drifted {
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
		{"doubts", doubtFigures(m.Doubts)},
		{"next", places},
		{"drift_mm", drift},
		{"noise_mm", m.Header.NoiseMM},
		{"method", m.Choice.Name},
		{"errors_mm", errors},
		{"error_mm", m.Written.Surface.Header().ErrorMM},
		{"error_most_mm", m.Written.MostErrorMM},
		{"error_known", m.Choice.ErrorKnown},
		{"radius_mm?", radius},
		{"radius_u95_mm?", radiusU95},
		{"taper?", taper},
		{"height_low_mm", s.Low},
		{"height_high_mm", s.High},
		{"bow_x_mm", s.Flat.BowX},
		{"bow_y_mm", s.Flat.BowY},
		{"twist_mm", s.Flat.Twist},
		{"sa_mm", s.Flat.Sa},
		{"sq_mm", s.Flat.Sq},
		{"sz_mm", s.Flat.Sz},
		{"best_fixed_focus_mm", s.Middle},
		{"greatest_slope", s.Skin.MaxSlope},
		{"filled", len(m.Written.Filled)},
		{"match_residual_mm?", match},
	}
	return &Figures{Schema: 1, Command: "surface", Version: version, Verdict: "done", Changed: true,
		Inputs:  map[string]string{"measured": "sha256:" + r.Digest},
		Outputs: map[string]string{"surface": digest},
		Options: map[string]string{"columns": r.Columns, "units": r.Units, "heights": r.Heights, "decimal": r.Decimal},
		Figures: f}
}
