package phrase

import (
	"fmt"
	"io/fs"
	"strings"
	"sync"
	"text/template"
)

// Texts are texts with places to fill, templates that may use the functions of
// this package. They are read when the first is filled.
type Texts struct{ all func() *template.Template }

// NewTexts gives the .txt files of a folder that is part of the program: one that
// cannot be read is a bug, and panics. more are functions that they may use as
// well.
func NewTexts(files fs.FS, more template.FuncMap) *Texts {
	return &Texts{sync.OnceValue(func() *template.Template { return read(files, more) })}
}

func read(files fs.FS, more template.FuncMap) *template.Template {
	all := template.New("").Option("missingkey=error").Funcs(template.FuncMap{
		"mm": MM, "signed": Signed, "up": Up, "short": Short, "sides": SidesMM, "xy": XY, "count": Count, "clock": Clock, "join": strings.Join,
	})
	return template.Must(all.Funcs(more).ParseFS(files, "*/*.txt"))
}

// Fill gives a text with its places filled. That one cannot be is a slip in the
// text, and said in its stead.
func (t *Texts) Fill(name string, with any) string {
	var b strings.Builder
	if err := t.all().ExecuteTemplate(&b, name, with); err != nil {
		fmt.Fprintf(&b, "\n%v\n", err)
	}
	return b.String()
}

// Lines gives the lines of a filled text that are not empty.
func (t *Texts) Lines(name string, with any) (lines []string) {
	for line := range strings.SplitSeq(t.Fill(name, with), "\n") {
		if line != "" {
			lines = append(lines, line)
		}
	}
	return lines
}
