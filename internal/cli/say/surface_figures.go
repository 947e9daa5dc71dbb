package say

import (
	"math"

	"sagitta/internal/fit"
)

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

// SurfaceFigures are the figures of a surface that was made, digest being that
// of its file.
func SurfaceFigures(version string, m *fit.Measured, digest string) *Figures {
	r := m.Reading
	low, high, _, _ := m.Range()
	flat := fit.FlatnessOf(m.Points)
	f := surfaceFigures{
		Touches: len(r.Points), Points: len(m.Points), LinesIgnored: r.IgnoredCount, LeftOut: []leftOut{},
		NoiseMM: m.Header.NoiseMM, Method: m.Choice.Name, Errors: map[string]float64{},
		ErrorMM: m.Written.Surface.Header().ErrorMM, ErrorKnown: m.Choice.ErrorKnown,
		LowMM: low, HighMM: high, BowXMM: flat.BowX, BowYMM: flat.BowY, TwistMM: flat.Twist,
		SaMM: flat.Sa, SqMM: flat.Sq, SzMM: flat.Sz, BestFocusMM: (low + high) / 2,
		MaxSlope: fit.SkinOf(m.Choice.Shape, m.Points).MaxSlope, Filled: len(m.Written.Filled),
	}
	for _, b := range m.LeftOut {
		f.LeftOut = append(f.LeftOut, leftOut{b.Ref, b.X, b.Y, b.OffMM})
	}
	if m.Drift != nil {
		f.DriftMM = m.Drift.MM
	}
	for _, c := range m.Choice.Candidates {
		if c.Why == "" {
			f.Errors[c.Name] = c.ErrorMM
		}
	}
	if o := m.Round(); o != nil {
		f.RadiusMM, f.Taper = o.RadiusMM, o.Taper
		if !math.IsInf(o.RadiusU95MM, 0) {
			f.RadiusU95MM = o.RadiusU95MM
		}
	}
	if m.Match != nil {
		f.MatchMM = m.Match.ResidualMM
	}
	return &Figures{Schema: 1, Command: "surface", Version: version, Verdict: "done", Changed: true,
		Inputs:  map[string]string{"measured": "sha256:" + r.Digest},
		Outputs: map[string]string{"surface": digest},
		Options: map[string]string{"columns": r.Columns, "units": r.Units, "heights": r.Heights, "decimal": r.Decimal},
		Figures: f}
}
