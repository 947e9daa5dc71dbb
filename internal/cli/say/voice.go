package say

import (
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"unicode"

	"sagitta/internal/diag"
	"sagitta/internal/focus"
	"sagitta/internal/job"
	"sagitta/internal/job/batch"
	"sagitta/internal/phrase"
)

// Voice says messages.
type Voice struct {
	W io.Writer
	Screen
}

// prefix is what every message begins with, but for those about a place in a file.
const prefix = "sagitta: "

// cautions begin with this.
const cautionary = "caution:"

// Line says a line.
func (v Voice) Line(format string, args ...any) { v.say(plain, fmt.Sprintf(format, args...)) }

// say says a line in a tone.
func (v Voice) say(t tone, line string) {
	for k, text := range v.folded(prefix + shown(line)) {
		head := ""
		if k == 0 && t == plain {
			if rest, is := strings.CutPrefix(text, prefix+cautionary); is {
				head, text = prefix+v.tint(caution, cautionary), rest
			}
		}
		v.write(head + v.tint(t, text) + "\n")
	}
}

// Text says a text as it is, but that what a terminal would obey, as a file's name
// may have it, is shown. Lines of a file stay whole, so that a mark below them stands
// where it should.
func (v Voice) Text(text string) {
	for line := range strings.Lines(shown(text)) {
		if strings.HasPrefix(line, prefix) {
			line = v.Fit(line)
		}
		v.write(line)
	}
}

func (v Voice) write(text string) { _, _ = io.WriteString(v.W, text) }

// shown is a text with what a terminal would obey written out.
func shown(text string) string {
	var b strings.Builder
	for _, r := range text {
		if unicode.IsPrint(r) || r == '\n' || r == '\t' {
			b.WriteRune(r)
		} else {
			b.WriteString(strings.Trim(strconv.QuoteRune(r), "'"))
		}
	}
	return b.String()
}

// Lines says lines as they are.
func (v Voice) Lines(lines []string) {
	for _, l := range lines {
		v.Line("%s", l)
	}
}

// tell says a text, a message a line.
func (v Voice) tell(name string, with any) { v.Lines(texts.Lines(name+".txt", with)) }

// verdict says what a check came to, behind all else.
func (v Voice) verdict(holds bool, unchecked []string, with any) {
	t := good
	switch {
	case !holds:
		t = bad
	case len(unchecked) > 0:
		t = partly
	}
	for _, line := range texts.Lines("verdict", with) {
		v.say(t, line)
	}
}

// Job says what went wrong in a job, in the words of the command that it went wrong in.
func (v Voice) Job(name, wrong string) {
	if !strings.HasPrefix(strings.TrimPrefix(wrong, prefix), name+":") {
		v.Line("%s:", named(name))
	}
	v.Text(wrong)
}

// Jobs says what became of jobs.
func (v Voice) Jobs(list Jobs) {
	v.Lines(list.table())
	var t Tally
	for i := range list {
		t.Add(&list[i])
	}
	v.Tally(&t)
}

// Tally says what became of jobs.
func (v Voice) Tally(t *Tally) {
	is := good
	if t.wrong {
		is = bad
	}
	v.say(is, t.String())
	if t.made {
		v.Line(cautionary + " " + unattended)
	}
}

// unattended is what goes with all that is prepared with nobody by.
const unattended = "set up each burn by its sheet, and never leave a burning machine unattended"

// Done says what a job came to that was done.
func (v Voice) Done(o *batch.Outcome) {
	if o.Verdict == batch.Unchanged && o.Why != "" {
		v.Line("%s: %s", named(o.Job), o.Why)
		return
	}
	v.Line("%s: %s; %s (%.2f s)", named(o.Job), o.Verdict, o.Result, o.Seconds)
}

// Watches says that jobs are watched for, and what to mind.
func (v Voice) Watches(dir, failed, log string, side int) {
	v.Line("watching %s for jobs, %d side by side; a line for each goes to %s, those that fail go to %s; Ctrl-C ends once what is at hand is done", dir, side, log, failed)
	v.Line(cautionary + " jobs are prepared with nobody by, but never burned so: " + unattended)
}

