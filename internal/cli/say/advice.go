package say

import (
	"fmt"
	"math"
	"strings"

	"sagitta/internal/advise"
	"sagitta/internal/job"
	"sagitta/internal/phrase"
	"sagitta/internal/record"
	"sagitta/internal/setup"
)

// Advice is an answer to be printed.
type Advice struct {
	*advise.Advice
	With    *job.Job
	Program string
	// Given are the options that other commands are to be given as well.
	Given []string
	// Screen is what it is printed on.
	Screen
}

// columns is how wide a report may be.
const columns = 80

// Report is the answer: what is cheaper, the advice, the table.
func (a *Advice) Report() string {
	var b strings.Builder
	wide := a.Within(columns)
	// part adds a part of the text, folded, with further lines so far to the right.
	part := func(name string, right int) {
		for _, line := range texts.Lines(name, a) {
			for _, l := range phrase.Fold(line[right:], wide, line[:right], strings.Repeat(" ", right)) {
				b.WriteString(l + "\n")
			}
		}
	}
	if len(a.Cheap) > 0 {
		part("cheap", len("- "))
		b.WriteByte('\n')
	}
	part("answer", len("advice: "))
	part("focus", len("focus:  "))
	for _, c := range a.Commands() {
		b.WriteString("  " + c + "\n")
	}
	b.WriteByte('\n')
	part("job", len("detail: "))
	b.WriteByte('\n')
	a.table(&b)
	part("notes", len("  "))
	return b.String()
}

// NotChecked is what the advice does not cover, "" where it covers all.
func (a *Advice) NotChecked() string { return under(a.With, notKnown(a.With, 0)) }

// ByHand reports whether Z is moved by hand.
func (a *Advice) ByHand() bool { return a.With.Machine.ZMoves == record.ZByHand }

// Steep reports whether stock is so steep that it is to be pointed out.
func (a *Advice) Steep() bool { return a.Job.Degrees >= advise.SteepDegrees }

// Stretch is by how much the spot is longer on the steepest stock.
func (a *Advice) Stretch() float64 { return advise.Stretch(a.Job.Degrees) }

// Recommended names the lenses to use.
func (a *Advice) Recommended() string {
	var names []string
	for _, i := range a.Lenses {
		names = append(names, a.Answers[i].Name)
	}
	if len(names) > 1 {
		return "lenses " + phrase.List(names)
	}
	return "lens " + phrase.List(names)
}

// Setting says where and how the focus is set for one program, "" where the advice is to
// have more.
func (a *Advice) Setting() string {
	if len(a.Lenses) == 0 {
		return ""
	}
	with := job.Setup{Job: a.With, Lens: a.Lenses[0]}
	var at setup.Setting
	switch a.Verdict {
	case advise.Flat:
		at = with.SettingAt(a.Answers[with.Lens].Flat.Focus, &a.Point, &a.Job.First)
	case advise.Follow:
		at = with.Setting(&a.Job.First)
	default:
		return ""
	}
	return at.Text()
}

// Commands are what to run next, as it is typed.
func (a *Advice) Commands() []string {
	command, options := a.Next()
	if command == "" {
		return nil
	}
	base := strings.TrimSuffix(a.Program, ".gcode")
	if a.Program == "-" {
		base = "job"
	}
	switch command {
	case "follow":
		options = append(options, "-o", base+"-followed.gcode")
	case "split":
		options = append(options, "-o", base+"-zones")
	}
	return []string{"sagitta " + command + " " + Quote(a.Program) + " " + quoted(options)}
}

// Next is the command to run next on the program with its options, but for where its
// result goes; "" where there is none.
func (a *Advice) Next() (command string, options []string) {
	if a.Verdict == advise.None {
		return "", nil
	}
	options = Args("-s", a.With.Surface)
	for _, i := range a.Lenses {
		options = append(options, Args(a.With.Lenses[i].Option())...)
	}
	options = append(append(options, a.Given...), a.defocused()...)
	switch a.Verdict {
	case advise.Flat:
		return "verify", append(options, a.flat()...)
	case advise.Follow:
		return "follow", options
	case advise.Mixed:
		options = append(options, "--follow")
	}
	return "split", options
}

// flat are the options by which a flat run is verified.
func (a *Advice) flat() []string {
	with := []string{"--focus=" + typed(a.Answers[a.Lenses[0]].Flat.Focus)}
	if a.Job.OffZ && a.Program != "-" {
		with = append(with, "--against", a.Program)
	}
	return with
}

// typed spells a length to the micrometre, or finer where that is not all of it.
func typed(mm float64) string {
	if math.Abs(mm*1e3-math.Round(mm*1e3)) > 1e-6 {
		return phrase.Trimmed(mm, 6)
	}
	return fmt.Sprintf("%.3f", mm)
}

// defocused is the wanted defocus as an option, none where the lens says it.
func (a *Advice) defocused() []string {
	if usual := a.With.Lenses[a.Lenses[0]].Defocus; a.Defocus != 0 || a.Defocus != usual || a.With.Given("defocus") {
		return []string{fmt.Sprintf("--defocus=%g", a.Defocus)}
	}
	return nil
}

// Advise says what was assumed, and what failed.
func (v Voice) Advise(a *Advice) { v.tell("advise", a) }
