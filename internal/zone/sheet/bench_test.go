package sheet

import (
	"fmt"
	"regexp"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"sagitta/internal/phrase"
	"sagitta/internal/setup"
)

// The sheet says in order what there is to do.
func TestBench(t *testing.T) {
	change := func(s *Set) {
		s.Lenses = append(s.Lenses, Lens{Name: "long", Standoff: new(10.0), FocusHeight: 12.7, Zones: 1, Lows: []float64{0}})
		s.Lenses[0].Standoff = new(6.0)
		s.Zones[1].Lens = 1
	}
	for _, c := range []struct {
		change func(*Set)
		want   []string
		not    []string
	}{
		{func(s *Set) {}, []string{
			"FOCUS ZONES OF a<b>&c.gcode                                         page 1 of 2\n\n2 parts for", "in 2\nparts, and none fewer would do: stock is burned at heights of 0.000, 1.200 mm,\nany two of them further apart than the 1.000 mm that one setting serves.",
			"\f" + `FOCUS ZONES OF a<b>&c.gcode                                         page 2 of 2

PART 2 of 2: a-2.gcode

[ ] lens "short" & sharp is on
[ ] with the beam off:
      EITHER set the focus on the stock at X25.000 Y50.000, then lens up
      0.030 mm, more room
      OR set it where the surface's height is zero, then lens up 0.500 mm, more
      room
[ ] start a-2.gcode

focus     0.500 mm over the datum
serves    stock from 0.000 to 1.000 mm over the datum
burns     0 burns, 0.0 mm, in 0 pieces; 0.0 s
`}, []string{"rehearsals", "overlap", "division", "wait", "note"}},
		{func(s *Set) {
			s.Paused, s.Zones[1].Stop, s.Zones[1].FocusStop, s.Zones[1].Waits = true, 7, 9, 2
			s.FirstZ, s.Turn.Axis = -1.5, 'W'
		}, []string{
			"All is one program: it waits before it moves,", "PART 2 of 2: a-2.gcode, from line 7 on\n", "[ ] when it waits on line 9, the beam off:\n",
			"      then let the controller read W-1.5 mm there\n",
			"[ ] let it go on\n", "\n2 waits, to tick.", "[ ] line 7        for the lens, and for a height that is clear\n[ ] line 9        at the focus point\n", "0.0 s and 2 waits\n"}, nil},
		{func(s *Set) { s.SetZ, s.Rehearsal, s.Overlap, s.Datum = true, true, 0.5, &[2]float64{1, 2} }, []string{
			"Each part is a program, which writes Z itself: the focus is set once for each\nlens.", "These are rehearsals: the beam stays off.", "Seams overlap by up to 0.5 mm.",
			"      set the focus on the stock at the datum, X1.000 Y2.000\n", "[ ] the focus stays as it was set\n"}, []string{"EITHER"}},
		{func(s *Set) { s.Zones[1].Point.Spoiled, s.Zones[1].Point.Uneven = true, 1.26 }, []string{
			"      (the stock is burned there, or may be cut loose, by then: the second way\n      is the better)\n      (the stock rises or falls by 1.3 mm under the foot of the gauge: read it\n      at the middle)\n"}, nil},
		{func(s *Set) { s.Followed = true }, []string{"Each part is a program that follows the surface: Z moves while it burns."}, []string{"none fewer"}},
		{func(s *Set) { s.Lenses[0].Lows = s.Lenses[0].Lows[:1] }, []string{"in 2\nparts.\n"}, []string{"none fewer"}}, // one may do
		{func(s *Set) { s.Paced, s.Zones[0].Unbroken, s.Zones[0].TooSlow = true, 40, 12 },
			[]string{"seams     12 of 40 unbroken burns begin or end below 90 % of their feed\n", "seams     all burns begin and end at 90 % of their feed or more\n"}, nil},
		{func(s *Set) { s.Lenses[0].Zones = 1 }, []string{"in 1 part.\n"}, []string{"none fewer"}}, // a zone had no burns
		{func(s *Set) {
			s.Turn = setup.Turn{DivisionMM: 0.35, TableMoves: true}
			s.Zones[1].Raised = []Raise{{5, 8, 0.71}, {12, 0, 0.701}}
		}, []string{"line 5        table down 1.050 mm, 3 divisions, more room, or further\n", "line 12       table down 1.050", "table down 1.500 mm,\n      4 divisions and 0.100 mm, more room\n"}, []string{"lens up"}},
		{func(s *Set) {
			s.Zones[0].Raised, s.Zones[0].Raise, s.Zones[0].Waits, s.Zones[1].Lift = []Raise{{5, 8, 1.231}, {8, 11, 2}, {20, 23, 1}}, 2, 5, 0.25
		}, []string{"[ ] line 5        lens up 1.240 mm, more room, or further\n[ ] line 8        lens up 2.000 mm, more room, in all, or further\n[ ] line 11       bring it back to where it was\n[ ] line 20       lens up",
			"note      travels at its start or end are lifted by 0.250 mm to be clear"}, []string{"[ ] line 8        bring"}},
		{change, []string{"[ ] change the lens: lens \"short\" & sharp off, lens long on\n    [ ] beam off\n    [ ] make room first: lens up 12.700 mm, more room, or further\n",
			"    [ ] on scrap burn a cross with each lens,", "seams     where the spot of this lens stands beside that of the others is not\n          known (spot_shift_mm)"}, []string{"(standoff_mm)", "lens long is on"}},
		{func(s *Set) { change(s); s.Lenses[1].FocusHeight = -3 }, []string{"the new lens stands no lower: no room is to be made\n"}, nil},
		{func(s *Set) { change(s); s.Lenses[1].Standoff, s.Turn.TableMoves = nil, true }, []string{"table down 12.700 mm, more room, or further; how far\n        down"}, nil},
		{func(s *Set) { s.Lenses[0].Unnamed, s.Start = true, "X5 Y6" }, []string{"THE LENS: sharp from", "[ ] the lens is on\n[ ] it counts on starting from X5 Y6: bring the head there"}, []string{"lens lens"}},
	} {
		s := twoZones(t, 1)
		c.change(s)
		b := written(t, s.writeBench)
		for _, want := range c.want {
			if !strings.Contains(b.String(), want) {
				t.Errorf("no %q in\n%s", want, b.String())
			}
		}
		for _, not := range c.not {
			if strings.Contains(b.String(), not) {
				t.Errorf("%q in\n%s", not, b.String())
			}
		}
	}
	if got := list([]float64{1, 2, 3, 4, 5, 6, 7, -0.0001}); got != "1.000, 2.000, 3.000, 4.000, 5.000, ... 0.000" {
		t.Errorf("%s", got)
	}
}

