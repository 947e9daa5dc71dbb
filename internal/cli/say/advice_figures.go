package say

import (
	"sagitta/internal/advise"
	"sagitta/internal/record"
)

// Advise are the figures of an answer; of a job that no lens can help there are
// none.
func (g *Figures) Advise(a *Advice) {
	if g.Verdict == Refused {
		g.Verdict = string(advise.None)
		return
	}
	g.Verdict, g.Unchecked = string(a.Verdict), notKnown(a.With, 0)
	if a.Verdict == advise.None {
		g.Fails = append(g.Fails, a.Reason)
	}
	if !a.With.Profiled {
		g.Notes = append(g.Notes, "assumed: no machine profile, Z free to move while burning")
	}
	g.Notes = append(g.Notes, remarks(&a.Job.Remarks)...)
	lenses := []string{}
	for _, i := range a.Lenses {
		lenses = append(lenses, a.Answers[i].Name)
	}
	var focus *float64
	var at *[2]float64
	if a.Verdict == advise.Flat {
		focus, at = &a.Answers[a.Lenses[0]].Flat.Focus, &[2]float64{a.Point.X, a.Point.Y}
	}
	cheap, table := []figures{}, []figures{}
	for _, c := range a.Cheap {
		lens := ""
		if c.Lens >= 0 {
			lens = a.Answers[c.Lens].Name
		}
		cheap = append(cheap, figures{{"kind", c.Kind}, {"lens?", lens}, {"value", c.Value}, {"what", c.What}})
	}
	for i := range a.Answers {
		table = append(table, a.lensFigures(&a.Answers[i]))
	}
	j := a.Job
	g.Figures = figures{
		{"lenses", lenses},
		{"reason", a.Reason},
		{"focus_mm?", focus},
		{"focus_point_mm?", at},
		{"zones", a.Zones},
		{"assumed_free_z", !a.With.Profiled},
		{"detail_mm", a.Detail.MM},
		{"detail_from", a.Detail.From},
		{"detail_guessed", a.Detail.Guessed},
		{"burns", j.Burns},
		{"burn_length_mm", j.BurnLength},
		{"seconds", j.Seconds},
		{"height_low_mm", j.Low.MM},
		{"height_high_mm", j.High.MM},
		{"rules?", matchedFigures(a.With, j.Rules)},
		{"steepest_deg", j.Degrees},
		{"steep_length_mm", j.SteepLength},
		{"spot_stretch", a.Stretch()},
		{"zones_together?", a.Together},
		{"cheap", cheap},
		{"table", table},
		{"commands", a.Commands()},
	}
}

func (a *Advice) lensFigures(x *advise.Answer) figures {
	follow := way(x.Follow)
	if a.With.Machine.ZMoves == record.ZBeamOff {
		follow = nil
	}
	return figures{
		{"lens", x.Name},
		{"out?", x.Out},
		{"doubt?", x.Doubt},
		{"smallest_detail_mm?", x.DetailMM},
		{"marks_detail", a.marks(x)},
		{"usable_near_mm", x.Checking.Near},
		{"usable_far_mm", x.Checking.Far},
		{"usable_less_mm?", less(x)},
		{"flat", x.Flat.OK},
		{"focus_mm", x.Flat.Focus},
		{"flat_part_of_depth", x.Flat.Part},
		{"flat_over_mm", x.Flat.Over},
		{"flat_travel_mm", x.Flat.Travel},
		{"flat_entry_mm", x.Flat.Entry},
		{"follow?", follow},
		{"beam_off?", way(x.BeamOff)},
		{"zones", x.Zones},
		{"no_zones?", x.NoZones},
	}
}

// way are the figures of following in one way, none where it was not tried.
func way(x *advise.FollowAnswer) figures {
	if x == nil {
		return nil
	}
	return figures{
		{"possible", x.OK},
		{"why?", x.Why},
		{"failure_count", x.Count},
		{"defocus_near_mm", x.Near},
		{"defocus_far_mm", x.Far},
		{"part_of_depth", x.Part},
		{"z_reversals", x.Reversals},
		{"z_travel_mm", x.ZTravel},
		{"z_peak_rate_mm_min", x.PeakRate},
		{"burns_slowed", x.Slowed},
		{"longer_seconds", x.Longer},
		{"slow_part?", x.SlowPart},
		{"slow_part_dark?", x.Dark},
		{"z_rate_enough_mm_min?", x.Enough},
		{"feed_even_mm_min?", x.EvenFeed},
	}
}
