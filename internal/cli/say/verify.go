package say

import (
	"fmt"

	"sagitta/internal/focus"
	"sagitta/internal/job"
	"sagitta/internal/phrase"
	"sagitta/internal/verify"
	"sagitta/internal/verify/set"
)

// Verify says what the check of a program found.
func (v Voice) Verify(j *job.Job, name string, r *verify.Result) {
	v.noProfile(j)
	v.head(&j.Head, nearest(r.Nearest.MM, false, r.Nearest.X, r.Nearest.Y, r.Nearest.Line))
	v.depths(j, focus.Checking)
	v.Lines(r.Notes)
	v.Failures(name, r)
	if r.Burns > 0 {
		v.burns(r.Burns, r.BurnLengthMM, r.Lowest.MM, r.Highest.MM, r.Highest.X, r.Highest.Y, r.Highest.Line)
		v.Line("greatest defocus %s; Z from %s to %s mm, at most %s mm/min on a burn",
			extreme(r.Defocus), phrase.MM(r.ZMinMM), phrase.MM(r.ZMaxMM), phrase.Short(r.PeakZRate))
	}
	v.verdict(name, "every burn is in focus", r.FailureCount)
}

// Failures lists what does not hold in a program.
func (v Voice) Failures(name string, r *verify.Result) {
	v.listed(prefixed(name, texts(r.Failures)), r.FailureCount)
}

func prefixed(prefix string, list []string) []string {
	for k := range list {
		list[k] = prefix + ": " + list[k]
	}
	return list
}

func (v Voice) verdict(name, what string, failures int) {
	if failures > 0 {
		v.Line("%s: it does not hold: %s", name, phrase.Count(failures, "failure"))
		return
	}
	v.Line("%s: it holds: %s", name, what)
}

// extreme writes an amount in mm with its place.
func extreme(e verify.Extreme) string {
	return phrase.Signed(e.MM, 3) + " mm at " + phrase.XY(e.X, e.Y) + ", line " + phrase.Trimmed(float64(e.Line), 0)
}

// Set says what the check of a folder of zones found.
func (v Voice) Set(j *job.Job, dir string, r *set.Result) {
	v.noProfile(j)
	v.depths(j, focus.Checking)
	v.listed(job.SetFailures(r, dir), r.FailureCount())
	v.Line("the original has %s, %s mm long", phrase.Count(r.Burns, "burn"), phrase.Short(r.BurnLengthMM))
	for i, z := range r.Zones {
		if i == mostZones {
			v.Line("and %d more zones", len(r.Zones)-i)
			break
		}
		v.Line("zone %d: %s, %s mm long, over heights from %s to %s mm; greatest defocus %s",
			i+1, phrase.Count(z.Burns, "burn"), phrase.Short(z.BurnLengthMM), phrase.MM(z.Lowest.MM), phrase.MM(z.Highest.MM), extreme(z.Defocus))
	}
	for i, z := range r.Zones[:min(len(r.Zones), mostZones)] {
		for _, note := range z.Notes {
			v.Line("zone %d: %s", i+1, note)
		}
	}
	v.Lines(r.Whole.Notes)
	what := "every burn once, in focus, and travels clear"
	if n := r.Unchecked(); n > 0 {
		what += fmt.Sprintf(", but for %d that could not be checked", n)
	}
	v.verdict(dir, what, r.FailureCount())
}

type verifyFigures struct {
	Blocks            int     `json:"blocks"`
	Burns             int     `json:"burns"`
	Travels           int     `json:"travels"`
	BurnLengthMM      float64 `json:"burn_length_mm"`
	BurnsOutside      int     `json:"burns_outside"`
	DefocusMM         float64 `json:"greatest_defocus_mm"`
	DefocusLine       int     `json:"greatest_defocus_line"`
	HeightLowMM       float64 `json:"height_low_mm"`
	HeightHighMM      float64 `json:"height_high_mm"`
	ZLowMM            float64 `json:"z_low_mm"`
	ZHighMM           float64 `json:"z_high_mm"`
	ZTravelMM         float64 `json:"z_travel_mm"`
	ZPeakRateMMMin    float64 `json:"z_peak_rate_mm_min"`
	ZSpeedChangeMMMin float64 `json:"z_speed_change_mm_min"`
	Seconds           float64 `json:"seconds"`
	FailureCount      int     `json:"failure_count"`
	DepthNearMM       float64 `json:"usable_near_mm"`
	DepthFarMM        float64 `json:"usable_far_mm"`
	headFigures
}

func verified(j *job.Job, l *job.Lens, r *verify.Result) verifyFigures {
	return verifyFigures{r.Blocks, r.Burns, r.Travels, r.BurnLengthMM, r.EdgeBurns, r.Defocus.MM, r.Defocus.Line,
		r.Lowest.MM, r.Highest.MM, r.ZMinMM, r.ZMaxMM, r.ZTravelMM, r.PeakZRate, r.ZSpeedStep, r.Seconds,
		r.FailureCount, l.Checking.Near, l.Checking.Far,
		headFigures{j.HeadOf(l) != nil, r.Nearest.MM, r.Nearest.X, r.Nearest.Y, r.Nearest.Line}}
}

// Verify are the figures of the check of a program.
func (g *Figures) Verify(j *job.Job, r *verify.Result) {
	g.fail("holds", "fails", texts(r.Failures)...)
	g.Notes, g.Figures = r.Notes, verified(j, &j.Lenses[0], r)
}

type setFigures struct {
	Burns        int             `json:"burns"`
	BurnLengthMM float64         `json:"burn_length_mm"`
	FailureCount int             `json:"failure_count"`
	Zones        []verifyFigures `json:"zones"`
}

// Set are the figures of the check of a folder of zones.
func (g *Figures) Set(j *job.Job, zones *set.Set, r *set.Result) {
	g.fail("holds", "fails", job.SetFailures(r, "")...)
	f := setFigures{Burns: r.Burns, BurnLengthMM: r.BurnLengthMM, FailureCount: r.FailureCount()}
	for i, z := range r.Zones {
		f.Zones = append(f.Zones, verified(j, j.LensOf(zones.Zones[i].Lens), z))
	}
	g.Figures = f
}