// signed is a number with a sign that is none of a place.
var signed = regexp.MustCompile(`(?m)(^|[^XYZW.\w])[-+]\d|-0\.0+\b|\b1 [a-z]+s\b`)

// Whatever the names and numbers are, no line is wider than the page, each part has a
// page that says which of how many, no more than so many waits are listed, and nothing
// has a sign but places.
func TestPages(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := func(label string) string {
			return strings.Repeat(rapid.SampledFrom([]string{"x", "a b", "é", "板", "name-", "--", "\t"}).Draw(t, label), rapid.SampledFrom([]int{1, 5, 30, 90}).Draw(t, label+" times"))
		}
		mm := func(label string) float64 {
			return rapid.SampledFrom([]float64{0, -0.0001, 0.004, -0.3, 1.25, -12.7, 4321.0987}).Draw(t, label)
		}
		flag := func(label string) bool { return rapid.Bool().Draw(t, label) }
		s := &Set{Name: text("job"), SetZ: flag("set z"), Paused: flag("paused"), Followed: flag("followed"), Rehearsal: flag("rehearsal"), Overlap: max(0, mm("overlap")),
			Turn:   setup.Turn{TableMoves: flag("table"), DivisionMM: max(0, mm("division")), PlusAway: flag("plus"), Axis: rapid.SampledFrom([]byte{0, 'Z', 'W'}).Draw(t, "axis")},
			FirstZ: mm("first z"), Low: mm("low"), High: mm("high"), Burns: rapid.IntRange(0, 2).Draw(t, "burns"), CutBurns: rapid.IntRange(0, 2).Draw(t, "cut"), Cuts: rapid.IntRange(0, 2).Draw(t, "cuts")}
		if flag("datum") {
			s.Datum = &[2]float64{mm("x"), mm("y")}
		}
		if flag("start") {
			s.Start = "X5 Y6"
		}
		for range 2 {
			s.Lenses = append(s.Lenses, Lens{Name: text("lens"), Unnamed: flag("unnamed"), Zones: rapid.IntRange(1, 3).Draw(t, "zones of it"), FocusHeight: mm("height"), Lows: []float64{max(0, mm("a")), max(0, mm("b"))}[:rapid.IntRange(1, 2).Draw(t, "lows")]})
		}
		n := rapid.SampledFrom([]int{1, 2, 12}).Draw(t, "zones")
		for i := range n {
			z := Zone{Order: i + 1, Lens: rapid.IntRange(0, 1).Draw(t, "its lens"), Focus: mm("focus"), Program: text("program"), Waits: rapid.SampledFrom([]int{0, 1, 42}).Draw(t, "waits"),
				Point: setup.FocusPoint{X: mm("point x"), Y: mm("point y"), Height: mm("stock"), FromMarks: max(0, mm("from marks"))}, Burns: 1, Pieces: 1, Lift: max(0, mm("lift"))}
			for k := range z.Waits / 2 {
				z.Raised = append(z.Raised, Raise{From: 100000*k + 7, To: 100000*k + 9, By: 1.234})
			}
			if s.Paused {
				z.Stop, z.FocusStop = 5, rapid.SampledFrom([]int{5, 6}).Draw(t, "focus stop")
			}
			s.Zones = append(s.Zones, z)
		}
		sheet := written(t, s.writeBench).String()
		pages := strings.Split(sheet, "\f")
		if len(pages) != n {
			t.Fatalf("%d pages for %d parts", len(pages), n)
		}
		for i, page := range pages {
			if head, _, _ := strings.Cut(page, "\n"); !strings.HasSuffix(head, fmt.Sprintf(" page %d of %d", i+1, n)) || phrase.Columns(head) != setup.Columns-1 {
				t.Errorf("page %d begins with %q", i+1, head)
			}
			if listed := strings.Count(page, "[ ] line "); listed > mostWaits || len(s.Zones[i].Raised) > 20 && !strings.Contains(page, "more wait") {
				t.Errorf("%d waits are listed", listed)
			}
			for line := range strings.Lines(page) {
				line = strings.TrimSuffix(line, "\n")
				if phrase.Columns(line) > setup.Columns || strings.ContainsRune(line, setup.Blank) || strings.HasSuffix(line, " ") {
					t.Errorf("%d columns: %q", phrase.Columns(line), line)
				}
				if bad := signed.FindString(line); bad != "" && !strings.Contains(line, "--") {
					t.Errorf("%q in %q", bad, line)
				}
			}
		}
	})
}
