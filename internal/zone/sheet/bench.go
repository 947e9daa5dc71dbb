package sheet

import (
	"bufio"
	_ "embed"
	"fmt"
	"math"
	"strings"
	"text/template"

	"sagitta/internal/phrase"
	"sagitta/internal/setup"
)

//go:embed bench.txt
var benchText string

// writeBench writes what the operator needs at the bench, as text to print.
func (s *Set) writeBench(w *bufio.Writer) error {
	bench := template.Must(template.New("bench").Funcs(template.FuncMap{
		"count": phrase.Count,
		"mm":    func(v float64) string { return fmt.Sprintf("%.3f", v) },
		"z":     func(v float64) string { return phrase.Trimmed(v, 3) },
		"mm1":   func(v float64) string { return fmt.Sprintf("%.1f", v) },
		"clock": phrase.Clock, "up": phrase.Up,
		"beside": func(p setup.FocusPoint) bool { return p.FromMarks < setup.ClearOfMarks },
		"shift":  shift, "crank": crank, "list": list,
	}).Parse(benchText))
	return bench.Execute(w, s)
}

// shift is how the lens is to be moved once it is in focus at the zone's point, ""
// where that has the height of the focus.
func shift(z Zone) string {
	off, way := z.Focus-z.Point.Height, "nearer to the stock"
	if off > 0 {
		way = "away from the stock"
	}
	if math.Abs(off) > setup.PointTolerance {
		return fmt.Sprintf("%.3f mm %s", math.Abs(off), way)
	}
	return ""
}

// crank says a focus in whole divisions of a hand crank, and what is left; nothing
// where there is none.
func crank(division, focus float64) string {
	if division <= 0 {
		return ""
	}
	n := math.Round(focus / division)
	text := fmt.Sprintf(", %+.0f divisions of the crank", n)
	if rest := focus - n*division; math.Abs(rest) > setup.PointTolerance/10 {
		text += fmt.Sprintf(" and %+.3f mm", rest)
	}
	return text
}

// list spells heights, the first and the last of many.
func list(v []float64) string {
	const most = 6
	var text []string
	for _, h := range v {
		text = append(text, fmt.Sprintf("%.3f", h))
	}
	if last := len(v) - 1; last >= most {
		text = append(text[:most-1], "... "+text[last])
	}
	return strings.Join(text, ", ")
}
