package say

import (
	"fmt"
	"math"
	"slices"

	"sagitta/internal/focus"
	"sagitta/internal/job"
	"sagitta/internal/machine"
	"sagitta/internal/phrase"
	"sagitta/internal/record"
	"sagitta/internal/setup"
	"sagitta/internal/verify"
	"sagitta/internal/verify/set"
)

// Checked says what was found.
func (v Voice) Checked(c *Check) {
	if c.Zones != nil {
		v.Set(c.Job, c.Name, c.Zones, c.Set, c.Original, c.Instead)
	} else {
		v.Verify(c.Job, c.Name, c.Program, c.Setting)
	}
}

// Verify says what the check of a program found, and where the focus is set for it.
func (v Voice) Verify(j *job.Job, name string, r *verify.Result, set setup.Setting) {
	left := unchecked(j, r.Unchecked)
	with := of{"Job": j, "Setting": set.Text(), "Head": &j.Head, "Instead": nearest(r.Nearest, "", ""), "Depths": depths(j.Lenses, focus.Checking),
		"Failures": failures(name, r), "Burns": burns(r.Burns, r.BurnLengthMM, r.Lowest, r.Highest),
		"Result": r, "Name": name, "Count": r.FailureCount,
		"What": "every burn is in focus" + condition(j, r.Defocus.MM, r.Allowed, r.Less, "the focus is set as said", left)}
	v.tell("verify", with)
	v.verdict(r.Holds(), left, with)
}

// condition says how much of the depth is used, which is so much less there, and under
// what a verdict holds.
func condition(j *job.Job, worst float64, depth focus.Depth, less float64, set string, unchecked []string) string {
	of := depth.Far
	if worst < 0 {
		of = depth.Near
	}
	return fmt.Sprintf(", at worst %.2f of %.2f mm, if %s", math.Abs(worst), of-less, set) + under(j, unchecked)
}

// under says what a verdict rests on, and what it does not cover.
func under(j *job.Job, unchecked []string) (text string) {
	for i := range j.Lenses {
		if l := &j.Lenses[i]; l.Doubted() {
			text += "; taken as " + l.Taken()
		}
	}
	return text + butFor(unchecked)
}

// butFor says what a verdict does not cover, "" where it covers all.
func butFor(unchecked []string) string {
	if len(unchecked) == 0 {
		return ""
	}
	named := slices.Clone(unchecked)
	if named[0] == headItself {
		named[0] += " (not known)"
	}
	return "; not checked: " + phrase.List(named)
}

// setting says where and how the focus is set for a program that writes its heights into
// Z, of which first is where the first burn begins.
func setting(j *job.Job, first *machine.Point) string {
	at := job.Setup{Job: j}.Setting(first)
	return at.Text()
}

const headItself = "head"

// notKnown names what is not known of what is to be clear; of travels how many there
// are of which the way is not.
func notKnown(j *job.Job, travels int) (list []string) {
	if slices.ContainsFunc(j.Lenses, func(l job.Lens) bool { return j.HeadOf(&l) == nil }) {
		list = append(list, headItself)
	}
	return waysOf(list, travels)
}

func waysOf(list []string, travels int) []string {
	if travels > 0 {
		list = append(list, "the way of "+phrase.Count(travels, "travel"))
	}
	return list
}

// unchecked names what a check did not look at, for want of what it takes; of
// travels how many.
func unchecked(j *job.Job, travels int) (list []string) {
	m := j.Machine
	list = notKnown(j, 0)
	if m.ZRateMMMin == nil && m.ZMoves != record.ZByHand {
		list = append(list, "Z rate")
	}
	if m.ZMinMM == nil && m.ZMaxMM == nil && m.ZMoves != record.ZByHand {
		list = append(list, "Z range")
	}
	return waysOf(list, travels)
}

// Failures lists what does not hold in a program.
func (v Voice) Failures(name string, r *verify.Result) { v.Lines(failures(name, r)) }

func failures(name string, r *verify.Result) []string {
	list := written(r.Failures)
	for k := range list {
		list[k] = name + ": " + list[k]
	}
	return append(listed(list, r.FailureCount-r.Like), r.Hints...)
}

