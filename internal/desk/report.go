package desk

import (
	"crypto/rand"
	"errors"
	"io/fs"
	"net/http"
	"strings"
	"sync"

	"sagitta/internal/desk/folder"
)

// reports lets frames of the page load reports: a frame cannot bear the token, and has a
// ticket instead that is good for one report, once.
type reports struct {
	folder *folder.Folder
	mu     sync.Mutex
	open   map[string]string // names of files, by their tickets
}

// mostTickets bounds how many are open; those beyond push out any other.
const mostTickets = 20

// mostReport is how long a report may be.
const mostReport = 32 << 20

// reportPath is where a frame loads a report.
const reportPath = "/report"

func (t *reports) issue(name string) string {
	t.mu.Lock()
	defer t.mu.Unlock()
	for old := range t.open {
		if len(t.open) < mostTickets {
			break
		}
		delete(t.open, old)
	}
	ticket := rand.Text()
	t.open[ticket] = name
	return ticket
}

// redeem gives the file that a ticket is for, which it is for no longer.
func (t *reports) redeem(r *http.Request) (name string, ok bool) {
	if r.Method != http.MethodGet || r.URL.Path != reportPath {
		return "", false
	}
	t.mu.Lock()
	defer t.mu.Unlock()
	ticket := r.URL.Query().Get("ticket")
	name, ok = t.open[ticket]
	delete(t.open, ticket)
	return name, ok
}

// ticket lets the page show a report.
func (t *reports) ticket(r *http.Request) (any, error) {
	name := r.URL.Query().Get("name")
	if err := t.folder.Has(name); err != nil {
		return nil, faultf(http.StatusNotFound, "%v", err)
	}
	if !strings.HasSuffix(name, ".html") {
		return nil, faultf(http.StatusUnprocessableEntity, "%s is no report: wants a name that ends in .html", name)
	}
	return map[string]any{"address": reportPath + "?ticket=" + t.issue(name)}, nil
}

// show answers with a report. Whoever wrote the file, nothing in it reaches the desk
// or anything else: it stands in a frame of no origin, and may load nothing.
func (t *reports) show(w http.ResponseWriter, name string) {
	text, err := t.folder.Read(name, mostReport)
	switch {
	case errors.Is(err, folder.ErrTooLong):
		http.Error(w, name+" is too long to be shown here: open it in the browser by itself", http.StatusRequestEntityTooLarge)
		return
	case errors.Is(err, fs.ErrNotExist):
		http.Error(w, name+" is not in the folder", http.StatusNotFound)
		return
	case err != nil:
		http.Error(w, err.Error(), http.StatusUnprocessableEntity)
		return
	}
	h := w.Header()
	h.Set("Content-Security-Policy", "sandbox allow-scripts; default-src 'none'; script-src 'unsafe-inline'; style-src 'unsafe-inline'; img-src data:; frame-ancestors 'self'; base-uri 'none'; form-action 'none'")
	h.Set("X-Frame-Options", "SAMEORIGIN")
	h.Set("Content-Type", "text/html; charset=utf-8")
	_, _ = w.Write(text)
}
