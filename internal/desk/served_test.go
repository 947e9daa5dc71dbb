package desk_test

import (
	"bytes"
	"context"
	"encoding/json"
	"io"
	"io/fs"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"sagitta/internal/cli"
	"sagitta/internal/demo"
	"sagitta/internal/desk"
	"sagitta/internal/desk/choice"
)

// served is a desk that answers, and the token of its page.
type served struct {
	t           *testing.T
	host, token string
	address     string
	end         func() error
	dir         string
	client      http.Client
}

// serve opens a desk in the folder dir, which becomes the working directory.
func serve(t *testing.T, dir string) *served {
	t.Helper()
	return serveWith(t, dir, cli.DeskTool())
}

// serveWith is serve with another tool behind it.
func serveWith(t *testing.T, dir string, tool desk.Tool) *served {
	t.Helper()
	t.Chdir(dir)
	d, err := desk.New(tool)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(d.Close)
	l, address, err := d.Listen(0)
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan error, 1)
	go func() { done <- d.Serve(ctx, l) }()
	_, token, _ := strings.Cut(address, "?token=")
	s := &served{t: t, host: l.Addr().String(), token: token, address: address, dir: dir}
	s.end = sync.OnceValue(func() error { cancel(); return <-done })
	t.Cleanup(func() {
		if err := s.end(); err != nil {
			t.Error(err)
		}
	})
	return s
}

// do asks for something, with the token and what edit changes of the request.
func (s *served) do(method, path string, body io.Reader, edit func(*http.Request)) (int, []byte) {
	s.t.Helper()
	r, err := http.NewRequest(method, "http://"+s.host+path, body)
	if err != nil {
		s.t.Fatal(err)
	}
	r.Header.Set("Sagitta-Desk-Token", s.token)
	if edit != nil {
		edit(r)
	}
	answer, err := s.client.Do(r)
	if err != nil {
		s.t.Fatalf("%s %s: %v", method, path, err)
	}
	defer answer.Body.Close()
	text, err := io.ReadAll(answer.Body)
	if err != nil {
		s.t.Fatal(err)
	}
	return answer.StatusCode, text
}

// post asks for what writes, and wants a status.
func (s *served) post(want int, path, body string) []byte {
	s.t.Helper()
	status, text := s.do("POST", path, strings.NewReader(body), nil)
	if status != want {
		s.t.Fatalf("POST %s: status %d, not %d: %.300s", path, status, want, text)
	}
	return text
}

// choose sends choices.
func (s *served) choose(edit func(*choice.Choices)) *choice.Choices {
	s.t.Helper()
	c := choice.New()
	edit(c)
	text, err := c.Text()
	if err != nil {
		s.t.Fatal(err)
	}
	s.post(200, "/choices", string(text))
	return c
}

// answer is what a step of the page gives.
func (s *served) answer(method, path string) desk.Answer {
	s.t.Helper()
	status, text := s.do(method, path, nil, nil)
	var a desk.Answer
	if err := json.Unmarshal(text, &a); err != nil || status != 200 {
		s.t.Fatalf("%s %s: status %d, %v: %.300s", method, path, status, err, text)
	}
	return a
}

// bringDemo puts the files of the demo into a folder.
func bringDemo(t *testing.T, dir string) {
	t.Helper()
	inputs, err := demo.Inputs()
	if err != nil {
		t.Fatal(err)
	}
	for name, text := range inputs {
		put(t, filepath.Join(dir, name), text)
	}
}

// demoChosen chooses them.
func demoChosen(c *choice.Choices) {
	c.Program, c.Heights.File, c.Machine = demo.Chart.Name, demo.Surface.Name, demo.Bench.Name
	c.Depth, c.Lenses = choice.ByRecord, []string{demo.Lens.Name}
}

func put(t *testing.T, name string, text []byte) {
	t.Helper()
	if err := os.WriteFile(name, text, 0o644); err != nil {
		t.Fatal(err)
	}
}

// tree is all that lies under a folder, links as they are.
func tree(t *testing.T, dir string) map[string]string {
	t.Helper()
	m := map[string]string{}
	err := filepath.WalkDir(dir, func(name string, e fs.DirEntry, err error) error {
		if err != nil || name == dir {
			return err
		}
		rel, _ := filepath.Rel(dir, name)
		switch {
		case e.Type().IsRegular():
			b, err := os.ReadFile(name)
			m[rel] = string(b)
			return err
		case e.Type()&fs.ModeSymlink != 0:
			to, err := os.Readlink(name)
			m[rel] = "-> " + to
			return err
		}
		m[rel] = e.Type().String()
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return m
}

// same wants two folders to hold the same, but for some names.
func same(t *testing.T, got, want map[string]string, but ...string) {
	t.Helper()
	for _, name := range but {
		delete(got, name)
		delete(want, name)
	}
	for name, text := range want {
		if is, ok := got[name]; !ok || is != text {
			t.Errorf("%s differs: %d bytes, not %d", name, len(is), len(text))
		}
	}
	for name := range got {
		if _, ok := want[name]; !ok {
			t.Errorf("%s is there as well", name)
		}
	}
}

func contains(text []byte, part string) bool { return bytes.Contains(text, []byte(part)) }
