package say

import (
	"fmt"
	"math"

	"sagitta/internal/focus"
	"sagitta/internal/follow"
	"sagitta/internal/job"
	"sagitta/internal/phrase"
	"sagitta/internal/stream"
)

// Follow says what following did, what was written being called name; t has its times where
// inertia is known, else nil.
func (v Voice) Follow(j *job.Job, f *follow.Summary, name string, t *Timing) {
	most := j.Machine.LinesPerS
	v.tell("follow", of{"Job": j, "Setting": setting(j, f.First), "Head": &j.Head, "Instead": nearest(f.Nearest, "at most ", "at least "),
		"Depths": depths(j.Lenses, focus.Writing), "Burns": burns(f.Burns, f.BurnLength, f.Low, f.High),
		"Run": f, "Changed": f.Changed+f.Added > 0, "Timing": t.Lines(name), "TooMany": most != nil && f.LinesPerS > *most,
		"NotChecked": under(j, notKnown(j, f.Unchecked))})
}

// closed says what becomes of burns that close on themselves, if there are any.
func closed(h *job.Head, c stream.Closed) []string {
	if c.Count == 0 {
		return nil
	}
	what := fmt.Sprintf("%s closed on %s, the first at line %d: ", phrase.Count(c.Count, "burn"), map[bool]string{true: "itself", false: "themselves"}[c.Count == 1], c.Line)
	if h.FreedMM > 0 && h.Known != nil {
		from := "from there on the piece counts as free, and as standing up by %s mm"
		if h.Pieces != nil {
			from = "each counts from the beginning as a piece that stands up by %s mm"
		}
		return []string{what + fmt.Sprintf(from, phrase.Short(h.FreedMM))}
	}
	return []string{what + "a piece that is cut free may stand up, and nothing is kept clear of it"}
}

// Follow are the figures of following, digest being that of what was written; t as in
// Voice.Follow.
func (g *Figures) Follow(j *job.Job, f *follow.Summary, t *Timing, digest string) {
	g.Changed = f.Changed+f.Added > 0
	if g.Verdict != Refused {
		g.Verdict = "flat"
		if g.Changed {
			g.Verdict = "followed"
		}
		g.Outputs = map[string]string{"program": digest}
	}
	low, high, near := f.Low.MM, f.High.MM, f.Nearest
	if math.IsInf(near.MM, 0) { // nothing was planned
		near.MM = 0
	}
	if f.Burns == 0 {
		low, high, near.MM = 0, 0, 0
	}
	g.Unchecked = notKnown(j, f.Unchecked)
	g.Notes = remarks(&f.Remarks)
	depth := j.Lenses[0].Writing
	g.Figures = append(figures{
		{"blocks", f.Blocks},
		{"lines_changed", f.Changed},
		{"lines_added", f.Added},
		{"points_added", f.Points},
		{"bytes_in", f.BytesIn},
		{"bytes_out", f.BytesOut},
		{"bytes_grown", f.BytesOut - f.BytesIn},
		{"lines_per_s", f.LinesPerS},
		{"lines_per_s_line", f.LinesPerSLine},
		{"burns", f.Burns},
		{"burn_length_mm", f.BurnLength},
		{"height_low_mm", low},
		{"height_high_mm", high},
		{"height_high_x_mm", f.High.X},
		{"height_high_y_mm", f.High.Y},
		{"height_high_line", f.High.Line},
		{"burns_outside", f.Outside},
		{"burns_closed", f.Closed.Count},
		{"z_low_mm", f.ZLow},
		{"z_high_mm", f.ZHigh},
		{"z_travel_mm", f.ZTravel},
		{"z_peak_rate_mm_min", f.PeakRate},
		{"feeds_lowered", f.Lowered},
		{"feeds_raised", f.Raised},
		{"burns_slowed", f.Slowed},
		{"burns_slowed_most_pct", 100 * f.SlowedBy},
		{"seconds_original", f.Seconds},
		{"seconds", f.SecondsOut},
		{"usable_near_mm", depth.Near},
		{"usable_far_mm", depth.Far},
		{"usable_less_mm?", j.Lenses[0].Budget.MostLess()},
		{"ends_above_rest_mm", f.EndAbove},
		{"rules?", matchedFigures(j, f.Rules)},
	}, append(headFigures(j.Known != nil, near), t.figures()...)...)
}
