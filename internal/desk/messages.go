package desk

import (
	"regexp"
	"strconv"
	"strings"
)

// Message is one of those that a command says, for people.
type Message struct {
	Text string `json:"text"`
	// File, Line and Column are where it is about, as far as it says, and Option is the
	// option that it begins with, without its dashes.
	File   string `json:"file,omitempty"`
	Line   int    `json:"line,omitempty"`
	Column int    `json:"column,omitempty"`
	Option string `json:"option,omitempty"`
	// Source are the line itself and what points into it, where they are shown.
	Source string `json:"source,omitempty"`
}

var (
	placeOf  = regexp.MustCompile(`^([^:\s][^:]*):([0-9]+)(?::([0-9]+))?: `)
	optionOf = regexp.MustCompile(`^--([a-z][a-z-]*)`)
)

// messages takes apart what a command said.
func messages(said string) []Message {
	list := []Message{}
	for line := range strings.Lines(said) {
		line = strings.TrimRight(line, "\r\n")
		text, ours := strings.CutPrefix(line, "sagitta: ")
		at := placeOf.FindStringSubmatch(text)
		if !ours && at == nil && len(list) > 0 {
			last := &list[len(list)-1]
			last.Source = strings.TrimPrefix(last.Source+"\n"+line, "\n")
			continue
		}
		m := Message{Text: text}
		if at != nil {
			m.File = at[1]
			m.Line, _ = strconv.Atoi(at[2])
			m.Column, _ = strconv.Atoi(at[3])
		}
		if o := optionOf.FindStringSubmatch(text); o != nil {
			m.Option = o[1]
		}
		list = append(list, m)
	}
	return list
}
