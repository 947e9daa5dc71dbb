package ladder

import (
	"embed"
	"strings"
	"text/template"

	"sagitta/internal/phrase"
)

// textFiles are what program and sheet say.
//
//go:embed text/*.txt
var textFiles embed.FS

var texts = phrase.NewTexts(textFiles, template.FuncMap{"num": num, "nums": nums, "feed": phrase.Feed})

// text gives the lines of a text about the ladder.
func (l *Ladder) text(name string) []string {
	var left []string
	if n := len(l.ClippedMM); n > 0 {
		left = []string{l.offsetText(l.ClippedMM[0]), l.offsetText(l.ClippedMM[n-1])}
	}
	set := l.Setting()
	return texts.Lines(name, map[string]any{"Ladder": l, "Options": &l.opt, "ByHand": l.opt.byHand(), "Cranked": l.opt.cranked(),
		"Furthest": l.offsetText(l.Offsets[0]), "Nearest": l.offsetText(-l.NearestMM), "Left": left, "Setting": set.Say(), "Digits": digits, "Pairs": PairsMM()})
}

// nums writes numbers between commas.
func nums(v []float64) string {
	text := make([]string, len(v))
	for i, v := range v {
		text[i] = num(v)
	}
	return strings.Join(text, ", ")
}
