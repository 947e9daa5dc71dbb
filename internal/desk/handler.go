package desk

import (
	"errors"
	"fmt"
	"io/fs"
	"net/http"
	"slices"

	"sagitta/internal/desk/choice"
	"sagitta/internal/desk/folder"
)

// Handler answers the requests of the page, which is served at addr. What writes into the
// folder is asked for by POST, and nothing else is.
func (d *Desk) Handler(addr string) http.Handler {
	m := http.NewServeMux()
	m.HandleFunc("GET /{$}", d.page)
	m.HandleFunc("GET /all", answers(d.all))
	m.HandleFunc("GET /try", answers(d.try))
	m.HandleFunc("GET /stock", answers(d.stock))
	m.HandleFunc("GET /file", answers(d.show))
	m.HandleFunc("GET /ticket", answers(d.reports.ticket))
	m.HandleFunc("GET /form", answers(d.fieldsOf))
	m.HandleFunc("POST /choices", answers(d.choose))
	m.HandleFunc("POST /file", answers(d.drop))
	m.HandleFunc("POST /heights", answers(d.keepHeights))
	m.HandleFunc("POST /record", answers(d.keepRecord))
	m.HandleFunc("POST /boxes", answers(d.keepBoxes))
	m.HandleFunc("POST /write", answers(d.write))
	return d.guard(addr, m)
}

// all is what the page begins with.
func (d *Desk) all(*http.Request) (any, error) {
	files, more, err := d.folder.List()
	if err != nil {
		return nil, err
	}
	c, version := d.keep.get()
	return map[string]any{"dir": d.dir, "note": d.Note, "files": d.without(files), "more": more, "choices": c, "version": version, "names": c.Names()}, nil
}

// without leaves out the desk's own file.
func (d *Desk) without(files []folder.File) []folder.File {
	return slices.DeleteFunc(files, func(f folder.File) bool { return f.Name == keptIn })
}

// choose takes what was chosen and typed.
func (d *Desk) choose(r *http.Request) (any, error) {
	text, err := body(r, mostChoices)
	if err != nil {
		return nil, err
	}
	c, err := choice.Read(text)
	if err != nil {
		return nil, faultf(http.StatusBadRequest, "what was typed cannot be kept: %v", err)
	}
	version, err := d.keep.put(r, c)
	if err != nil {
		return nil, err
	}
	return map[string]any{"names": c.Names(), "version": version}, nil
}

// drop takes a file into the folder.
func (d *Desk) drop(r *http.Request) (any, error) {
	name := folder.Base(r.URL.Query().Get("name"))
	if err := checkDropped(name); err != nil {
		return nil, err
	}
	text, err := body(r, mostFile)
	if err != nil {
		return nil, err
	}
	if err := d.put(r, name, text); err != nil {
		return nil, err
	}
	return map[string]any{"name": name, "kind": d.folder.Kind(name)}, nil
}

// checkDropped looks at the name of a file that is put into the folder.
func checkDropped(name string) error {
	err := folder.CheckName(name)
	if err == nil && name == keptIn {
		err = fmt.Errorf("the name %q is that of the desk's own file", name)
	}
	if err != nil {
		return faultf(http.StatusBadRequest, "%v", err)
	}
	return nil
}

// put writes a file, and asks before it replaces one.
func (d *Desk) put(r *http.Request, name string, text []byte) error {
	d.runs.writing.Lock()
	defer d.runs.writing.Unlock()
	err := d.folder.Put(name, text, replaces(r))
	if errors.Is(err, folder.ErrThere) {
		return asks(name)
	}
	return err
}

// replaces reports whether what is there may be replaced.
func replaces(r *http.Request) bool { return r.URL.Query().Get("replace") == "true" }

// asks says what would be replaced.
func asks(names ...string) error {
	f := &fault{status: http.StatusConflict, Ask: names}
	f.Text = fmt.Sprintf("%s is there already: take another name, or let it be replaced", names[0])
	if len(names) > 1 {
		f.Text = fmt.Sprintf("%s and %d more are there already: take other names, or let them be replaced", names[0], len(names)-1)
	}
	return f
}

// show gives a file to be read on the page.
func (d *Desk) show(r *http.Request) (any, error) {
	name := r.URL.Query().Get("name")
	if name == "" {
		return nil, faultf(http.StatusBadRequest, "no name is given")
	}
	text, err := d.folder.Read(name, mostShown)
	switch {
	case errors.Is(err, folder.ErrTooLong):
		return nil, faultf(http.StatusRequestEntityTooLarge, "%s has more than %d MB: open it by other means", name, mostShown>>20)
	case errors.Is(err, fs.ErrNotExist):
		return nil, faultf(http.StatusNotFound, "%s is not in the folder", name)
	case err != nil: // it leads elsewhere, or is no file
		return nil, faultf(http.StatusForbidden, "%v", err)
	}
	return map[string]any{"name": name, "text": string(text)}, nil
}

// keepHeights writes the heights that were typed as a file.
func (d *Desk) keepHeights(r *http.Request) (any, error) {
	c, err := d.keep.shown(r)
	if err != nil {
		return nil, err
	}
	text, wrong := c.Heights.Table.CSV()
	return d.keepTyped(r, c.Names()["table"], text, wrong)
}

// keepBoxes writes what stands on the bench, as it was typed, as a file.
func (d *Desk) keepBoxes(r *http.Request) (any, error) {
	c, err := d.keep.shown(r)
	if err != nil {
		return nil, err
	}
	text, wrong := choice.Boxes(c.Drafts["boxes"])
	return d.keepTyped(r, c.Names()["boxes"], text, wrong)
}

// keepTyped writes what was typed as a file, if nothing is wrong with it.
func (d *Desk) keepTyped(r *http.Request, name string, text []byte, wrong []choice.Lack) (any, error) {
	if err := checkDropped(name); err != nil {
		return nil, err
	}
	if wrong != nil {
		return nil, &fault{status: http.StatusUnprocessableEntity, Text: wrong[0].Text, Field: wrong[0].Field}
	}
	if err := d.put(r, name, text); err != nil {
		return nil, err
	}
	return map[string]any{"name": name}, nil
}
