package say

import (
	"cmp"
	"fmt"
	"slices"

	"sagitta/internal/focus"
	"sagitta/internal/job"
	"sagitta/internal/machine"
	"sagitta/internal/phrase"
	"sagitta/internal/program"
	"sagitta/internal/stream"
	"sagitta/internal/verify"
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

// checkedBy says of each rule about burns what was found of what it is for.
func checkedBy(j *job.Job, all []verify.Ruled) (lines []string) {
	for i := range min(len(j.Rules.Burns), len(all)-1) {
		text, r := j.Rules.Text(j.Lenses, i, focus.Checking), &all[i+1]
		if r.Burns == 0 {
			lines = append(lines, text+"; it is for none of the burns")
			continue
		}
		text += fmt.Sprintf("; %s, %s mm long", phrase.Count(r.Burns, "burn"), phrase.Short(r.BurnLengthMM))
		depth := j.Rules.Checked(&j.Lenses[0], i, j.Defocus).Depth
		of := depth.Far
		if r.Defocus.MM < 0 {
			of = depth.Near
		}
		lines = append(lines, text+fmt.Sprintf(", at worst %s of %s mm off, %s", phrase.Signed(r.Defocus.MM, 3), phrase.Trimmed(of-r.Less, 3), place(r.Defocus)))
	}
	return lines
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
