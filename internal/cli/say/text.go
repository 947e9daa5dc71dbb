package say

import (
	"embed"
	"text/template"

	"sagitta/internal/advise"
	"sagitta/internal/phrase"
	"sagitta/internal/setup"
	"sagitta/internal/stream"
	"sagitta/internal/zone/sheet"
)

// textFiles are what is said, a file for each report, with places for what a
// run found.
//
//go:embed text/*.txt
var textFiles embed.FS

var texts = phrase.NewTexts(textFiles, template.FuncMap{
	"at":      func(xy [2]float64) string { return phrase.XY(xy[0], xy[1]) },
	"inc":     func(i int) int { return i + 1 },
	"between": setup.Between, "level": setup.Level,
	"called": func(l sheet.Lens) string {
		if l.Unnamed {
			return "the lens"
		}
		return "lens " + l.Name
	},
	"steepDegrees": func() int { return advise.SteepDegrees },
	"percent":      percent, "remarks": func(r stream.Remarks) []string { return remarks(&r) }, "closed": closed, "matched": matched, "checkedBy": checkedBy, "checkedSet": checkedSet, "datum": datum, "extreme": extreme, "place": place,
})

// of are what stands in the places of a text.
type of = map[string]any
