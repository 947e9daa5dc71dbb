package cli

import (
	"encoding/json"
	"math"

	"github.com/spf13/pflag"

	"sagitta/internal/cli/files"
	"sagitta/internal/follow"
)

// figures is the JSON of a run. A field's name carries its unit.
type figures struct {
	Schema  int               `json:"schema"`
	Command string            `json:"command"`
	Version string            `json:"version"`
	Verdict string            `json:"verdict"`
	Changed bool              `json:"changed"`
	Inputs  map[string]string `json:"inputs"`
	Outputs map[string]string `json:"outputs,omitempty"`
	Options map[string]string `json:"options"`
	Figures any               `json:"figures"`
	Fails   []string          `json:"failures,omitempty"`
	Notes   []string          `json:"notes,omitempty"`
}

type followFigures struct {
	Blocks          int     `json:"blocks"`
	LinesChanged    int     `json:"lines_changed"`
	LinesAdded      int     `json:"lines_added"`
	PointsAdded     int     `json:"points_added"`
	BytesIn         int64   `json:"bytes_in"`
	BytesOut        int64   `json:"bytes_out"`
	BytesGrown      int64   `json:"bytes_grown"`
	LinesPerS       float64 `json:"lines_per_s"`
	LinesPerSLine   int     `json:"lines_per_s_line"`
	Burns           int     `json:"burns"`
	BurnLengthMM    float64 `json:"burn_length_mm"`
	HeightLowMM     float64 `json:"height_low_mm"`
	HeightHighMM    float64 `json:"height_high_mm"`
	HeightHighXMM   float64 `json:"height_high_x_mm"`
	HeightHighYMM   float64 `json:"height_high_y_mm"`
	HeightHighLine  int     `json:"height_high_line"`
	BurnsOutside    int     `json:"burns_outside"`
	ZLowMM          float64 `json:"z_low_mm"`
	ZHighMM         float64 `json:"z_high_mm"`
	ZTravelMM       float64 `json:"z_travel_mm"`
	ZPeakRateMMMin  float64 `json:"z_peak_rate_mm_min"`
	FeedsLowered    int     `json:"feeds_lowered"`
	FeedsRaised     int     `json:"feeds_raised"`
	SecondsBefore   float64 `json:"seconds_before"`
	Seconds         float64 `json:"seconds"`
	DepthNearMM     float64 `json:"usable_near_mm"`
	DepthFarMM      float64 `json:"usable_far_mm"`
	EndsAboveRestMM float64 `json:"ends_above_rest_mm"`
	headFigures
}

// headFigures tell whether the clearance of the head was part of the run, and
// how near the axis comes to the surface under the beam against best focus,
// minus nearer.
type headFigures struct {
	HeadChecked   bool    `json:"head_clearance_checked"`
	NearestMM     float64 `json:"nearest_axis_mm"`
	NearestXMM    float64 `json:"nearest_axis_x_mm"`
	NearestYMM    float64 `json:"nearest_axis_y_mm"`
	NearestAtLine int     `json:"nearest_axis_line"`
}

func (s *session) writeFollowFigures(l *loaded, name string, opt follow.Options, f *follow.Summary, err error, in *files.Input, out *files.Output) error {
	if l.o.summary == "" {
		return nil
	}
	g := l.figures("follow", name, in.Sum())
	g.Changed = f.Changed+f.Added > 0
	switch e := err.(type) {
	case nil:
		g.Verdict = "followed"
		if !g.Changed {
			g.Verdict = "flat"
		}
		g.Outputs = map[string]string{"program": out.Sum()}
	case *follow.UnmetError:
		g.Verdict = "refused"
		for _, x := range e.Failures {
			g.Fails = append(g.Fails, x.String())
		}
	default:
		return nil // the program could not be read: there are no figures
	}
	if math.IsInf(f.Nearest, 0) {
		f.Nearest = 0 // nothing was planned
	}
	if f.Burns == 0 {
		f.Low, f.High, f.Nearest = 0, 0, 0
	}
	for _, n := range f.Notes {
		g.Notes = append(g.Notes, unknownM(n))
	}
	g.Figures = followFigures{
		f.Blocks, f.Changed, f.Added, f.Points, f.BytesIn, f.BytesOut,
		f.BytesOut - f.BytesIn, f.LinesPerS, f.LinesPerSLine, f.Burns, f.BurnLength,
		f.Low, f.High, f.HighX, f.HighY, f.HighLine, f.Outside, f.ZLow, f.ZHigh, f.ZTravel, f.PeakRate,
		f.Lowered, f.Raised, f.Seconds, f.SecondsOut, opt.Depth.Near, opt.Depth.Far, f.EndAbove,
		headFigures{l.head != nil, f.Nearest, f.NearestX, f.NearestY, f.NearestLine},
	}
	return s.writeFigures(l.o.summary, g)
}

func (s *session) writeFigures(name string, g *figures) error {
	out, err := s.files.Create(name)
	if err != nil {
		return err
	}
	e := json.NewEncoder(out)
	e.SetIndent("", "  ")
	if err := e.Encode(g); err != nil {
		return err
	}
	return out.Commit()
}

// figures fills in what every command's figures have.
func (l *loaded) figures(command, program, digest string) *figures {
	g := &figures{Schema: 1, Command: command, Version: Version,
		Inputs:  map[string]string{"program": digest, "surface": "sha256:" + l.placed.Surface().Digest()},
		Options: map[string]string{}}
	l.o.flags.VisitAll(func(f *pflag.Flag) {
		g.Options[f.Name] = f.Value.String()
	})
	g.Options["method"] = l.method()
	g.Options["program"] = program
	if r := l.machine.ZRateMMMin; r != nil {
		g.Options["z-rate"] = number(*r)
	}
	g.Options["rapid"] = number(l.machine.RapidMMMin)
	return g
}

func number(v float64) string {
	b, _ := json.Marshal(math.Round(v*1e9) / 1e9)
	return string(b)
}
