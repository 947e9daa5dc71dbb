package say

import (
	"fmt"
	"math"
	"strings"

	"sagitta/internal/advise"
	"sagitta/internal/job"
	"sagitta/internal/phrase"
	"sagitta/internal/record"
)

// Advice is an answer to be printed.
type Advice struct {
	*advise.Advice
	With    *job.Job
	Program string
	// Given are the options that other commands are to be given as well, as
	// they are typed.
	Given string
}

// columns is how wide a report may be.
const columns = 80

// Report is the answer: what is cheaper, the advice, the table.
func (a *Advice) Report() string {
	var b strings.Builder
	if len(a.Cheap) > 0 {
		b.WriteString("cheap to try first:\n")
		for _, c := range a.Cheap {
			fold(&b, "- ", "  ", c.What)
		}
		b.WriteByte('\n')
	}
	entry := func(head, format string, args ...any) {
		fold(&b, fmt.Sprintf("%-8s", head), "        ", fmt.Sprintf(format, args...))
	}
	entry("advice:", "%s", a.headline())
	entry("because", "%s", a.Reason)
	for _, c := range a.Commands() {
		b.WriteString("  " + c + "\n")
	}
	b.WriteByte('\n')
	j := a.Job
	entry("job:", "%s, %s mm long, %s; heights from %s (line %d) to %s mm (line %d)", phrase.Count(j.Burns, "burn"),
		phrase.Short(j.BurnLength), phrase.Clock(j.Seconds), phrase.MM(j.Low.MM), j.Low.Line, phrase.MM(j.High.MM), j.High.Line)
	switch d := &a.Detail; {
	case d.MM == 0:
		entry("detail:", "not known, and the program does not show it; give --detail or --text")
	case d.Guessed:
		entry("detail:", "guessed as %.2g mm, from %s; give --detail or --text to be sure", d.MM, d.From)
	default:
		entry("detail:", "%s", d.From)
	}
	switch {
	case a.ByHand():
		entry("bench:", "Z is moved by hand, so only flat and split come into question")
	case !a.With.Profiled:
		entry("bench:", "no machine profile: assumed that Z is free to move while burning")
	}
	if a.Steep() {
		entry("steep:", "%s mm of burns meet stock tilted by %d degrees or more; at most %.0f, %s, where the spot is %.2f times as long",
			phrase.Short(j.SteepLength), advise.SteepDegrees, j.Degrees, place(j.Steep), a.Stretch())
	}
	b.WriteByte('\n')
	a.table(&b)
	a.notes(&b)
	return b.String()
}

// ByHand reports whether Z is moved by hand.
func (a *Advice) ByHand() bool { return a.With.Machine.ZMoves == record.ZByHand }

// Steep reports whether stock is so steep that it is to be pointed out.
func (a *Advice) Steep() bool { return a.Job.Degrees >= advise.SteepDegrees }

// Stretch is by how much the spot is longer on the steepest stock.
func (a *Advice) Stretch() float64 { return advise.Stretch(a.Job.Degrees) }

// fold adds text in lines of the report's width.
func fold(b *strings.Builder, first, rest, text string) {
	for _, line := range phrase.Fold(text, columns, first, rest) {
		b.WriteString(line + "\n")
	}
}

// headline says the verdict with what the operator sets.
func (a *Advice) headline() string {
	var names []string
	for _, i := range a.Lenses {
		names = append(names, a.Answers[i].Name)
	}
	lenses := "lens " + phrase.List(names)
	if len(names) > 1 {
		lenses = "lenses " + phrase.List(names)
	}
	zones := phrase.Count(a.Zones, "zone")
	switch a.Verdict {
	case advise.Flat:
		return fmt.Sprintf("flat, with %s: run the program as it is, with the focus set %s, as the stock is at %s (%s mm)",
			lenses, a.focus(), phrase.XY(a.Point.X, a.Point.Y), phrase.Signed(a.Point.Height, 3))
	case advise.Follow:
		return "follow the surface, with " + lenses
	case advise.Split:
		return fmt.Sprintf("split into %s, with %s", zones, lenses)
	case advise.Mixed:
		return fmt.Sprintf("split into %s and follow within each, with %s", zones, lenses)
	}
	return "none of these lenses can do it"
}

// focus says where the focus is set for a flat run.
func (a *Advice) focus() string {
	mm := a.Answers[a.Lenses[0]].Flat.Focus
	s := phrase.Signed(mm, 3) + " mm over the datum"
	if step := a.With.Machine.ZStepMM; step != nil {
		s += fmt.Sprintf(" (%s steps of %g mm)", phrase.Signed(math.Round(mm / *step), 0), *step)
	}
	return s
}

// Commands are what to run next.
func (a *Advice) Commands() []string {
	if a.Verdict == advise.None {
		return nil
	}
	base := strings.TrimSuffix(a.Program, ".gcode")
	if a.Program == "-" {
		base = "job"
	}
	with := " " + Quote(a.Program) + " " + Option("-s", a.With.Surface)
	for _, i := range a.Lenses {
		with += " " + Option(a.With.Lenses[i].Option())
	}
	with += a.Given
	if a.Verdict == advise.Flat {
		return []string{"sagitta verify" + with + fmt.Sprintf(" --defocus=%.3f", a.Defocus-a.Answers[a.Lenses[0]].Flat.Focus)}
	}
	if usual := a.With.Lenses[a.Lenses[0]].Defocus; a.Defocus != 0 || a.Defocus != usual || a.With.Given("defocus") {
		with += fmt.Sprintf(" --defocus=%g", a.Defocus)
	}
	switch a.Verdict {
	case advise.Follow:
		return []string{"sagitta follow" + with + " -o " + Quote(base+"-followed.gcode")}
	case advise.Mixed:
		with += " --follow"
	}
	return []string{"sagitta split" + with + " -o " + Quote(base+"-zones")}
}

// Advise says what was assumed, and what failed.
func (v Voice) Advise(a *Advice) { v.tell("advise", a) }
