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
	v.tell("verify", of{"Job": j, "Head": &j.Head, "Instead": nearest(r.Nearest, "", ""), "Depths": depths(j.Lenses, focus.Checking),
		"Failures": failures(name, r), "Burns": burns(r.Burns, r.BurnLengthMM, r.Lowest, r.Highest),
		"Result": r, "Name": name, "Count": r.FailureCount, "What": "every burn is in focus"})
}

// Failures lists what does not hold in a program.
func (v Voice) Failures(name string, r *verify.Result) { v.Lines(failures(name, r)) }

func failures(name string, r *verify.Result) []string {
	list := written(r.Failures)
	for k := range list {
		list[k] = name + ": " + list[k]
	}
	return listed(list, r.FailureCount)
}

// extreme writes an amount in mm with its place.
func extreme(e focus.Extreme) string { return phrase.Signed(e.MM, 3) + " mm " + place(e) }

// Set says what the check of a folder of zones found.
func (v Voice) Set(j *job.Job, dir string, r *set.Result) {
	what := "every burn once, in focus, and travels clear"
	if n := r.Unchecked(); n > 0 {
		what += fmt.Sprintf(", but for %d that could not be checked", n)
	}
	shown := min(len(r.Zones), mostZones)
	v.tell("set", of{"Job": j, "Depths": depths(j.Lenses, focus.Checking), "Failures": listed(r.Failures(dir), r.FailureCount()),
		"Zones": r.Zones[:shown], "More": len(r.Zones) - shown,
		"Result": r, "Name": dir, "Count": r.FailureCount(), "What": what})
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
	g.check(written(r.Failures))
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
