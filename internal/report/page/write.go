package page

import (
	"bytes"
	"crypto/sha256"
	"embed"
	"encoding/base64"
	"fmt"
	"html/template"
	"io"
	"strings"
	"sync"
	"unicode"

	"sagitta/internal/phrase"
)

// What a page is made of beside its content.
//
//go:embed text
var files embed.FS

// scripts are the parts of the script, in their order.
var scripts = []string{"data.js", "axes.js", "draw.js", "read.js", "above.js", "main.js"}

// parts are those that are the same on each page.
var parts = sync.OnceValue(func() (p struct {
	template      *template.Template
	style, script string
}) {
	part := func(name string) string {
		text, err := files.ReadFile("text/" + name)
		if err != nil {
			panic(err) // it is part of the program
		}
		return string(text)
	}
	var b strings.Builder
	b.WriteString("(() => {\n\"use strict\";\n")
	for _, name := range scripts {
		b.WriteString(part(name))
	}
	b.WriteString("})();\n")
	p.script = b.String()
	p.style = part("page.css") + part("print.css")
	p.template = template.Must(template.New("page.html").Funcs(template.FuncMap{
		"count": phrase.Count, "mm": phrase.MM, "clock": phrase.Clock, "plain": plain, "short": phrase.Short,
	}).ParseFS(files, "text/*.html"))
	return p
})

// Write writes the page.
func (p *Page) Write(w io.Writer) error {
	all := parts()
	path, err := p.pathData()
	if err != nil {
		return err
	}
	for _, data := range [][]byte{path, p.Figures} {
		if bytes.ContainsAny(data, "<\u2028\u2029") {
			return fmt.Errorf("data of the page are not spelled so that it can hold them")
		}
	}
	digest := sha256.Sum256([]byte(all.script))
	var out bytes.Buffer
	err = all.template.Execute(&out, struct {
		*Page
		Rows           rows
		PathData, Data template.JS
		Style          template.CSS
		Script         template.JS
		ScriptDigest   string
	}{p, p.rows(), template.JS(path), template.JS(p.Figures), template.CSS(all.style), template.JS(all.script),
		"sha256-" + base64.StdEncoding.EncodeToString(digest[:])})
	if err != nil {
		return err
	}
	_, err = w.Write(out.Bytes())
	return err
}

// SVG is the picture for a wide place or a narrow one.
func (p Picture) SVG(narrow bool) template.HTML {
	if narrow {
		return template.HTML(p.Narrow)
	}
	return template.HTML(p.Wide)
}

// mostLine is how many letters of a line of a program are shown.
const mostLine = 120

// plain is a text on one line, without what could turn letters about, cut where it is
// long.
func plain(text string) string {
	text = phrase.Printable(strings.Map(func(r rune) rune {
		if r == '\t' {
			return ' '
		}
		if unicode.Is(unicode.Cf, r) {
			return unicode.ReplacementChar
		}
		return r
	}, text))
	if r := []rune(text); len(r) > mostLine {
		return string(r[:mostLine-3]) + "..."
	}
	return text
}
