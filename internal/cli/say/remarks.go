package say

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"sagitta/internal/focus"
	"sagitta/internal/job"
	"sagitta/internal/machine"
	"sagitta/internal/phrase"
	"sagitta/internal/program"
	"sagitta/internal/stream"
	"sagitta/internal/verify"
	"sagitta/internal/verify/set"
)

// remarks name each thing that is remarkable of a program once, in order of lines.
func remarks(r *stream.Remarks) []string {
	type remark struct {
		line int
		text string
	}
	var all []remark
	say := func(line int, format string, args ...any) {
		all = append(all, remark{line, fmt.Sprintf(format, args...)})
	}
	frame(&r.Frame, say)
	for kind, t := range r.Lapses {
		if t.Count > 0 {
			say(t.Line, "%s", t.Says(program.Lapse(kind)))
		}
	}
	for _, n := range r.Unknown {
		say(n.Place.Line, "line %d: M%d is unknown; it counts as without effect on motion and beam", n.Place.Line, n.M)
	}
	if r.Behind > 0 {
		say(r.Behind, "line %d: what stands here, behind the second \"%%\", was not read and is left out: that ends the program", r.Behind)
	}
	lit := func(t program.Tally, what string) {
		if t.Count > 0 {
			say(t.Line, "caution: line %d: the program itself %s with the beam on, %s in all", t.Line, what, phrase.Count(t.Count, "time"))
		}
	}
	lit(r.Lit.Travels, "travels")
	lit(r.Lit.Waits, "waits")
	if t := r.Lit.Strokes; t.Count > 0 {
		say(t.Line, "line %d: Z alone moves with the beam on, %s in all: a mark or a plunge in place, and it is followed as one", t.Line, phrase.Count(t.Count, "time"))
	}
	if t := r.Lit.Ends; t.Count > 0 {
		say(t.Line, "caution: line %d: the program itself ends with the beam on", t.Line)
	}
	slices.SortStableFunc(all, func(a, b remark) int { return cmp.Compare(a.line, b.line) })
	var lines []string
	for _, m := range all {
		lines = append(lines, m.text)
	}
	return lines
}

// matched says of each rule about burns what it wants and what it has matched, and of what
// none is for how much that is.
func matched(j *job.Job, all []stream.Matched) (lines []string) {
	for i := range min(len(j.Rules.Burns), len(all)-1) {
		text := j.Rules.Text(j.Lenses, i, focus.Writing)
		if m := all[i+1]; m.Burns > 0 {
			text += fmt.Sprintf("; %s, %s mm long", phrase.Count(m.Burns, "burn"), phrase.Short(m.LengthMM))
		} else {
			text += "; it is for none of the burns"
		}
		lines = append(lines, text)
	}
	if j.Rules.Burns != nil && len(all) > 0 {
		if m := all[0]; m.Burns > 0 {
			lines = append(lines, fmt.Sprintf("for %s, %s mm long, there is no rule: they are as for the whole job", phrase.Count(m.Burns, "burn"), phrase.Short(m.LengthMM)))
		}
	}
	return lines
}

// matchedFigures are the same as figures, nil where there are no rules.
func matchedFigures(j *job.Job, all []stream.Matched) (list []figures) {
	for i := range min(len(j.Rules.Burns), len(all)-1) {
		list = append(list, figures{{"rule", j.Rules.Burns[i].String()}, {"burns", all[i+1].Burns}, {"burn_length_mm", all[i+1].LengthMM}})
	}
	return list
}

// ruledIn is what was found of each rule about burns in one program.
type ruledIn struct {
	lens  *job.Lens
	zone  string // names it in a set, "" where there is no other
	found []verify.Ruled
}

// checkedBy says of each rule about burns what was found of what it is for.
func checkedBy(j *job.Job, all []verify.Ruled) []string {
	return checkedIn(j, []ruledIn{{&j.Lenses[0], "", all}})
}

// checkedSet says the same of a set of zones.
func checkedSet(j *job.Job, zones *set.Set, r *set.Result) []string {
	var all []ruledIn
	for i, z := range r.Zones {
		all = append(all, ruledIn{j.LensOf(zones.Zones[i].Lens), fmt.Sprintf("zone %d, ", i+1), z.Rules})
	}
	return checkedIn(j, all)
}

