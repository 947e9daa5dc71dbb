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
	row("greatest speed of Z on a burn, mm/s", func(w *demo.Way) string { return phrase.Fixed(w.Result.PeakZRate/60, 2) })
	row("greatest step of that, mm/s", func(w *demo.Way) string { return phrase.Fixed(w.Times.ZStep, 2) })
	row("lines changed", func(w *demo.Way) string { return fmt.Sprint(w.Changed) })
	row("points added", func(w *demo.Way) string { return fmt.Sprint(w.Points) })
	row("time, with the inertia of the axes", func(w *demo.Way) string { return phrase.Clock(w.Times.Seconds) })
	row("over a tenth slower, % of the length", func(w *demo.Way) string { return phrase.Fixed(100*w.Times.SlowPart(), 1) })
	row("slowest burn, % of its speed as drawn", func(w *demo.Way) string { return phrase.Fixed(100*w.Times.SlowedShare, 0) })
	list := &Table{}
	for _, made := range demo.Files {
		list.Row("  "+made.Name, made.What)
	}
	low, high, _, _ := j.Placed.Range()
	return texts.Fill("demo.txt", of{"Low": low, "High": high, "Run": f, "Metres": f.BurnLength / 1000, "Lens": &j.Lenses[0],
		"Table": t.String(), "Holds": ways[len(ways)-1].Result.Holds(), "Dir": dir, "Files": list.String(), "Chart": demo.Chart.Name,
		"Setting": setting(j, f.First), "With": fmt.Sprintf("-s %s -l %s -m %s", demo.Surface.Name, demo.Lens.Name, demo.Bench.Name)})
}
