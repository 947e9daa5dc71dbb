package say

import (
	"embed"
	"fmt"
	"strings"
	"sync"
	"text/template"

	"sagitta/internal/phrase"
)

// textFiles are what is said, a file for each report, with places for what a
// run found.
//
//go:embed text/*.txt
var textFiles embed.FS

var templates = sync.OnceValue(func() *template.Template {
	return template.Must(template.New("").Option("missingkey=error").Funcs(template.FuncMap{
		"mm": phrase.MM, "short": phrase.Short, "count": phrase.Count, "clock": phrase.Clock, "xy": phrase.XY,
		"sides": phrase.SidesMM, "up": phrase.Up, "yes": phrase.Yes, "signed": phrase.Signed, "join": strings.Join,
		"at":      func(xy [2]float64) string { return phrase.XY(xy[0], xy[1]) },
		"inc":     func(i int) int { return i + 1 },
		"percent": percent, "quote": Quote, "otherUnit": otherUnit,
		"datum": datum, "extreme": extreme, "nearest": nearest, "place": place,
	}).ParseFS(textFiles, "text/*.txt"))
})

// of are what stands in the places of a text.
type of = map[string]any

// fill gives a text with its places filled. That one cannot be is a slip in
// the text, and said in its stead.
func fill(name string, with any) string {
	var b strings.Builder
	if err := templates().ExecuteTemplate(&b, name+".txt", with); err != nil {
		fmt.Fprintf(&b, "\n%v\n", err)
	}
	return b.String()
}
