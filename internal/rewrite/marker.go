package rewrite

import (
	"strings"

	"sagitta/internal/phrase"
)

// MarkerName begins every marker; a program that carries one was written by
// this tool.
const MarkerName = "sagitta"

// isMarker reports whether the text of a comment is a marker: its words follow and
// split tell that the program carries a correction.
func isMarker(text string) bool {
	return strings.HasPrefix(text, MarkerName+" ") && (strings.Contains(text, " follow ") || strings.Contains(text, " split "))
}

// cutText cuts a text at blanks to what a line takes as a comment; "" where nothing is left.
func (o *Options) cutText(text string) string {
	for o.LineMax > 0 && len("()")+len(text) > o.LineMax {
		i := strings.LastIndexByte(text, ' ')
		if i < 0 {
			return ""
		}
		text = text[:i]
	}
	return text
}

// markerTexts are the marker with what is to be set up, in one text where a line takes it.
func (o *Options) markerTexts() []string {
	marker, setup := o.markerText(), strings.Join(o.Setup, ", ")
	switch all := marker + ", " + setup; {
	case setup == "":
		return []string{marker}
	case o.LineMax <= 0, marker != "" && o.cutText(all) == all:
		return []string{all}
	}
	texts := []string{marker}
	for _, text := range phrase.Fold(setup, o.LineMax-len("()"), "", "") {
		texts = append(texts, o.cutText(text))
	}
	return texts
}

// markerText is the marker, cut to what a line takes but never so that it is
// not known again: then there is none.
func (o *Options) markerText() string {
	text := o.cutText(o.Marker)
	if text != o.Marker && !isMarker(text+" ") {
		return ""
	}
	return text
}
