package say

import (
	"fmt"
	"maps"
	"path/filepath"
	"slices"
	"strings"

	"sagitta/internal/focus"
	"sagitta/internal/phrase"
	"sagitta/internal/report/page"
	"sagitta/internal/report/trace"
	"sagitta/internal/setup"
	"sagitta/internal/surface"
)

// Reported is a check that a page is made of.
type Reported struct {
	*Check
	// Trace is that of its path.
	Trace *trace.Trace
	// Assumed is what was said of it while it was made ready.
	Assumed []string
	// Files are what was read, with their digests; Options those in force by their names;
	// Command is what was typed; Maker is what makes the page.
	Files          [][2]string
	Options        map[string]string
	Command, Maker string
	// Figures is the JSON of the run, and FolderSheet the sheet of a folder.
	Figures     []byte
	FolderSheet string
}

// Page is the page of it.
func (r *Reported) Page() (*page.Page, error) {
	p := &page.Page{Job: filepath.Base(r.Name), Verdict: r.verdict(), Caution: setup.Caution + " This page certifies nothing.",
		Assumed: r.assumptions(), Notes: r.notes(), Trace: r.Trace, Files: r.Files, Command: r.Command, Maker: r.Maker, Figures: r.Figures,
		Height: func(x, y float64) (float64, bool) {
			h, where := r.Job.Placed.At(x, y)
			return h, where == surface.On
		},
	}
	if r.Name == "-" {
		p.Job = "the program"
	}
	p.ZSpeed, p.ZStep = r.zLimits()
	for _, name := range slices.Sorted(maps.Keys(r.Options)) {
		if value := r.Options[name]; value != "" && name != "help" {
			p.Options = append(p.Options, [2]string{name, value})
		}
	}
	if r.Zones == nil {
		p.Setting = r.Setting.Do()
		p.Known = r.Setting.Say()[len(p.Setting):]
	}
	if r.Zones == nil {
		p.BurnRules = ruleSentences(checkedBy(r.Job, r.Program.Rules))
	} else {
		p.BurnRules = ruleSentences(checkedSet(r.Job, r.Zones, r.Set))
	}
	r.addSheet(p)
	if r.Trace == nil {
		return p, nil
	}
	return p, r.draw(p)
}

// mostPages is how many pages of a sheet are on a page: as many as are printed at once.
const mostPages = 24

// addSheet puts the bench sheet on a page, or says why there is none.
func (r *Reported) addSheet(p *page.Page) {
	text := r.FolderSheet
	switch {
	case !r.Holds():
		p.NoSheet = "There is no bench sheet, as " + r.Name + " does not hold: " + phrase.Count(p.Verdict.Count, "failure") + ". Do not burn it so. " + first(p.Verdict.Failures)
		return
	case r.Zones == nil:
		text = string(r.Sheet())
	case text == "":
		p.NoSheet = "There is no bench sheet, as the folder " + r.Name + " has no sheet.txt: divide the job again to have one."
		return
	}
	p.Sheet = strings.Split(strings.TrimRight(text, "\f\n"), "\f")
	p.SheetPages = len(p.Sheet)
	p.Sheet = p.Sheet[:min(len(p.Sheet), mostPages)]
}

func first(list []string) string {
	if len(list) == 0 {
		return ""
	}
	return "The first: " + list[0] + "."
}

