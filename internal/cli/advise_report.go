package cli

import (
	"fmt"
	"io"
	"strings"

	"github.com/spf13/pflag"

	"sagitta/internal/advise"
	"sagitta/internal/job"
	"sagitta/internal/phrase"
)

// advice is an answer to be written.
type advice struct {
	a       *advise.Advice
	l       *loaded
	lenses  []candidate
	program string
	detail  *showOptions
	flags   *pflag.FlagSet
}

// columns is how wide a report may be.
const columns = 80

// write writes the report: what is cheaper, the advice, the table.
func (r *advice) write(w io.Writer) error {
	var b strings.Builder
	a := r.a
	if len(a.Cheap) > 0 {
		b.WriteString("cheap to try first:\n")
		for _, c := range a.Cheap {
			wrap(&b, "- ", "  ", c.What)
		}
		b.WriteByte('\n')
	}
	wrap(&b, "advice: ", "        ", r.headline())
	wrap(&b, "because ", "        ", a.Reason)
	for _, c := range r.commands() {
		fmt.Fprintf(&b, "  %s\n", c)
	}
	b.WriteByte('\n')
	j := a.Job
	wrap(&b, "job:    ", "        ", fmt.Sprintf("%s, %s mm long, %s; heights from %s (line %d) to %s mm (line %d)",
		phrase.Count(j.Burns, "burn"), short(j.BurnLength), phrase.Clock(j.Seconds), mm(j.Low.MM), j.Low.Line, mm(j.High.MM), j.High.Line))
	switch d := &a.Detail; {
	case d.MM == 0:
		wrap(&b, "detail: ", "        ", "not known, and the program does not show it; give --detail or --text")
	case d.Guessed:
		wrap(&b, "detail: ", "        ", fmt.Sprintf("guessed as %.2g mm, from %s; give --detail or --text to be sure", d.MM, d.From))
	default:
		wrap(&b, "detail: ", "        ", d.From)
	}
	switch {
	case r.l.machine.ZMoves == job.ZByHand:
		wrap(&b, "bench:  ", "        ", "Z is moved by hand, so only flat and split come into question")
	case !r.l.profile:
		wrap(&b, "bench:  ", "        ", "no machine profile: assumed that Z is free to move while burning")
	}
	if j.Degrees >= advise.SteepDegrees {
		wrap(&b, "steep:  ", "        ", fmt.Sprintf("%s mm of burns meet stock tilted by %d degrees or more; at most %.0f, at X%.3f Y%.3f, line %d, where the spot is %.2f times as long",
			short(j.SteepLength), advise.SteepDegrees, j.Degrees, j.Steep.X, j.Steep.Y, j.Steep.Line, advise.Stretch(j.Degrees)))
	}
	b.WriteByte('\n')
	r.table(&b)
	_, err := io.WriteString(w, b.String())
	return err
}

// headline says the verdict with what the operator sets.
func (r *advice) headline() string {
	a := r.a
	switch a.Verdict {
	case advise.Flat:
		x := &a.Answers[a.Lenses[0]]
		s := fmt.Sprintf("flat, with lens %s: run the program as it is, with the focus set %s mm over the datum", x.Name, signed3(x.Flat.Focus))
		if step := r.l.machine.ZStepMM; step != nil {
			s += fmt.Sprintf(" (%+.0f steps of %g mm)", x.Flat.Focus / *step, *step)
		}
		return s + fmt.Sprintf(", as the stock is at X%.3f Y%.3f (%s mm)", a.Point.X, a.Point.Y, signed3(a.Point.MM))
	case advise.Follow:
		return fmt.Sprintf("follow the surface, with lens %s", a.Answers[a.Lenses[0]].Name)
	case advise.Split:
		return fmt.Sprintf("split into %s, with %s", phrase.Count(a.Zones, "zone"), r.names())
	case advise.Mixed:
		return fmt.Sprintf("split into %s and follow within each, with %s", phrase.Count(a.Zones, "zone"), r.names())
	}
	return "none of these lenses can do it"
}

// names lists the lenses to use.
func (r *advice) names() string {
	var n []string
	for _, i := range r.a.Lenses {
		n = append(n, r.a.Answers[i].Name)
	}
	if len(n) == 1 {
		return "lens " + n[0]
	}
	return "lenses " + strings.Join(n[:len(n)-1], ", ") + " and " + n[len(n)-1]
}

