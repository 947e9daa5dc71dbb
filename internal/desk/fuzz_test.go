package desk_test

import (
	"bytes"
	"net/http/httptest"
	"net/url"
	"os"
	"path/filepath"
	"testing"

	"sagitta/internal/cli"
	"sagitta/internal/desk"
	"sagitta/internal/desk/choice"
)

// Whatever is asked for with the token: there is an answer, and nothing outside the folder
// changes.
func FuzzRequests(f *testing.F) {
	start := choice.New()
	start.Program, start.Heights.File, start.Sharp = "job.gcode", "heights.csv", "1"
	chosen, err := start.Text()
	if err != nil {
		f.Fatal(err)
	}
	for _, seed := range []struct{ method, path, query, body string }{
		{"GET", "/", "", ""}, {"GET", "/all", "", ""}, {"GET", "/stock", "", ""}, {"GET", "/file", "name=job.gcode", ""},
		{"GET", "/try", "step=follow", ""}, {"GET", "/try", "step=advise", ""}, {"GET", "/try", "step=surface", ""},
		{"POST", "/choices", "", string(chosen)}, {"POST", "/write", "step=follow&replace=true", ""}, {"POST", "/write", "step=split", ""},
		{"POST", "/file", "name=x.csv&replace=true", "1,2,3"}, {"POST", "/file", "name=..%2f..%2fx", "1"}, {"POST", "/file", "name=link", "1"},
		{"POST", "/heights", "replace=true", ""}, {"POST", "/record", "kind=lens", ""}, {"POST", "/record", "kind=machine", ""},
		{"GET", "/form", "kind=lens&name=job.gcode", ""}, {"GET", "/form", "kind=machine&name=..%2foutside", ""},
	} {
		f.Add(seed.method, seed.path, seed.query, []byte(seed.body))
	}
	outer := f.TempDir()
	dir := filepath.Join(outer, "in")
	if err := os.Mkdir(dir, 0o755); err != nil {
		f.Fatal(err)
	}
	for name, text := range map[string]string{"outside": "as it was", "in/job.gcode": "G21\nG0 X1 Y1\nM3 S1\nG1 X9 F100\nM5\n", "in/heights.csv": "# error_mm: 0\ny\\x,0,10\n0,0,1\n10,1,0\n"} {
		if err := os.WriteFile(filepath.Join(outer, name), []byte(text), 0o644); err != nil {
			f.Fatal(err)
		}
	}
	_ = os.Symlink("../outside", filepath.Join(dir, "link"))
	if err := os.Chdir(dir); err != nil {
		f.Fatal(err)
	}
	d, err := desk.New(cli.DeskTool())
	if err != nil {
		f.Fatal(err)
	}
	f.Cleanup(d.Close)
	h := d.Handler("127.0.0.1:80")
	f.Fuzz(func(t *testing.T, method, path, query string, body []byte) {
		target := &url.URL{Scheme: "http", Host: "127.0.0.1:80", Path: path, RawQuery: query}
		r := httptest.NewRequest("GET", "http://127.0.0.1:80/", bytes.NewReader(body))
		r.Method, r.URL, r.Host = method, target, "127.0.0.1:80"
		r.Header.Set("Sagitta-Desk-Token", d.Token())
		w := httptest.NewRecorder()
		h.ServeHTTP(w, r)
		// With the token 403 is for names only, of files that are not to be shown.
		if refused := w.Code == 403 && (method != "GET" || path != "/file"); w.Code >= 500 || refused {
			t.Errorf("%s %q %q: status %d: %s", method, path, query, w.Code, w.Body)
		}
		if b, err := os.ReadFile("../outside"); err != nil || string(b) != "as it was" {
			t.Fatalf("%s %q %q: outside is %q, %v", method, path, query, b, err)
		}
		if list, err := os.ReadDir(".."); err != nil || len(list) != 2 {
			t.Fatalf("%s %q %q: outside are %v, %v", method, path, query, list, err)
		}
	})
}