// extreme writes an amount in mm with its place.
func extreme(e focus.Extreme) string { return phrase.Signed(e.MM, 3) + " mm " + place(e) }

// Set says what the check of a folder of zones found, against what original, and
// what was given instead of what the folder holds.
func (v Voice) Set(j *job.Job, dir string, zones *set.Set, r *set.Result, original string, instead []string) {
	shown := min(len(r.Zones), mostZones)
	left := unchecked(j, r.Unchecked())
	with := of{"Job": j, "Depths": depths(j.Lenses, focus.Checking), "Failures": listed(r.Failures(dir), r.FailureCount()),
		"Zones": r.Zones[:shown], "More": len(r.Zones) - shown,
		"Result": r, "Listed": zones, "Name": dir, "Count": r.FailureCount(), "Original": original, "Instead": instead,
		"What": heldZones(j, zones, r, left)}
	v.tell("set", with)
	v.verdict(r.Holds(), left, with)
}

// heldZones says what is held by a set of zones that proves, and what left was not checked.
func heldZones(j *job.Job, zones *set.Set, r *set.Result, left []string) string {
	worst, less, depth := worstOf(j, zones, r)
	return "every burn once, in focus, and travels clear" + condition(j, worst, depth, less, "each lens is set as on the sheet", left)
}

// worstOf is the greatest defocus of a set, by how much the depth is less there, and the
// depth.
func worstOf(j *job.Job, zones *set.Set, r *set.Result) (worst, less float64, depth focus.Depth) {
	depth = focus.Depth{Near: 1, Far: 1}
	// What heights are less sure by is spent of the depth as well.
	spent := func(mm, less float64, d focus.Depth) float64 { return max((less-mm)/d.Near, (less+mm)/d.Far) }
	for _, z := range r.Zones {
		d := z.Allowed
		if spent(z.Defocus.MM, z.Less, d) >= spent(worst, less, depth) {
			worst, less, depth = z.Defocus.MM, z.Less, d
		}
	}
	return worst, less, depth
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
		{"greatest_defocus_less_mm?", r.Less},
		{"height_low_mm", r.Lowest.MM},
		{"height_high_mm", r.Highest.MM},
		{"z_low_mm", r.ZMinMM},
		{"z_high_mm", r.ZMaxMM},
		{"z_travel_mm", r.ZTravelMM},
		{"z_peak_rate_mm_min", r.PeakZRate},
		{"z_speed_change_mm_min", r.ZSpeedStep},
		{"seconds_original?", r.SecondsOriginal},
		{"seconds", r.Seconds},
		{"failure_count", r.FailureCount},
		{"usable_near_mm", l.Checking.Near},
		{"usable_far_mm", l.Checking.Far},
		{"usable_less_mm?", l.Budget.MostLess()},
		{"rules?", checkedFigures(j, l, r.Rules)},
	}, headFigures(j.HeadOf(l) != nil, r.Nearest)...)
}

// Verify are the figures of the check of a program; t has its times where inertia is known,
// else nil.
func (g *Figures) Verify(j *job.Job, r *verify.Result, t *Timing) {
	g.check(written(r.Failures))
	g.Notes, g.Unchecked, g.Figures = r.Notes, unchecked(j, r.Unchecked), append(verified(j, &j.Lenses[0], r), t.figures()...)
}

// Set are the figures of the check of a folder of zones.
func (g *Figures) Set(j *job.Job, zones *set.Set, r *set.Result) {
	g.check(r.Failures(""))
	g.Notes, g.Unchecked, g.Figures = r.Whole.Notes, unchecked(j, r.Unchecked()), setFigures(j, zones, r)
}

// setFigures are what a check found of a set.
func setFigures(j *job.Job, zones *set.Set, r *set.Result) figures {
	var each []figures
	for i, z := range r.Zones {
		each = append(each, verified(j, j.LensOf(zones.Zones[i].Lens), z))
	}
	return figures{
		{"burns", r.Burns},
		{"burn_length_mm", r.BurnLengthMM},
		{"failure_count", r.FailureCount()},
		{"zones", each},
	}
}
