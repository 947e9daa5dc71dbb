package say

import (
	"fmt"
	"math"

	"sagitta/internal/focus"
	"sagitta/internal/follow"
	"sagitta/internal/job"
	"sagitta/internal/machine"
	"sagitta/internal/phrase"
)

// Follow says what following did.
func (v Voice) Follow(j *job.Job, f *follow.Summary) {
	v.Assumed(j)
	v.head(&j.Head, nearest(f.Nearest, "at most ", "at least "))
	v.depths(j, focus.Writing)
	v.burns(f.Burns, f.BurnLength, f.Low, f.High)
	v.offSurface(f.Outside)
	if f.Changed+f.Added == 0 {
		v.Line("nothing had to change: the program runs flat")
	} else {
		v.Line("Z written from %s to %s mm; %s changed, %d added (%s); the program grew from %d to %d bytes",
			phrase.MM(f.ZLow), phrase.MM(f.ZHigh), phrase.Count(f.Changed, "line"), f.Added, phrase.Count(f.Points, "cut"), f.BytesIn, f.BytesOut)
	}
	v.lines(j, f)
	if f.Lowered+f.Raised > 0 {
		v.Line("feed lowered on %s, raised on %s to keep the speed over XY; the program takes %s instead of %s",
			phrase.Count(f.Lowered, "move"), phrase.Count(f.Raised, "move"), phrase.Clock(f.SecondsOut), phrase.Clock(f.Seconds))
	}
	if f.ShortWindow > 0 {
		v.Line("from line %d on less was looked ahead at than the rate of Z asks for; the path stays in focus, but may ask more of Z than the least", f.ShortWindow)
	}
	if f.EndAbove > 0 {
		v.Line("Z ends %s mm off the rest height: the stock, or a beam that is still on, is in the way", phrase.MM(f.EndAbove))
		if f.Relative {
			v.Line("in G91 the next run would begin that much higher: set the focus anew before it")
		}
	}
	v.datum(j)
}

// lines says what the lines ask of the controller.
func (v Voice) lines(j *job.Job, f *follow.Summary) {
	v.Line("at most %.0f lines within a second, about line %d", f.LinesPerS, f.LinesPerSLine)
	if most := j.Machine.LinesPerS; most != nil && f.LinesPerS > *most {
		v.Line("caution: that is more than the controller takes (lines_per_s = %g); it may stutter and mark unevenly", *most)
	}
	if f.NumbersRepeat > 0 {
		v.Line("caution: line numbers repeat, the first time at line %d: lines were added where the numbers leave no room", f.NumbersRepeat)
	}
	v.Lines(unknownWords(f.Notes))
}

func unknownWords(notes []machine.Note) []string {
	var out []string
	for _, n := range notes {
		out = append(out, fmt.Sprintf("line %d: M%d is unknown; it counts as without effect on motion and beam", n.Place.Line, n.M))
	}
	return out
}

// Follow are the figures of following, digest being that of what was written.
func (g *Figures) Follow(j *job.Job, f *follow.Summary, digest string) {
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
	g.Notes = unknownWords(f.Notes)
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
		{"z_low_mm", f.ZLow},
		{"z_high_mm", f.ZHigh},
		{"z_travel_mm", f.ZTravel},
		{"z_peak_rate_mm_min", f.PeakRate},
		{"feeds_lowered", f.Lowered},
		{"feeds_raised", f.Raised},
		{"seconds_before", f.Seconds},
		{"seconds", f.SecondsOut},
		{"usable_near_mm", depth.Near},
		{"usable_far_mm", depth.Far},
		{"ends_above_rest_mm", f.EndAbove},
	}, headFigures(j.Known != nil, near)...)
}