// commands are what to run next.
func (r *advice) commands() []string {
	a := r.a
	if a.Verdict == advise.None {
		return nil
	}
	base := strings.TrimSuffix(r.program, ".gcode")
	if r.program == "-" {
		base = "job"
	}
	with := ""
	for _, i := range a.Lenses {
		with += " " + asOption(r.lenses[i].option, r.lenses[i].value)
	}
	with = " -s " + quote(r.l.o.surface) + with + r.options()
	switch a.Verdict {
	case advise.Flat:
		return []string{"sagitta verify " + quote(r.program) + with + fmt.Sprintf(" --defocus=%.3f", r.l.o.defocus-a.Answers[a.Lenses[0]].Flat.Focus)}
	case advise.Follow:
		return []string{"sagitta follow " + quote(r.program) + with + r.defocus() + " -o " + quote(base+"-followed.gcode")}
	}
	verb := ""
	if a.Verdict == advise.Mixed {
		verb = " --follow"
	}
	return []string{"sagitta split " + quote(r.program) + with + r.defocus() + verb + " -o " + quote(base+"-zones")}
}

func (r *advice) defocus() string {
	if r.l.o.defocus == 0 {
		return ""
	}
	return fmt.Sprintf(" --defocus=%g", r.l.o.defocus)
}

// options are those given that mean the same to other commands.
func (r *advice) options() string {
	s := ""
	r.flags.Visit(func(f *pflag.Flag) {
		switch f.Name {
		case "surface", "lens", "depth", "summary", "detail", "text", "font", "defocus":
		case "keep-ramps":
			s += " --keep-ramps"
		case "machine":
			s += " -m " + quote(f.Value.String())
		default:
			s += " " + asOption("--"+f.Name, f.Value.String())
		}
	})
	return s
}

func asOption(name, value string) string {
	if strings.HasPrefix(value, "-") && strings.HasPrefix(name, "--") {
		return name + "=" + quote(value)
	}
	return name + " " + quote(value)
}

// quote lets a shell take a word as it is.
func quote(s string) string {
	plain := func(c rune) bool {
		return c >= '0' && c <= '9' || c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z' || strings.ContainsRune("-_./,=+:@%", c) || c > 127
	}
	if s != "" && strings.IndexFunc(s, func(c rune) bool { return !plain(c) }) < 0 {
		return s
	}
	return "'" + strings.ReplaceAll(s, "'", `'\''`) + "'"
}

// tell says what was assumed, and what failed.
func (r *advice) tell(w io.Writer) {
	l, a := r.l, r.a
	tellAssumed(w, l)
	if a.Detail.Guessed {
		fmt.Fprintf(w, "sagitta: assumed: the smallest detail is %.2g mm, guessed from %s\n", a.Detail.MM, a.Detail.From)
	}
	if a.Job.Outside > 0 {
		fmt.Fprintf(w, "sagitta: %s off the surface, at the height of its edge\n", phrase.Count(a.Job.Outside, "burn"))
	}
	if a.Job.Degrees >= advise.SteepDegrees {
		fmt.Fprintf(w, "sagitta: the beam meets stock tilted by up to %.0f degrees; the spot is %.2f times as long there, line %d\n",
			a.Job.Degrees, advise.Stretch(a.Job.Degrees), a.Job.Steep.Line)
	}
	if l.machine.ZMoves == job.ZByHand {
		fmt.Fprintln(w, "sagitta: Z is moved by hand: only flat and split come into question")
	}
	if a.Verdict == advise.None {
		for i := range a.Answers {
			if x := &a.Answers[i]; x.Out != "" {
				fmt.Fprintf(w, "sagitta: lens %s: %s\n", x.Name, x.Out)
			}
		}
		fmt.Fprintf(w, "sagitta: %s: none of these lenses can do it\n", r.program)
	}
	if a.Verdict != advise.Flat {
		tellDatum(w, l)
		return
	}
	// The focus is not to be set at the datum itself.
	h := l.placed.Surface().Header()
	switch {
	case l.o.datum != "":
		fmt.Fprintf(w, "sagitta: heights count from the datum, X,Y %s of the program\n", l.o.datum)
	case h.Datum != nil:
		x, y := l.placed.Program(h.Datum[0], h.Datum[1])
		fmt.Fprintf(w, "sagitta: heights count from the datum of the surface's file, X%.3f Y%.3f of the program\n", x, y)
	default:
		fmt.Fprintln(w, "sagitta: heights count from where the surface's height is zero")
	}
}

func signed3(v float64) string {
	if v > -0.0005 && v < 0.0005 {
		v = 0
	}
	return fmt.Sprintf("%+.3f", v)
}

// wrap writes text in lines of 80 columns, the first after one indent, the
// others after another.
func wrap(b *strings.Builder, first, rest, text string) {
	line := first
	start := true
	for word := range strings.FieldsSeq(text) {
		if !start && len([]rune(line))+1+len([]rune(word)) > columns {
			b.WriteString(line + "\n")
			line, start = rest, true
		}
		if !start {
			line += " "
		}
		line, start = line+word, false
	}
	b.WriteString(line + "\n")
}