func checkedIn(j *job.Job, programs []ruledIn) (lines []string) {
	for i := range j.Rules.Burns {
		text, burns, long, worst := j.Rules.Text(j.Lenses, i, focus.Checking), 0, 0.0, -1.0
		at := ""
		for _, p := range programs {
			if i+1 >= len(p.found) || p.found[i+1].Burns == 0 {
				continue
			}
			r, depth := &p.found[i+1], j.Rules.Checked(p.lens, i, j.Defocus).Depth
			burns, long = burns+r.Burns, long+r.BurnLengthMM
			of := depth.Far
			if r.Defocus.MM < 0 {
				of = depth.Near
			}
			if part := r.Part(depth); part > worst {
				worst, at = part, fmt.Sprintf(", at worst %s of %s mm off, %s%s", phrase.Signed(r.Defocus.MM, 3), phrase.Trimmed(of-r.Less, 3), p.zone, place(r.Defocus))
			}
		}
		if burns == 0 {
			lines = append(lines, text+"; it is for none of the burns")
			continue
		}
		lines = append(lines, text+fmt.Sprintf("; %s, %s mm long", phrase.Count(burns, "burn"), phrase.Short(long))+at)
	}
	return lines
}

// ruleSentences are what is said of each rule, as sentences.
func ruleSentences(lines []string) (list []string) {
	for _, line := range lines {
		_, text, _ := strings.Cut(line, ": ")
		list = append(list, upper(text)+".")
	}
	return list
}

// checkedFigures are the same as figures, nil where there are no rules.
func checkedFigures(j *job.Job, l *job.Lens, all []verify.Ruled) (list []figures) {
	for i := range min(len(j.Rules.Burns), len(all)-1) {
		r, a := &all[i+1], j.Rules.Checked(l, i, j.Defocus)
		list = append(list, figures{{"rule", j.Rules.Burns[i].String()}, {"burns", r.Burns}, {"burn_length_mm", r.BurnLengthMM}, {"burns_out_of_focus", r.BurnsOut},
			{"greatest_defocus_mm", r.Defocus.MM}, {"greatest_defocus_line", r.Defocus.Line}, {"wanted_defocus_mm", a.Defocus},
			{"usable_near_mm", a.Near}, {"usable_far_mm", a.Far}})
	}
	return list
}

// frame says what must be true before a program runs that counts from where the head
// stands, or from another zero than the first.
func frame(f *stream.Frame, say func(line int, format string, args ...any)) {
	if f.WorkLine > 0 {
		g := f.Work.Number()
		say(f.WorkLine, "line %d: places count from the zero of G%s: that zero must be where the program's X0 Y0 lies on the stock, and it is the one to set Z by", f.WorkLine, g)
	}
	if f.Stores > 0 {
		say(f.Stores, "line %d: G10 changes an offset that the controller keeps: behind it X0 Y0 must be where the program's X0 Y0 lies on the stock, and Z0 where the focus was set", f.Stores)
	}
	at := func(p machine.Point) string {
		return fmt.Sprintf("X%s Y%s Z%s", phrase.Trimmed(p.X, 3), phrase.Trimmed(p.Y, 3), phrase.Trimmed(p.Z, 3))
	}
	if f.Sets > 0 {
		where := at(f.At)
		if !f.OfXY {
			where = "Z" + phrase.Trimmed(f.At.Z, 3)
		}
		say(f.Sets, "line %d: G92 counts from where the head stands: bring it to %s first, where it is taken to stand (--start, --start-z)", f.Sets, where)
	}
	switch {
	case f.Begins == 0:
	case f.Assumed:
		say(f.Begins, "assumed: line %d: the program begins in G91, with the head at %s of it: bring it there first, or say where it stands (--start X,Y)", f.Begins, at(f.From))
	default:
		say(f.Begins, "line %d: the program begins in G91: bring the head to %s of it first", f.Begins, at(f.From))
	}
}
