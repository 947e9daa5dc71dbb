package say

import (
	"fmt"

	"sagitta/internal/demo"
	"sagitta/internal/follow"
	"sagitta/internal/job"
	"sagitta/internal/phrase"
)

// Demo is what the demo prints: the ways to run its job side by side, the last
// of them proved, and the files in dir.
func Demo(j *job.Job, dir string, f *follow.Summary, ways []*demo.Way) string {
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
	what := "time"
	if j.Machine.AccelMMS2 == nil {
		what += ", by feeds alone"
	}
	row(what, func(w *demo.Way) string { return phrase.Clock(w.Result.Seconds) })
	list := &Table{}
	for _, made := range demo.Files {
		list.Row("  "+made.Name, made.What)
	}
	low, high, _, _ := j.Placed.Range()
	return texts.Fill("demo.txt", of{"Low": low, "High": high, "Run": f, "Metres": f.BurnLength / 1000, "Lens": &j.Lenses[0],
		"Table": t.String(), "Holds": ways[len(ways)-1].Result.Holds(), "Dir": dir, "Files": list.String(), "Chart": demo.Chart.Name,
		"Setting": setting(j, f.First), "With": fmt.Sprintf("-s %s -l %s -m %s", demo.Surface.Name, demo.Lens.Name, demo.Bench.Name)})
}