// verdict is what was found, as a sentence, with what it rests on.
func (r *Reported) verdict() page.Verdict {
	v := page.Verdict{Holds: r.Holds()}
	const lies = " and the stock lies as measured"
	var what, set string
	var worst, less float64
	var depth focus.Depth
	burns, out := 0, 0
	if r.Zones == nil {
		res := r.Program
		v.Unchecked, v.Count = unchecked(r.Job, res.Unchecked), res.FailureCount
		v.Failures, v.Hints = written(res.Failures), res.Hints
		v.More = res.FailureCount - res.Like - len(v.Failures)
		worst, less, depth = res.Defocus.MM, res.Less, res.Allowed
		burns, out = res.Burns, res.BurnsOut
		what, set = "every burn is in focus", "the lens is set "+r.place()+" as on the sheet"+lies
	} else {
		res := r.Set
		v.Unchecked, v.Count = unchecked(r.Job, res.Unchecked()), res.FailureCount()
		all := res.Failures("")
		v.Failures = all[:min(len(all), mostListed)]
		v.More = res.FailureCount() - len(v.Failures)
		worst, less, depth = worstOf(r.Job, r.Zones, res)
		for _, z := range res.Zones {
			burns, out = burns+z.Burns, out+z.BurnsOut
		}
		what, set = "every burn is made once and in focus, and travels are clear", "each lens is set as on the sheet"+lies
	}
	if r.Original == "" {
		v.Unchecked = append(v.Unchecked, "what an original does (none was given)")
	}
	if r.Rehearsal {
		what = "the beam stays off, and the path is that of the original"
	}
	if !v.Holds {
		what = phrase.Count(v.Count, "failure")
		if out > 0 {
			what += fmt.Sprintf("; %d of %s out of focus", out, phrase.Count(burns, "burn"))
		}
		set = strings.Replace(set, " as on the sheet", " as said below", 1)
	}
	if v.Text = upper(what); burns > 0 {
		v.Text += condition(r.Job, worst, depth, less, set, v.Unchecked)
	} else {
		v.Text += under(r.Job, v.Unchecked)
	}
	v.Text += "."
	if len(v.Unchecked) > 0 && v.Unchecked[0] == headItself {
		v.Unchecked[0] += " (not known)"
	}
	return v
}

// place is where the focus is set, behind "the lens is set".
func (r *Reported) place() string {
	switch s := &r.Setting; {
	case s.Point != nil:
		return "at " + phrase.XY(s.Point.X, s.Point.Y)
	case s.Datum != nil:
		return "at " + phrase.XY(s.Datum[0], s.Datum[1])
	}
	return "where the surface's height is zero,"
}

func upper(text string) string { return strings.ToUpper(text[:1]) + text[1:] }

// assumptions are what nobody said, each once.
func (r *Reported) assumptions() (list []string) {
	for _, line := range append(slices.Clone(r.Assumed), texts.Lines("assumed", r.Job)...) {
		line = strings.TrimPrefix(strings.TrimPrefix(line, "assumed: "), "taken: ")
		if !slices.Contains(list, line) {
			list = append(list, line)
		}
	}
	return list
}

// mostNotes is how many notes a page has.
const mostNotes = 40

// notes are what else there is to tell.
func (r *Reported) notes() (list []string) {
	instead := "travels are clear of the stock under the beam"
	if r.Zones == nil {
		instead = nearest(r.Program.Nearest, "", "")
	}
	list = append(list, texts.Lines("head", of{"Head": &r.Job.Head, "Instead": instead})...)
	if r.Zones == nil {
		list = append(list, burns(r.Program.Burns, r.Program.BurnLengthMM, r.Program.Lowest, r.Program.Highest))
		list = append(list, r.Program.Notes...)
	} else {
		if len(r.Instead) > 0 {
			list = append(list, "given instead of what "+r.Name+" holds: "+strings.Join(r.Instead, ", "))
		}
		list = append(list, fmt.Sprintf("the original has %s, %s mm long", phrase.Count(r.Set.Burns, "burn"), phrase.Short(r.Set.BurnLengthMM)))
		list = append(list, r.Set.Whole.Notes...)
		for i, z := range r.Set.Zones {
			for _, n := range z.Notes {
				list = append(list, fmt.Sprintf("zone %d: %s", i+1, n))
			}
		}
	}
	list = slices.DeleteFunc(list, func(line string) bool { return strings.TrimSpace(line) == "" })
	if more := len(list) - mostNotes; more > 0 {
		list = append(list[:mostNotes], fmt.Sprintf("and %d more", more))
	}
	return list
}
