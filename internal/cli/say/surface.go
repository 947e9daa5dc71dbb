package say

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"sagitta/internal/fit"
	"sagitta/internal/fit/form"
	"sagitta/internal/fit/sift"
	"sagitta/internal/phrase"
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
	Flat                    form.Flatness
	Skin                    fit.Skin
}

func see(m *fit.Measured) measured {
	s := measured{Measured: m, Flat: form.FlatnessOf(m.Points), Skin: fit.SkinOf(m.Choice.Shape, m.Points)}
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
	shown := next[:min(len(next), nextShown)]
	v.tell("surface", of{"Next": shown, "NextMore": len(next) - len(shown), "NextFile": file, "Made": s, "Named": m.LeftOut[:named], "More": len(m.LeftOut) - named,
		"Reading": m.Written.ReadingMM > 0.001, "Stuck": len(points) > 2 && !slices.ContainsFunc(points, other), "TooFew": len(m.Points) < fewPoints, "SlipsMost": sift.SlipsMost,
		"Slopes":  s.Skin.MostLonger >= 0.0005 || m.Choice.Round != nil,
		"Degrees": math.Atan(s.Skin.MaxSlope) * 180 / math.Pi, "Stretch": 1 + s.Skin.MostLonger,
		"Scaled":  m.Alignment != nil && math.Abs(m.Alignment.Scale-1) > matchScale,
		"InUnits": m.Alignment != nil && math.Abs(math.Abs(math.Log(m.Alignment.Scale))-math.Log(25.4)) < matchScale,
		"Far":     s.Low*s.High > 0 && least > 5 && least > 3*(s.High-s.Low)})
}

// Tells reports whether the datum was found off at the end by what can be said.
func (s measured) Tells(d *touch.Drift) bool { return math.Abs(d.MM) >= 0.0005 }

// Contradicted reports whether others contradict a touch of a file's datum.
func (s measured) Contradicted(d *touch.Drift) bool { return d.Verdict == touch.Contradicted }

// Zero says what is made of the zero of a file; "" of the first.
func (s measured) Zero(p fit.Part) string {
	z := p.Zero
	if z == nil {
		return ""
	}
	lower, at := "lower", phrase.XY(z.At[0], z.At[1])
	if z.MM < 0 {
		lower = "higher"
	}
	moved := fmt.Sprintf("counts from a zero %s mm %s; its heights are moved by that, as ", phrase.MM(math.Abs(z.MM)), lower)
	switch z.Verdict {
	case touch.Apart:
		return "has no place in common with what was touched before: it is taken to count from the same zero"
	case touch.ByDatum:
		return moved + "both touched the datum at " + at
	case touch.ByPlaces:
		return moved + fmt.Sprintf("%s in common agree on it, from %s on", phrase.Count(z.Common, "place"), at)
	case touch.Unclear:
		return fmt.Sprintf("is %s mm off at %s in common, but neither the datum nor other places bear that out: it is taken to count from the same zero", phrase.Signed(z.MM, 3), at)
	}
	return fmt.Sprintf("counts from the same zero: it is %s mm off at %s in common, which is no more than chance", phrase.Signed(z.MM, 3), at)
}

// OtherUnit says of a touch that it would agree in the other unit than that of its file.
func (s measured) OtherUnit(b fit.LeftOut) string {
	return otherUnit(b, s.PartOf(b.Point).HeightMM() != 1)
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

// Lines names the lines that a doubt is about, the most doubted first.
func (s measured) Lines(d fit.Doubt) string {
	var lines []string
	for _, p := range d.Places {
		line := strconv.Itoa(p.Line)
		if len(s.Parts) > 1 {
			line = s.From(p)
		}
		switch {
		case p.Line == 0 || slices.Contains(lines, line):
		case len(lines) == linesShown:
			return s.lines(append(lines, "..."))
		default:
			lines = append(lines, line)
		}
	}
	return s.lines(lines)
}

// lines are put behind a doubt.
func (s measured) lines(lines []string) string {
	switch {
	case len(lines) == 0:
		return ""
	case len(s.Parts) > 1:
		return " (" + strings.Join(lines, ", ") + ")"
	case len(lines) == 1:
		return " (line " + lines[0] + ")"
	}
	return " (lines " + strings.Join(lines, ", ") + ")"
}

// touched are the figures of where a touch is from, its file where there are several.
func touched(m *fit.Measured, p surface.Point) figures {
	file, line := m.Reading.Where(p.Line)
	return figures{{"file?", file}, {"line", line}, {"x_mm", p.X}, {"y_mm", p.Y}}
}

// doubtFigures are the doubts with their places, the most doubted first.
func doubtFigures(m *fit.Measured) []figures {
	all := []figures{}
	for _, d := range m.Doubts {
		places := []figures{}
		for _, p := range d.Places {
			places = append(places, touched(m, p))
		}
		all = append(all, figures{{"what", d.What}, {"mend", d.Mend}, {"places", places}})
	}
	return all
}

// partFigures are those of the files where there are several, with the digest of each.
func partFigures(m *fit.Measured) (parts []figures, digests map[string]string) {
	digests = map[string]string{"measured": "sha256:" + m.Parts[0].Digest}
	if len(m.Parts) == 1 {
		return nil, digests
	}
	for k, p := range m.Parts {
		f := figures{{"file", p.Name}, {"touches", len(p.Points)}, {"lines_ignored", p.IgnoredCount}, {"touches_of_earlier_files?", p.Repeated}, {"drift_mm", driftOf(p)}}
		if p.Zero != nil {
			moved := 0.0
			if p.Moved() {
				moved = 0 - p.Zero.MM
			}
			f = append(f, figures{{"places_in_common", p.Zero.Common}, {"moved_mm", moved}}...)
		}
		parts = append(parts, f)
		if k > 0 {
			digests[fmt.Sprintf("measured_%d", k+1)] = "sha256:" + p.Digest
		}
	}
	return parts, digests
}

// driftOf is the drift that was taken out of a file, mm.
func driftOf(p fit.Part) float64 {
	if p.Drifted() {
		return p.Drift.MM
	}
	return 0
}

// SurfaceFigures are the figures of a surface that was made, digest being that
// of its file.
func SurfaceFigures(version string, m *fit.Measured, next []fit.Next, digest string) *Figures {
	r := m.Reading
	s := see(m)
	leftOut, errors := []figures{}, map[string]float64{}
	for _, b := range m.LeftOut {
		leftOut = append(leftOut, append(touched(m, b.Point), figure{"off_mm", b.OffMM}))
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
	parts, digests := partFigures(m)
	var drift, radius, radiusU95, taper, match float64
	for _, p := range m.Parts {
		if d := driftOf(p); math.Abs(d) > math.Abs(drift) {
			drift = d
		}
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
		{"doubts", doubtFigures(m)},
		{"next", places},
		{"files?", parts},
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
		Inputs:  digests,
		Outputs: map[string]string{"surface": digest},
		Options: map[string]string{"columns": r.Columns, "units": r.Units, "heights": r.Heights, "decimal": r.Decimal},
		Figures: f}
}
