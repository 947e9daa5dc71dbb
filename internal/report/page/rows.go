package page

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"sagitta/internal/phrase"
	"sagitta/internal/report/trace"
	"sagitta/internal/setup"
)

// rows is what the page lists of a trace.
type rows struct {
	Worst  []worst
	Slowed []string
	Waits  []string
	Rules  []string
	Time   string
	Step   *step // nil where none is known
}

// step is where the speed of Z steps most.
type step struct {
	Where, Place, MMS string
	Seconds           float64
}

// worst is one of the worst places.
type worst struct {
	// Where is its line, Spent the part of the depth that is used, in percent.
	Where, Text, Place, Defocus, Height, Time string
	Spent                                     string
	Seconds                                   float64
	// Out tells that it is out of focus.
	Out bool
}

// mostListed is how many slowed places and waits are listed.
const mostListed = 8

// rows makes the lists.
func (p *Page) rows() (r rows) {
	t := p.Trace
	if t == nil {
		return r
	}
	for _, w := range t.Worst {
		part := math.Abs(w.Defocus) / w.Depth
		r.Worst = append(r.Worst, worst{
			Where: p.where(w.Program, w.Line, w.Line), Text: plain(w.Text), Place: phrase.XY(w.At[0], w.At[1]),
			Defocus: phrase.Signed(w.Defocus, 3), Height: phrase.MM(w.Height), Time: phrase.Clock(w.Seconds),
			Spent: percent(part), Seconds: w.Seconds, Out: part > 1,
		})
	}
	r.Slowed, r.Waits, r.Rules = p.slowed(), p.waits(), p.rules()
	if t.Seconds > 0 {
		r.Time = phrase.Clock(t.Seconds)
		if t.SecondsBefore > 0 {
			r.Time += ", the original " + phrase.Clock(t.SecondsBefore)
		}
		if t.Inertia {
			r.Time += ", with the inertia of the axes"
		} else {
			r.Time += ", by feeds alone"
		}
	}
	if s := &t.ZStep; s.MMS > 0 {
		r.Step = &step{Where: p.where(s.Program, s.Line, s.Line), Place: phrase.XY(s.At[0], s.At[1]), MMS: phrase.Digits(s.MMS, 3), Seconds: s.Seconds}
	}
	return r
}

// percent is a part in percent, without decimals; what is no number is "-".
func percent(part float64) string {
	if math.IsNaN(part) || math.IsInf(part, 0) {
		return "-"
	}
	return fmt.Sprintf("%.0f %%", 100*part)
}

// where names lines, with their program where there are several.
func (p *Page) where(program, line, last int) string {
	text := fmt.Sprintf("line %d", line)
	if last > line {
		text = fmt.Sprintf("lines %d to %d", line, last)
	}
	if list := p.Trace.Programs; len(list) > 1 && program < len(list) {
		text = plain(list[program].Name) + ", " + text
	}
	return text
}

// slowed names burns that are slower than in the original, neighbours together, the
// slowest first.
func (p *Page) slowed() (list []string) {
	type slow struct {
		program, line, last int
		share               float64
	}
	var all []slow
	for i := range p.Trace.Stretches {
		s := &p.Trace.Stretches[i]
		if !s.Burns || !(s.Slowed > 0 && s.Slowed < slowedBelow) {
			continue
		}
		if n := len(all); n > 0 && all[n-1].program == s.Program && s.Line <= all[n-1].last+1 && s.Line >= all[n-1].line {
			all[n-1].last, all[n-1].share = max(all[n-1].last, s.LastLine), min(all[n-1].share, s.Slowed)
			continue
		}
		all = append(all, slow{s.Program, s.Line, max(s.Line, s.LastLine), s.Slowed})
	}
	slices.SortStableFunc(all, func(a, b slow) int { return cmp.Compare(a.share, b.share) })
	for _, s := range all[:min(len(all), mostListed)] {
		list = append(list, fmt.Sprintf("%s: its feed is down to %s of the original's", p.where(s.program, s.line, s.last), percent(s.share)))
	}
	if more := len(all) - len(list); more > 0 {
		list = append(list, fmt.Sprintf("and %d more", more))
	}
	return list
}

// slowedBelow is from which share of its speed down a burn counts as slowed: speeds agree
// to half a percent, see package verify.
const slowedBelow = 0.995

// waits names where the program stands still, those for the operator first.
func (p *Page) waits() (list []string) {
	t := p.Trace
	all := slices.Clone(t.Waits)
	slices.SortStableFunc(all, func(a, b trace.Wait) int {
		switch {
		case a.Stop == b.Stop:
			return 0
		case a.Stop:
			return -1
		}
		return 1
	})
	for _, w := range all[:min(len(all), mostListed)] {
		text := p.where(w.Program, w.Line, w.Line) + ": "
		if w.Stop {
			text += "waits for the operator"
		} else {
			text += "stands still for " + phrase.Clock(w.Lasts)
		}
		if !math.IsNaN(w.At[0] + w.At[1]) {
			text += ", at " + phrase.XY(w.At[0], w.At[1])
		}
		if w.Remark != "" {
			text += ": " + plain(w.Remark)
		}
		list = append(list, text)
	}
	if more := max(t.Waiting, len(all)) - len(list); more > 0 {
		list = append(list, fmt.Sprintf("and %d more", more))
	}
	return list
}

// mostRules is how many programs of a set are spelled out.
const mostRules = 40

// rules say in sentences what each program is burned with, and what burns are to have a focus
// of their own.
func (p *Page) rules() (list []string) {
	t := p.Trace
	for i, x := range t.Programs {
		if i == mostRules {
			list = append(list, fmt.Sprintf("And %d more.", len(t.Programs)-i))
			break
		}
		first, last := 0, 0
		for k := range t.Stretches {
			s := &t.Stretches[k]
			if s.Program != i || !s.Burns {
				continue
			}
			if first == 0 {
				first = s.Line
			}
			last = max(last, s.Line, s.LastLine)
		}
		name := "The program"
		if len(t.Programs) > 1 {
			name = fmt.Sprintf("Zone %d", i+1)
		}
		var b strings.Builder
		b.WriteString(name)
		switch {
		case first == 0:
			b.WriteString(" burns nothing")
		case last > first:
			fmt.Fprintf(&b, ", lines %d to %d", first, last)
		default:
			fmt.Fprintf(&b, ", line %d", first)
		}
		b.WriteString(": ")
		if x.Lens != "" {
			b.WriteString("lens " + plain(x.Lens) + ", ")
		}
		fmt.Fprintf(&b, "focus %s, sharp from %s mm nearer to %s mm further", setup.Level(x.FocusMM), phrase.MM(x.Near), phrase.MM(x.Far))
		switch {
		case x.DefocusMM > 0:
			fmt.Fprintf(&b, ", meant %s mm further than in focus", phrase.MM(x.DefocusMM))
		case x.DefocusMM < 0:
			fmt.Fprintf(&b, ", meant %s mm nearer than in focus", phrase.MM(-x.DefocusMM))
		}
		if len(p.BurnRules) > 0 {
			b.WriteString(", where no rule says otherwise")
		}
		list = append(list, b.String()+".")
	}
	for i, text := range p.BurnRules {
		if i == mostRules {
			return append(list, fmt.Sprintf("And %s more.", phrase.Count(len(p.BurnRules)-i, "rule")))
		}
		list = append(list, phrase.Printable(text))
	}
	return list
}
