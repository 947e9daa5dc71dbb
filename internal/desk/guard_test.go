package desk_test

import (
	"net/http"
	"slices"
	"strings"
	"testing"
)

var (
	reads  = []string{"/all", "/try", "/stock", "/file"}
	writes = []string{"/choices", "/file", "/heights", "/record", "/boxes", "/write"}
)

// Nothing is answered, whatever the path, but to the page of this run on this computer.
func TestOnlyThePageIsAnswered(t *testing.T) {
	s := serve(t, t.TempDir())
	header := func(name, value string) func(*http.Request) {
		return func(r *http.Request) { r.Header.Set(name, value) }
	}
	port := s.host[strings.LastIndex(s.host, ":"):]
	for _, c := range []struct {
		what string
		edit func(*http.Request)
		in   bool
	}{
		{"as the page asks", nil, true},
		{"by the other name", func(r *http.Request) { r.Host = "localhost" + port }, true},
		{"with its origin", header("Origin", "http://"+s.host), true},
		{"typed", header("Sec-Fetch-Site", "none"), true},
		{"no token", header("Sagitta-Desk-Token", ""), false},
		{"a wrong token", header("Sagitta-Desk-Token", strings.Repeat("A", len(s.token))), false},
		{"a part of the token", header("Sagitta-Desk-Token", s.token[1:]), false},
		{"the token, longer", header("Sagitta-Desk-Token", s.token+"A"), false},
		{"another host", func(r *http.Request) { r.Host = "example.org" }, false},
		{"another host with the port", func(r *http.Request) { r.Host = "example.org" + port }, false},
		{"another port", func(r *http.Request) { r.Host = "127.0.0.1:1" }, false},
		{"no port", func(r *http.Request) { r.Host = "127.0.0.1" }, false},
		{"another origin", header("Origin", "http://example.org"), false},
		{"another port's origin", header("Origin", "http://127.0.0.1:1"), false},
		{"the other name's origin", header("Origin", "http://localhost"+port), false},
		{"another scheme", header("Origin", "https://"+s.host), false},
		{"no origin that is told", header("Origin", "null"), false},
		{"another site", header("Sec-Fetch-Site", "cross-site"), false},
		{"another port", header("Sec-Fetch-Site", "same-site"), false},
	} {
		for _, path := range slices.Concat([]string{"/", "/none", "/choices/none", "/..%2f", "//", "/?token=A"}, reads, writes) {
			for _, method := range []string{"GET", "POST", "PUT", "OPTIONS"} {
				status, body := s.do(method, path, nil, c.edit)
				if (status != http.StatusForbidden) != c.in {
					t.Errorf("%s, %s %s: status %d", c.what, method, path, status)
				}
				if contains(body, s.token) {
					t.Errorf("%s, %s %s: the answer has the token", c.what, method, path)
				}
			}
		}
	}
	// The page alone takes it in the address.
	bare := func(r *http.Request) { r.Header.Del("Sagitta-Desk-Token") }
	for path, want := range map[string]int{"/": 200, "/all": 403, "/file": 403} {
		if status, _ := s.do("GET", path+"?token="+s.token, nil, bare); status != want {
			t.Errorf("%s with the token in its address: status %d, not %d", path, status, want)
		}
	}
	if status, _ := s.do("POST", "/?token="+s.token, nil, bare); status != 403 {
		t.Errorf("POST with the token in its address: status %d", status)
	}
}

// What writes is not got, and what is got is not posted.
func TestMethods(t *testing.T) {
	dir := t.TempDir()
	s := serve(t, dir)
	before := tree(t, dir)
	for _, path := range writes {
		if path == "/file" {
			continue // to read one is another thing
		}
		for _, method := range []string{"GET", "HEAD", "PUT", "DELETE", "PATCH"} {
			if status, _ := s.do(method, path, strings.NewReader("{}"), nil); status != http.StatusMethodNotAllowed {
				t.Errorf("%s %s: status %d", method, path, status)
			}
		}
	}
	for _, path := range []string{"/", "/all", "/try", "/stock", "/form"} {
		if status, _ := s.do("POST", path, nil, nil); status != http.StatusMethodNotAllowed {
			t.Errorf("POST %s: status %d", path, status)
		}
	}
	for _, path := range []string{"/none", "/all/none", "/file/x"} {
		if status, _ := s.do("GET", path, nil, nil); status != http.StatusNotFound {
			t.Errorf("GET %s: status %d", path, status)
		}
	}
	same(t, tree(t, dir), before)
}

// Every answer says what a browser may do with it.
func TestHeaders(t *testing.T) {
	s := serve(t, t.TempDir())
	for _, path := range []string{"/", "/all", "/none"} {
		for _, token := range []string{s.token, "wrong"} {
			r, _ := http.NewRequest("GET", "http://"+s.host+path, nil)
			r.Header.Set("Sagitta-Desk-Token", token)
			r.Header.Set("Accept", "text/html")
			answer, err := s.client.Do(r)
			if err != nil {
				t.Fatal(err)
			}
			_ = answer.Body.Close()
			h := answer.Header
			policy := h.Get("Content-Security-Policy")
			for _, want := range []string{"default-src 'none'", "frame-ancestors 'none'", "connect-src 'self'", "script-src 'nonce-"} {
				if !strings.Contains(policy, want) {
					t.Errorf("%s: policy %q lacks %q", path, policy, want)
				}
			}
			if strings.Contains(policy, "unsafe") || h.Get("X-Content-Type-Options") != "nosniff" || h.Get("Referrer-Policy") != "no-referrer" || h.Get("Cache-Control") != "no-store" {
				t.Errorf("%s: headers %v", path, h)
			}
		}
	}
}
