package say

import (
	"fmt"
	"strings"

	"sagitta/internal/demo"
	"sagitta/internal/follow"
	"sagitta/internal/job"
	"sagitta/internal/phrase"
)

// Demo is what the demo prints: the ways to run its job side by side, the last
// of them proved, and the files in dir.
func Demo(j *job.Job, dir string, f *follow.Summary, ways []*demo.Way) string {
	var b strings.Builder
	low, high, _, _ := j.Placed.Range()
	l := &j.Lenses[0]
	fmt.Fprintf(&b, "A plywood panel, 300 x 200 mm, cupped and twisted: heights from %s to %s mm.\n", phrase.MM(low), phrase.MM(high))
	fmt.Fprintf(&b, "The chart of a canal: %s, %.1f m of burns.\n", phrase.Count(f.Blocks, "line"), f.BurnLength/1000)
	fmt.Fprintf(&b, "The lens is good for %s mm; of that, -%.2f to +%.2f mm are usable here.\n\n", l.Budget.Lens, l.Writing.Near, l.Writing.Far)
	t := &Table{Gap: 3, Right: []bool{1: true, 2: true, 3: true}}
	row := rowsOf(t, ways, "")
	row("", func(w *demo.Way) string { return w.Name })
	row("burns out of focus", func(w *demo.Way) string { return fmt.Sprintf("%d of %d", w.Result.BurnsOut, w.Result.Burns) })
	row("greatest defocus, mm", func(w *demo.Way) string { return phrase.Signed(w.Result.Defocus.MM, 3) })
	row("travel of Z, mm", func(w *demo.Way) string { return fmt.Sprintf("%.1f", w.Result.ZTravelMM) })
	row("peak rate of Z on a burn, mm/min", func(w *demo.Way) string { return fmt.Sprintf("%.0f", w.Result.PeakZRate) })
	row("largest change of it at a point, mm/min", func(w *demo.Way) string { return fmt.Sprintf("%.0f", w.Result.ZSpeedStep) })
	row("lines changed", func(w *demo.Way) string { return fmt.Sprint(w.Changed) })
	row("points added", func(w *demo.Way) string { return fmt.Sprint(w.Points) })
	row("time", func(w *demo.Way) string { return phrase.Clock(w.Result.Seconds) })
	verdict := "proved by the independent check: every burn of the followed program is in focus, on the path of the original"
	if !ways[len(ways)-1].Result.Holds() {
		verdict = "the independent check does not hold"
	}
	fmt.Fprintf(&b, "%s\n%s\n\nIn %s:\n", t, verdict, dir)
	list := &Table{}
	for _, made := range demo.Files {
		list.Row("  "+made.Name, made.What)
	}
	b.WriteString(list.String())
	fmt.Fprintf(&b, `
The same by hand:
  cd %s
  sagitta follow %s -s %s -l %s -m %s -o again.gcode
  sagitta verify again.gcode -s %[3]s -l %[4]s -m %[5]s --against %[2]s

Lasers hurt eyes and start fires, and axes move. Rehearse with the beam off,
keep to local rules, and never leave a burning machine unattended.
`, dir, demo.Chart.Name, demo.Surface.Name, demo.Lens.Name, demo.Bench.Name)
	return b.String()
}
