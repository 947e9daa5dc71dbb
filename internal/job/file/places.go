package file

import (
	"strings"

	"sagitta/internal/diag"
)

// places tells where fields of a job file stand.
type places struct {
	file, text string
	// lines are those of the fields, 0 where that is not known.
	lines map[string]int
}

// value is where the value of a field stands, or the field where that is not to be seen.
func (p *places) value(field string) diag.Place {
	at := p.key(field, p.lines[field])
	if behind := strings.Index(at.Source, "="); at.Col > 0 && behind >= 0 {
		rest := at.Source[behind+1:]
		if value := strings.TrimLeft(rest, " \t"); value != "" {
			at.Col = len(at.Source) - len(value) + 1
		}
	}
	return at
}

// key is where a field itself stands, which is of a line, or of none that is known.
func (p *places) key(field string, line int) diag.Place {
	at := diag.Place{File: p.file, Line: line}
	if field == "" {
		return p.line(line)
	}
	var header diag.Place
	n := 0
	for text := range strings.Lines(strings.TrimPrefix(p.text, "\ufeff")) {
		n++
		text = strings.TrimRight(text, "\r\n")
		begins := strings.TrimLeft(text, " \t")
		here := diag.Place{File: p.file, Line: n, Col: len(text) - len(begins) + 1, Source: text}
		bare := strings.TrimLeft(begins, `["' `)
		switch {
		case n == line && !strings.HasPrefix(begins, "["):
			return here
		case strings.HasPrefix(begins, "[") && strings.HasPrefix(bare, field) && header.Line == 0:
			header = here
		case line == 0 && strings.HasPrefix(bare, field) && at.Line == 0:
			at = here
		}
		if n == line {
			at = here
		}
	}
	if header.Line > 0 && (line == 0 || header.Line <= line) {
		return header
	}
	return at
}

// line is a line.
func (p *places) line(line int) diag.Place {
	at := diag.Place{File: p.file, Line: line}
	n := 0
	for text := range strings.Lines(strings.TrimPrefix(p.text, "\ufeff")) {
		if n++; n == line {
			at.Source = strings.TrimRight(text, "\r\n")
		}
	}
	return at
}

// shown adds the text of its line to an error that has a place.
func (p *places) shown(err error) error {
	if e := diag.As(err); e != nil && e.Line > 0 {
		e.Source = p.line(e.Line).Source
		e.Col = min(e.Col, len(e.Source)+1)
	}
	return err
}

// place adds column and text of the line to an error of reading the file.
func (p *places) place(err error) error {
	e := diag.As(err)
	if e == nil || e.Kind != diag.Setting {
		return err
	}
	switch {
	case e.Field == "": // the text is no TOML, and says where
		col := e.Col
		e.Place = p.key("", e.Line)
		if e.Line > 0 && col > 0 {
			e.Col = min(col, len(e.Source)+1)
		}
	case strings.HasPrefix(e.What, "no such field"):
		e.Place = p.key(e.Field, e.Line)
	default:
		p.lines = map[string]int{e.Field: e.Line}
		e.Place = p.value(e.Field)
	}
	return err
}
