package sheet

import (
	"bufio"
	"cmp"
	"embed"
	"fmt"
	"slices"
	"strings"
	"text/template"

	"sagitta/internal/phrase"
	"sagitta/internal/setup"
)

//go:embed text/*.txt
var textFiles embed.FS

var texts = phrase.NewTexts(textFiles, template.FuncMap{
	"mm1":     func(v float64) string { return fmt.Sprintf("%.1f", v) },
	"between": setup.Between, "level": setup.Level, "name": setup.Word, "caution": func() string { return setup.Caution }, "list": list,
	"called":  func(l *Lens) string { return l.called(false) },
	"heading": func(l Lens) string { return l.called(true) },
})

// called is what a lens is called, at the head of a line or within it.
func (l *Lens) called(head bool) string {
	switch {
	case l.Unnamed && head:
		return "THE LENS"
	case l.Unnamed:
		return "the lens"
	case head:
		return "LENS " + setup.Word(l.Name)
	}
	return "lens " + setup.Word(l.Name)
}

// writeBench writes what the operator needs at the bench, as text to print: a page for
// each zone.
func (s *Set) writeBench(w *bufio.Writer) error {
	for i := range s.Zones {
		if i > 0 {
			_ = w.WriteByte('\f')
		}
		text := ""
		if i == 0 {
			text = texts.Fill("job", s) + "\n"
		}
		_, _ = w.WriteString(setup.Heading("FOCUS ZONES", s.File(), i+1, len(s.Zones)))
		_, _ = w.WriteString(setup.LaidOut(text + texts.Fill("part", s.part(i))))
	}
	return nil // the writer keeps its error
}

// part is what the sheet says of a zone.
type part struct {
	Set     *Set
	Zone    *Zone
	Lens    *Lens
	Change  *change
	Kept    bool // the focus was set before
	SetOn   int  // the line on which a program with pauses waits for it
	Setting []string
	Seams   []string
	Waits   []wait
	More    int // waits
}

// wait is a line on which a program waits for the operator.
type wait struct {
	Line int
	For  string
}

// mostWaits is how many waits of a zone the sheet lists.
const mostWaits = 20

func (s *Set) part(i int) part {
	z := &s.Zones[i]
	p := part{Set: s, Zone: z, Lens: &s.Lenses[z.Lens], SetOn: z.FocusStop, Seams: s.seams(z), Waits: s.waits(z)}
	if i > 0 && s.Zones[i-1].Lens != z.Lens {
		p.Change = s.change(&s.Zones[i-1], z)
	}
	if s.SetZ {
		p.SetOn = z.Stop
		p.Kept = i > 0 && p.Change == nil
	}
	setting := s.Setting(z)
	p.Setting = setting.Say()
	if n := len(p.Waits); n > mostWaits {
		p.Waits, p.More = p.Waits[:mostWaits], n-mostWaits
	}
	return p
}

// Setting is where and how the focus of a zone is set.
func (s *Set) Setting(z *Zone) setup.Setting {
	l := &s.Lenses[z.Lens]
	at := setup.Setting{Turn: s.Turn, Datum: s.Datum, Z: &s.FirstZ, Lens: setup.Lens{Shift: l.FocusShift, Height: l.FocusHeight}, Defocus: s.Defocus, InZ: s.SetZ}
	if s.Surface != nil {
		at.Round = s.Surface.Surface().Header().WrapsYMM
	}
	if !s.SetZ {
		at.Height, at.Point = z.Focus, &z.Point
	}
	return at
}

// waits are the waits of a zone's program, in its order.
func (s *Set) waits(z *Zone) (list []wait) {
	add := func(line int, format string, args ...any) {
		list = append(list, wait{line, fmt.Sprintf(format, args...)})
	}
	if z.Stop > 0 && z.Stop != z.FocusStop {
		if z.Clear != nil { // the program need not have comments
			add(z.Stop, "for the lens, and to raise the focus to %.3f mm over the datum or more", *z.Clear)
		} else {
			add(z.Stop, "for the lens, and for a height that is clear")
		}
	}
	if z.FocusStop > 0 {
		add(z.FocusStop, "at the focus point")
	}
	up := 0 // the line of the wait before, where the lens stands up behind it
	for _, r := range z.Raised {
		more := "or further"
		if r.From == up {
			more = "in all, or further"
		}
		if r.From != z.Stop { // there it is told with the lens
			add(r.From, "%s, %s", s.Turn.Up(r.By, 0.01), more)
		}
		up = r.To
		if r.To > 0 && r.To != z.FocusStop && !slices.ContainsFunc(z.Raised, func(next Raise) bool { return next.From == r.To }) {
			add(r.To, "bring it back to where it was")
		}
	}
	slices.SortStableFunc(list, func(a, b wait) int { return cmp.Compare(a.Line, b.Line) })
	return list
}

// change is what there is to do where the lens changes.
type change struct {
	From, To *Lens
	// Room is how to make the room that the new lens needs, "" where it needs none;
	// Known tells that the tips are known.
	Room  string
	Known bool
}

func (s *Set) change(before, z *Zone) *change {
	c := &change{From: &s.Lenses[before.Lens], To: &s.Lenses[z.Lens]}
	// The carriage stands higher at best focus by what the new lens is further from the
	// stock, and the focus; a tip that is longer by more than that reaches further down.
	room := c.To.FocusHeight - c.From.FocusHeight
	if a, b := c.From.Standoff, c.To.Standoff; a != nil && b != nil {
		c.Known = true
		room = max(room, room-(*b-*a))
	}
	if !s.SetZ {
		room += max(0, z.Focus-before.Focus)
	}
	c.Room = s.Turn.Up(max(0, room), 0.1)
	return c
}

// list spells heights, the first and the last of many.
func list(v []float64) string {
	const most = 6
	var text []string
	for _, h := range v {
		text = append(text, phrase.MM(h))
	}
	if last := len(v) - 1; last >= most {
		text = append(text[:most-1], "... "+text[last])
	}
	return strings.Join(text, ", ")
}
