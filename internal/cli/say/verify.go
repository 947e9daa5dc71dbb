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
	v.head(&j.Head, nearest(r.Nearest, "", ""))
	v.depths(j, focus.Checking)
	v.Lines(r.Notes)
	v.Failures(name, r)
	if r.Burns > 0 {
		v.burns(r.Burns, r.BurnLengthMM, r.Lowest, r.Highest)
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
func extreme(e focus.Extreme) string { return phrase.Signed(e.MM, 3) + " mm " + place(e) }

// Set says what the check of a folder of zones found.
func (v Voice) Set(j *job.Job, dir string, r *set.Result) {
	v.noProfile(j)
	v.depths(j, focus.Checking)
	v.listed(r.Failures(dir), r.FailureCount())
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

func verified(j *job.Job, l *job.Lens, r *verify.Result) figures {
	return append(figures{
		{"blocks", r.Blocks},
		{"burns", r.Burns},
		{"travels", r.Travels},
		{"burn_length_mm", r.BurnLengthMM},
		{"burns_outside", r.EdgeBurns},
		{"greatest_defocus_mm", r.Defocus.MM},
		{"greatest_defocus_line", r.Defocus.Line},
		{"height_low_mm", r.Lowest.MM},
		{"height_high_mm", r.Highest.MM},
		{"z_low_mm", r.ZMinMM},
		{"z_high_mm", r.ZMaxMM},
		{"z_travel_mm", r.ZTravelMM},
		{"z_peak_rate_mm_min", r.PeakZRate},
		{"z_speed_change_mm_min", r.ZSpeedStep},
		{"seconds", r.Seconds},
		{"failure_count", r.FailureCount},
		{"usable_near_mm", l.Checking.Near},
		{"usable_far_mm", l.Checking.Far},
	}, headFigures(j.HeadOf(l) != nil, r.Nearest)...)
}

// Verify are the figures of the check of a program.
func (g *Figures) Verify(j *job.Job, r *verify.Result) {
	g.check(texts(r.Failures))
	g.Notes, g.Figures = r.Notes, verified(j, &j.Lenses[0], r)
}

// Set are the figures of the check of a folder of zones.
func (g *Figures) Set(j *job.Job, zones *set.Set, r *set.Result) {
	g.check(r.Failures(""))
	var each []figures
	for i, z := range r.Zones {
		each = append(each, verified(j, j.LensOf(zones.Zones[i].Lens), z))
	}
	g.Figures = figures{
		{"burns", r.Burns},
		{"burn_length_mm", r.BurnLengthMM},
		{"failure_count", r.FailureCount()},
		{"zones", each},
	}
}
