package desk

import (
	"crypto/rand"
	"crypto/subtle"
	"net"
	"net/http"
	"net/url"
	"path"
	"strings"
)

// tokenHeader carries the token in every request but that for the page itself, which has
// it in its address.
const tokenHeader = "Sagitta-Desk-Token"

// guard lets through to h what comes from the page alone: addressed to this computer,
// from no other site, and with the token, whatever the path.
func (d *Desk) guard(addr string, h http.Handler) http.Handler {
	_, port, _ := net.SplitHostPort(addr)
	hosts := map[string]bool{"127.0.0.1:" + port: true, "localhost:" + port: true}
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		nonce := rand.Text()
		harden(w.Header(), nonce)
		if !hosts[r.Host] || !sameOrigin(r, hosts) {
			w.WriteHeader(http.StatusForbidden)
			return
		}
		if name, ok := d.reports.redeem(r); ok {
			d.reports.show(w, name)
			return
		}
		if !d.admits(r) {
			d.refuse(w, r, nonce)
			return
		}
		if r.URL.Path != path.Clean(r.URL.Path) { // no page or command has such a path
			w.WriteHeader(http.StatusNotFound)
			return
		}
		h.ServeHTTP(w, r.WithContext(withNonce(r.Context(), nonce)))
	})
}

// sameOrigin reports whether a request comes from the page, or from nowhere, as one does
// whose address was typed.
func sameOrigin(r *http.Request, hosts map[string]bool) bool {
	for _, origin := range r.Header.Values("Origin") {
		u, err := url.Parse(origin)
		if err != nil || u.Scheme != "http" || u.Host != r.Host || !hosts[u.Host] {
			return false
		}
	}
	switch r.Header.Get("Sec-Fetch-Site") {
	case "", "same-origin", "none":
		return true
	}
	return false
}

// admits reports whether a request has the token.
func (d *Desk) admits(r *http.Request) bool {
	token := r.Header.Get(tokenHeader)
	if token == "" && r.Method == http.MethodGet && r.URL.Path == "/" {
		token = r.URL.Query().Get("token")
	}
	return subtle.ConstantTimeCompare([]byte(token), []byte(d.token)) == 1
}

// refuse says that the token is missing. In a browser the page looks for one that an
// earlier page of the same address has kept, so that it can be loaded again.
func (d *Desk) refuse(w http.ResponseWriter, r *http.Request, nonce string) {
	if r.Method != http.MethodGet || !strings.Contains(r.Header.Get("Accept"), "text/html") {
		w.WriteHeader(http.StatusForbidden)
		return
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.WriteHeader(http.StatusForbidden)
	_ = pages.ExecuteTemplate(w, "refused.html", map[string]any{"Nonce": nonce})
}

// harden says what a browser may do with an answer.
func harden(h http.Header, nonce string) {
	for name, value := range map[string]string{
		"Content-Security-Policy": "default-src 'none'; script-src 'nonce-" + nonce + "'; style-src 'nonce-" + nonce +
			"'; img-src blob: data:; connect-src 'self'; frame-src 'self'; frame-ancestors 'none'; base-uri 'none'; form-action 'none'",
		"X-Content-Type-Options":       "nosniff",
		"Referrer-Policy":              "no-referrer",
		"Cache-Control":                "no-store",
		"Cross-Origin-Opener-Policy":   "same-origin",
		"Cross-Origin-Resource-Policy": "same-origin",
		"X-Frame-Options":              "DENY",
	} {
		h.Set(name, value)
	}
}
