package say

import (
	"sagitta/internal/advise"
	"sagitta/internal/diag"
	"sagitta/internal/record"
)

type adviseFigures struct {
	Lenses        []string       `json:"lenses"`
	Reason        string         `json:"reason"`
	FocusMM       *float64       `json:"focus_mm,omitempty"`
	FocusPointMM  *[2]float64    `json:"focus_point_mm,omitempty"`
	Zones         int            `json:"zones"`
	AssumedFreeZ  bool           `json:"assumed_free_z"`
	DetailMM      float64        `json:"detail_mm"`
	DetailFrom    string         `json:"detail_from"`
	DetailGuessed bool           `json:"detail_guessed"`
	Burns         int            `json:"burns"`
	BurnLengthMM  float64        `json:"burn_length_mm"`
	Seconds       float64        `json:"seconds"`
	HeightLowMM   float64        `json:"height_low_mm"`
	HeightHighMM  float64        `json:"height_high_mm"`
	SteepestDeg   float64        `json:"steepest_deg"`
	SteepLengthMM float64        `json:"steep_length_mm"`
	SpotStretch   float64        `json:"spot_stretch"`
	ZonesTogether int            `json:"zones_together,omitempty"`
	Cheap         []cheapFigures `json:"cheap"`
	Table         []lensFigures  `json:"table"`
	Commands      []string       `json:"commands"`
}

type cheapFigures struct {
	Kind  string  `json:"kind"`
	Lens  string  `json:"lens,omitempty"`
	Value float64 `json:"value"`
	What  string  `json:"what"`
}

type lensFigures struct {
	Lens         string      `json:"lens"`
	Out          string      `json:"out,omitempty"`
	Doubt        string      `json:"doubt,omitempty"`
	DetailMM     float64     `json:"smallest_detail_mm,omitempty"`
	MarksDetail  string      `json:"marks_detail"`
	DepthNearMM  float64     `json:"usable_near_mm"`
	DepthFarMM   float64     `json:"usable_far_mm"`
	Flat         bool        `json:"flat"`
	FocusMM      float64     `json:"focus_mm"`
	FlatPart     float64     `json:"flat_part_of_depth"`
	FlatOverMM   float64     `json:"flat_over_mm"`
	FlatTravelMM float64     `json:"flat_travel_mm"`
	Follow       *wayFigures `json:"follow,omitempty"`
	BeamOff      *wayFigures `json:"beam_off,omitempty"`
	Zones        int         `json:"zones"`
	NoZones      string      `json:"no_zones,omitempty"`
}

type wayFigures struct {
	Possible      bool    `json:"possible"`
	Why           string  `json:"why,omitempty"`
	Failures      int     `json:"failure_count"`
	NearMM        float64 `json:"defocus_near_mm"`
	FarMM         float64 `json:"defocus_far_mm"`
	Part          float64 `json:"part_of_depth"`
	Reversals     int     `json:"z_reversals"`
	TravelMM      float64 `json:"z_travel_mm"`
	PeakRateMMMin float64 `json:"z_peak_rate_mm_min"`
	Slower        int     `json:"burns_slowed"`
	LongerS       float64 `json:"longer_seconds"`
	EnoughMMMin   float64 `json:"z_rate_enough_mm_min,omitempty"`
}

// Advise are the figures of an answer; refusal, where not nil, is why no lens
// can help.
func (g *Figures) Advise(a *Advice, refusal diag.Refusal) {
	if refusal != nil {
		g.Verdict, g.Fails = string(advise.None), refusal.Reasons()
		return
	}
	j := a.Job
	g.Verdict = string(a.Verdict)
	f := adviseFigures{
		Lenses: []string{}, Reason: a.Reason, Zones: a.Zones, AssumedFreeZ: !a.With.Profiled,
		DetailMM: a.Detail.MM, DetailFrom: a.Detail.From, DetailGuessed: a.Detail.Guessed,
		Burns: j.Burns, BurnLengthMM: j.BurnLength, Seconds: j.Seconds, HeightLowMM: j.Low.MM, HeightHighMM: j.High.MM,
		SteepestDeg: j.Degrees, SteepLengthMM: j.SteepLength, SpotStretch: advise.Stretch(j.Degrees),
		ZonesTogether: a.Together, Cheap: []cheapFigures{}, Commands: a.Commands(),
	}
	for _, i := range a.Lenses {
		f.Lenses = append(f.Lenses, a.Answers[i].Name)
	}
	if a.Verdict == advise.Flat {
		f.FocusMM, f.FocusPointMM = &a.Answers[a.Lenses[0]].Flat.Focus, &[2]float64{a.Point.X, a.Point.Y}
	}
	for _, c := range a.Cheap {
		n := cheapFigures{Kind: c.Kind, Value: c.Value, What: c.What}
		if c.Lens >= 0 {
			n.Lens = a.Answers[c.Lens].Name
		}
		f.Cheap = append(f.Cheap, n)
	}
	for i := range a.Answers {
		f.Table = append(f.Table, a.lensFigures(&a.Answers[i]))
	}
	if a.Verdict == advise.None {
		g.Fails = append(g.Fails, a.Reason)
	}
	if !a.With.Profiled {
		g.Notes = append(g.Notes, "assumed: no machine profile, Z free to move while burning")
	}
	g.Figures = f
}

func (a *Advice) lensFigures(x *advise.Answer) lensFigures {
	n := lensFigures{Lens: x.Name, Out: x.Out, Doubt: x.Doubt, DetailMM: x.DetailMM, MarksDetail: a.marks(x),
		DepthNearMM: x.Depth.Near, DepthFarMM: x.Depth.Far, Zones: x.Zones, NoZones: x.NoZones}
	if x.Out == "" {
		n.Flat, n.FocusMM, n.FlatPart = x.Flat.OK, x.Flat.Focus, x.Flat.Part
		n.FlatOverMM, n.FlatTravelMM = x.Flat.Over, x.Flat.Travel
		n.Follow, n.BeamOff = way(x.Follow), way(x.BeamOff)
	}
	if a.With.Machine.ZMoves == record.ZBeamOff {
		n.Follow = nil
	}
	return n
}

func way(x *advise.FollowAnswer) *wayFigures {
	if x == nil {
		return nil
	}
	return &wayFigures{x.OK, x.Why, x.Count, x.Near, x.Far, x.Part, x.Reversals, x.ZTravel, x.PeakRate, x.Slowed, x.Longer, x.Enough}
}
