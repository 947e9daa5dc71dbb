package say

import (
	"fmt"
	"strconv"
	"strings"

	"sagitta/internal/advise"
	"sagitta/internal/phrase"
	"sagitta/internal/record"
)

// table adds the figures, a column for each lens.
func (a *Advice) table(b *strings.Builder) {
	t := &Table{Width: a.Within(columns)}
	var answers []*advise.Answer
	for i := range a.Answers {
		answers = append(answers, &a.Answers[i])
	}
	row := rowsOf(t, answers, "")
	in := func(name string, cell func(*advise.Answer) string) {
		row(name, func(x *advise.Answer) string {
			if x.Out != "" {
				return ""
			}
			return cell(x)
		})
	}
	row("lens", func(x *advise.Answer) string { return x.Name })
	row("usable depth, mm", func(x *advise.Answer) string {
		if !(x.Checking.Near > 0) {
			return unknown
		}
		return fmt.Sprintf("-%.3f +%.3f", x.Checking.Near, x.Checking.Far)
	})
	if a.With.Taken.GreatestError.MM > 0 {
		in("  where heights are least sure", func(x *advise.Answer) string { return leastSure(x.Checking, less(x)) })
	}
	row("marks the detail", a.marks)
	in("runs flat", func(x *advise.Answer) string { return phrase.Yes(x.Flat.OK) })
	in("  best focus over the datum, mm", func(x *advise.Answer) string { return phrase.Signed(x.Flat.Focus, 3) })
	in("  part of the depth", func(x *advise.Answer) string { return spent(x.Flat.Part) })
	in("  heights too far apart by, mm", func(x *advise.Answer) string { return unless0(x.Flat.Over, 3) })
	in("  travels too low by, mm", func(x *advise.Answer) string { return unless0(max(x.Flat.Travel, x.Flat.Entry), 3) })
	if m := a.With.Machine.ZMoves; m != record.ZByHand {
		if m != record.ZBeamOff {
			followRows(in, "follows", func(x *advise.Answer) *advise.FollowAnswer { return x.Follow })
		}
		followRows(in, "follows, Z with the beam off only", func(x *advise.Answer) *advise.FollowAnswer { return x.BeamOff })
	}
	in("zones", func(x *advise.Answer) string {
		if x.Zones == 0 {
			return "none"
		}
		return strconv.Itoa(x.Zones)
	})
	b.WriteString(t.String() + "\n")
}

// less is by how much the depth of a lens is less where heights are least sure.
func less(x *advise.Answer) float64 {
	if x.Surface == nil {
		return 0
	}
	return x.Surface.MostLess()
}

// followRows are the rows about following in one way.
func followRows(row func(string, func(*advise.Answer) string), name string, of func(*advise.Answer) *advise.FollowAnswer) {
	row(name, func(x *advise.Answer) string {
		if y := of(x); y != nil {
			return phrase.Yes(y.OK)
		}
		return "not needed"
	})
	some := func(name string, failed bool, cell func(*advise.FollowAnswer) string) {
		row("  "+name, func(x *advise.Answer) string {
			if y := of(x); y != nil && (y.OK || failed) {
				return cell(y)
			}
			return ""
		})
	}
	some("part of the depth, at worst", false, func(y *advise.FollowAnswer) string { return spent(y.Part) })
	some("defocus at worst, mm", false, func(y *advise.FollowAnswer) string { return fmt.Sprintf("-%.3f +%.3f", y.Near, y.Far) })
	some("Z reversals", false, func(y *advise.FollowAnswer) string { return strconv.Itoa(y.Reversals) })
	some("Z travel, mm", false, func(y *advise.FollowAnswer) string { return fmt.Sprintf("%.1f", y.ZTravel) })
	some("Z rate at most, mm/min", false, func(y *advise.FollowAnswer) string { return fmt.Sprintf("%.0f", y.PeakRate) })
	some("burns slowed down", false, func(y *advise.FollowAnswer) string { return strconv.Itoa(y.Slowed) })
	some("burned a tenth slower, % of length", false, func(y *advise.FollowAnswer) string { return unless0(100*y.SlowPart, 1) })
	some("takes longer by", false, func(y *advise.FollowAnswer) string { return phrase.Clock(y.Longer) })
	some("Z rate that would be enough", true, func(y *advise.FollowAnswer) string { return unless0(y.Enough, 0) })
	some("feed at which all burns go evenly", true, func(y *advise.FollowAnswer) string { return unless0(y.EvenFeed, 0) })
}

// unknown stands for what is not known.
const unknown = "not known"

// percent writes a part.
func percent(part float64, decimals int) string { return fmt.Sprintf("%.*f %%", decimals, 100*part) }

// spent writes a part of the depth.
func spent(part float64) string {
	if advise.Tight(part) && part <= 1 {
		return percent(part, 0) + ", tight"
	}
	return percent(part, 0)
}

// unless0 is a figure, empty for 0.
func unless0(v float64, decimals int) string {
	if v == 0 {
		return ""
	}
	return strconv.FormatFloat(v, 'f', decimals, 64)
}

// marks says whether a lens marks the detail.
func (a *Advice) marks(x *advise.Answer) string {
	switch {
	case x.Out != "" && x.Checking.Near > 0:
		return "no"
	case x.Out != "":
		return ""
	case x.Doubt != "":
		return "in doubt"
	case a.Detail.MM > 0 && x.Assumed:
		return "yes, assumed"
	case a.Detail.MM == 0 || x.DetailMM == 0:
		return unknown
	}
	return "yes"
}
