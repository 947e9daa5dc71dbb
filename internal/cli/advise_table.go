package cli

import (
	"fmt"
	"strings"
	"unicode/utf8"

	"sagitta/internal/advise"
	"sagitta/internal/follow"
	"sagitta/internal/phrase"
)

// tableRow is a row of the table: what it tells of a lens, empty where it
// does not apply.
type tableRow struct {
	name string
	cell func(*advise.Answer) string
}

// table writes the figures, a column for each lens, in as many tables as
// keep within the columns, and below it why what fails does.
func (r *advice) table(b *strings.Builder) {
	rows := r.rows()
	label := 0
	for _, row := range rows {
		label = max(label, utf8.RuneCountInString(row.name))
	}
	answers := r.a.Answers
	for len(answers) > 0 {
		n := 0
		var widths []int
		for used := label; n < len(answers); n++ {
			w := 0
			for _, row := range rows {
				w = max(w, utf8.RuneCountInString(row.cell(&answers[n])))
			}
			if used += w + 2; n > 0 && used > columns {
				break
			}
			widths = append(widths, w)
		}
		for _, row := range rows {
			line, some := pad(row.name, label), false
			for k := range widths {
				c := row.cell(&answers[k])
				some = some || c != ""
				line += "  " + pad(c, widths[k])
			}
			if some {
				b.WriteString(strings.TrimRight(line, " ") + "\n")
			}
		}
		answers = answers[n:]
		b.WriteByte('\n')
	}
	r.notes(b)
}

func pad(s string, w int) string {
	return s + strings.Repeat(" ", max(0, w-utf8.RuneCountInString(s)))
}

// rows are those of the table.
func (r *advice) rows() []tableRow {
	in := func(f func(*advise.Answer) string) func(*advise.Answer) string {
		return func(x *advise.Answer) string {
			if x.Out != "" {
				return ""
			}
			return f(x)
		}
	}
	rows := []tableRow{
		{"lens", func(x *advise.Answer) string { return x.Name }},
		{"usable depth, mm", func(x *advise.Answer) string {
			if !(x.Depth.Near > 0) {
				return "not known"
			}
			return fmt.Sprintf("-%.3f +%.3f", x.Depth.Near, x.Depth.Far)
		}},
		{"marks the detail", r.marks},
		{"runs flat", in(func(x *advise.Answer) string { return yes(x.Flat.OK) })},
		{"  best focus over the datum, mm", in(func(x *advise.Answer) string { return signed3(x.Flat.Focus) })},
		{"  part of the depth", in(func(x *advise.Answer) string { return fmt.Sprintf("%.0f %%", 100*x.Flat.Part) })},
		{"  heights too far apart by, mm", in(func(x *advise.Answer) string { return some(x.Flat.Over, "%.3f") })},
		{"  travels too low by, mm", in(func(x *advise.Answer) string { return some(x.Flat.Travel, "%.3f") })},
	}
	all := func(x *advise.Answer) *advise.FollowAnswer { return x.Follow }
	off := func(x *advise.Answer) *advise.FollowAnswer { return x.BeamOff }
	switch r.followMoves() {
	case follow.Always:
		rows = append(rows, r.followRows("follows", all)...)
		rows = append(rows, r.followRows("follows, Z with the beam off only", off)...)
	case follow.BeamOff:
		rows = append(rows, r.followRows("follows, Z with the beam off only", off)...)
	}
	return append(rows, tableRow{"zones", in(func(x *advise.Answer) string {
		if x.Zones == 0 {
			return "none"
		}
		return fmt.Sprint(x.Zones)
	})})
}

func (r *advice) followMoves() follow.Moves { return r.l.followOptions("").ZMoves }

// followRows are those about following in one way.
func (r *advice) followRows(name string, of func(*advise.Answer) *advise.FollowAnswer) []tableRow {
	row := func(name string, failed bool, f func(*advise.FollowAnswer) string) tableRow {
		return tableRow{name, func(x *advise.Answer) string {
			if y := of(x); y != nil && (y.OK || failed) {
				return f(y)
			}
			return ""
		}}
	}
	return []tableRow{
		{name, func(x *advise.Answer) string {
			switch y := of(x); {
			case x.Out != "":
				return ""
			case y == nil:
				return "not needed"
			default:
				return yes(y.OK)
			}
		}},
		row("  part of the depth, at worst", false, func(y *advise.FollowAnswer) string { return fmt.Sprintf("%.0f %%", 100*y.Part) }),
		row("  defocus at worst, mm", false, func(y *advise.FollowAnswer) string { return fmt.Sprintf("-%.3f +%.3f", y.Near, y.Far) }),
		row("  Z reversals", false, func(y *advise.FollowAnswer) string { return fmt.Sprint(y.Reversals) }),
		row("  way of Z, mm", false, func(y *advise.FollowAnswer) string { return fmt.Sprintf("%.1f", y.Travel) }),
		row("  Z rate at most, mm/min", false, func(y *advise.FollowAnswer) string { return fmt.Sprintf("%.0f", y.Peak) }),
		row("  burns slowed down", false, func(y *advise.FollowAnswer) string { return fmt.Sprint(y.Slowed) }),
		row("  takes longer by", false, func(y *advise.FollowAnswer) string { return phrase.Clock(y.Longer) }),
		row("  Z rate that would be enough", true, func(y *advise.FollowAnswer) string { return some(y.Enough, "%.0f") }),
	}
}

// marks says whether a lens marks the detail.
func (r *advice) marks(x *advise.Answer) string {
	switch {
	case x.Out != "" && x.Depth.Near > 0:
		return "no"
	case x.Out != "":
		return ""
	case x.Doubt != "":
		return "in doubt"
	case r.a.Detail.MM > 0 && x.Assumed:
		return "yes, assumed"
	case r.a.Detail.MM == 0 || x.DetailMM == 0:
		return "not known"
	}
	return "yes"
}

// notes says why what fails does.
func (r *advice) notes(b *strings.Builder) {
	note := func(x *advise.Answer, format string, args ...any) {
		wrap(b, "", "  ", "lens "+x.Name+": "+fmt.Sprintf(format, args...))
	}
	for i := range r.a.Answers {
		x := &r.a.Answers[i]
		if x.Out != "" {
			note(x, "out: %s", x.Out)
			continue
		}
		if x.Doubt != "" {
			note(x, "put last: %s, if the guess is right", x.Doubt)
		}
		why := func(what string, f *advise.FollowAnswer) {
			if f == nil || f.OK {
				return
			}
			more := ""
			if f.Count > 1 {
				more = fmt.Sprintf(" (%d places in all)", f.Count)
			}
			note(x, "%s: %s%s", what, f.Why, more)
		}
		why("does not follow", x.Follow)
		if x.BeamOff != x.Follow {
			why("with Z moving while the beam is off only", x.BeamOff)
		}
		if x.NoZones != "" {
			note(x, "cannot be split: %s", x.NoZones)
		}
	}
	if r.a.Together > 0 {
		wrap(b, "", "  ", fmt.Sprintf("all these lenses together, each figure with the finest that is deep enough for it: %s", phrase.Count(r.a.Together, "zone")))
	}
}

func yes(ok bool) string {
	if ok {
		return "yes"
	}
	return "no"
}

// some is a figure, empty for 0.
func some(v float64, format string) string {
	if v == 0 {
		return ""
	}
	return fmt.Sprintf(format, v)
}
