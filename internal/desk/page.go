package desk

import (
	"bytes"
	"embed"
	"html/template"
	"net/http"
	"slices"
	"strings"

	"sagitta/internal/option"
)

//go:embed page/*.html page/*.css page/*.js
var pageFiles embed.FS

// pages are the documents that are served.
var pages = template.Must(template.New("").Funcs(template.FuncMap{"dict": dict}).ParseFS(pageFiles, "page/*.html"))

// dict gives a template several things under their names.
func dict(pairs ...any) map[string]any {
	m := map[string]any{}
	for k := 0; k+1 < len(pairs); k += 2 {
		m[pairs[k].(string)] = pairs[k+1]
	}
	return m
}

// style and script are those of the page, each of several files.
var (
	style  = template.CSS(joined(".css"))
	script = template.JS(joined(".js"))
)

// joined is all of the page's files with that end, in the order of their names.
func joined(end string) string {
	entries, err := pageFiles.ReadDir("page")
	if err != nil {
		panic(err)
	}
	var b strings.Builder
	for _, e := range entries {
		if !strings.HasSuffix(e.Name(), end) {
			continue
		}
		text, err := pageFiles.ReadFile("page/" + e.Name())
		if err != nil {
			panic(err)
		}
		b.Write(text)
	}
	return b.String()
}

// asked is an option as the page asks for it.
type asked struct {
	Name, Meaning string
	Words         []string
	Yes           bool
}

// page serves the document.
func (d *Desk) page(w http.ResponseWriter, r *http.Request) {
	data := map[string]any{
		"Nonce": nonceOf(r.Context()), "Style": style, "Script": script, "Dir": d.dir,
		"Lens": entries(forms[0].make()), "Machine": entries(forms[1].make()),
		"More":    d.asked("split", "shift", "rotate", "method", "surface-error", "outside", "defocus", "z-rate", "rapid", "slow", "slowest", "start", "start-z", "freed-height", "keep-ramps"),
		"Divide":  d.asked("split", "order", "lead", "overlap", "set-z", "pause"),
		"Reading": d.asked("surface", "columns", "units", "decimal", "down", "up", "method", "keep-all"),
		"Rungs":   d.asked("lens rungs", "step", "detail", "tested-on", "power", "feed"),
	}
	var b bytes.Buffer
	if err := pages.ExecuteTemplate(&b, "desk.html", data); err != nil {
		http.Error(w, err.Error(), http.StatusInternalServerError)
		return
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	_, _ = b.WriteTo(w)
}

// asked gives some options of a command.
func (d *Desk) asked(command string, names ...string) (list []asked) {
	known := d.tool.Options(command)
	for _, name := range names {
		i := slices.IndexFunc(known, func(o option.Option) bool { return o.Name == name })
		if i < 0 {
			continue
		}
		o := known[i]
		a := asked{Name: name, Meaning: strings.NewReplacer("<", "", ">", "").Replace(o.Meaning)}
		_, a.Yes = o.Value.Interface().(bool)
		if o.In != "" && strings.Contains(o.In, "|") {
			a.Words = strings.Split(o.In, "|")
		}
		list = append(list, a)
	}
	return list
}