const (
	// mostListed is how many failures are listed: as many as fit on a screen.
	mostListed = 20
	// mostZones is how many zones are.
	mostZones = 12
)

// listed are the first of so many failures, and how many more there are.
func listed(lines []string, count int) []string {
	return diag.Listed(lines[:min(len(lines), mostListed)], count)
}

// depths say of each lens what the usable depth is made of.
func depths(lenses []job.Lens, p focus.Purpose) string {
	text := ""
	for i := range lenses {
		l := &lenses[i]
		if len(lenses) > 1 {
			text += "lens " + l.Name + ": "
		}
		text += depth(l, p)
	}
	return text
}

// depth says what the usable depth is made of, the terms that are not zero,
// and what they come to.
func depth(l *job.Lens, p focus.Purpose) string {
	left := l.Checking
	if p == focus.Writing {
		left = l.Writing
	}
	b := &l.Budget
	t := Table{Right: []bool{1: true}}
	t.Row("  lens", phrase.SidesMM(b.Lens.Near, b.Lens.Far), b.LensFrom)
	terms := b.Table(p)
	for _, r := range terms[2 : len(terms)-2] { // the first and last two are sides
		if r.MM != 0 {
			t.Row("  "+r.Name, fmt.Sprintf("%.4f", r.MM), r.From)
		}
	}
	usable := phrase.SidesMM(left.Near, left.Far)
	if len(t.rows) > 1 {
		t.Row("  left to use", usable)
	}
	usable += " mm"
	if less := b.MostLess(); less > 0 {
		least := leastSure(left, less)
		t.Row("  where least sure", least, fmt.Sprintf("error of the surface %.4f there, %s", b.GreatestError.MM, b.GreatestError.From))
		usable += ", " + least + " where heights are least sure"
	}
	return "usable depth " + usable + ":\n" + t.String()
}

// leastSure says what is left of a depth where it is so much less.
func leastSure(d focus.Depth, less float64) string {
	if min(d.Near, d.Far) <= less {
		return "none"
	}
	return phrase.SidesMM(d.Near-less, d.Far-less)
}

// nearest says how near the axis comes to the surface under the beam against
// best focus, minus nearer; most and least are for a bound, which may not come as
// near, else empty.
func nearest(e focus.Extreme, most, least string) string {
	switch {
	case math.Abs(e.MM) < 0.0005:
		return "its axis comes no nearer to the surface under the beam than at best focus"
	case e.MM > 0:
		return fmt.Sprintf("its axis stays %s%s mm further from the surface under the beam than at best focus, %s", least, phrase.MM(e.MM), place(e))
	}
	return fmt.Sprintf("its axis comes %s%s mm nearer to the surface under the beam than at best focus, %s", most, phrase.MM(-e.MM), place(e))
}

// place says where an extreme is.
func place(e focus.Extreme) string {
	return fmt.Sprintf("at %s, line %d", phrase.XY(e.X, e.Y), e.Line)
}

// burns says how much a program burns, and over what, which is of no line where
// nothing was looked at.
func burns(n int, lengthMM float64, low, high focus.Extreme) string {
	text := fmt.Sprintf("%s, %s mm long", phrase.Count(n, "burn"), phrase.Short(lengthMM))
	if high.Line == 0 {
		return text
	}
	return fmt.Sprintf("%s, over heights from %s to %s mm; the highest %s", text, phrase.MM(low.MM), phrase.MM(high.MM), place(high))
}

// datum says where heights count from, behind "the datum"; "" where that is where
// the surface's height is zero.
func datum(j *job.Job) string {
	xy, ofFile, ok := j.DatumXY()
	if !ok {
		return ""
	}
	at := ", " + phrase.XY(xy[0], xy[1]) + " of the program"
	if ofFile {
		return " of the surface's file" + at
	}
	return at
}
